"""Colours and designs of the label, and pictures in the run-out that nobody names."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from sayso.lexicon.terms import Term

if TYPE_CHECKING:
    from sayso.claims.draft import Draft

_AND = frozenset(
    {(), ("w", "/"), ("y",), ("and",), ("/",), ("&",), ("-",), ("with",), ("et",), ("e",), ("en",), ("und",)}
)


def read_designs(draft: Draft) -> None:
    """Colours and known designs beside a word for the label, and known designs on their own."""
    terms = draft.a.of("term", 0, draft.everything)
    known = [h for h in terms if isinstance(h.row, Term) and h.row.kind == "design"]
    designs = {h.i for h in known}
    colours = draft.a.of("colour", 0, draft.everything)
    runs: list[tuple[int, int, str | None]] = []
    for h in sorted([*known, *colours], key=lambda h: (h.i, h.i - h.j)):
        if runs and h.i < runs[-1][1]:
            continue
        value = str(h.row.value) if isinstance(h.row, Term) and h.row.value else None
        if runs and tuple(draft.a.words[runs[-1][1] : h.i]) in _AND:
            runs[-1] = (runs[-1][0], h.j, None)
        else:
            runs.append((h.i, h.j, value))
    for i, j, value in runs:
        start, end = draft.a.toks[i][0], draft.a.toks[j - 1][1]
        a, b = draft.a.sentence(start)
        labels = draft.parts(max(a, start - 80), min(b, end + 80), "label")
        beside = any(0 <= p.i - j <= 2 or 0 <= i - p.j <= 4 for p, _ in labels)
        if not beside and value is None:
            continue
        if not beside and not any(n in designs for n in range(i, j)):
            continue
        if not beside and j - i == 1 and not draft.a.text[start].islower():
            continue
        said = draft.a.assertion(start, end)
        text = value or re.sub(r"\s*[/-]\s*", " and ", draft.a.folded[start:end].lower())
        draft.add("label.design", start, end, said, said.polarity, text, None, rule="design")


def read_pictures(draft: Draft) -> None:
    """A sign in the run-out that nobody names: present, and hedged."""
    marks = [c for c in draft.claims if c.feature == "deadwax.plant_mark"]
    for h in draft.a.of("picture", 0, draft.everything):
        start, end = draft.a.toks[h.i][0], draft.a.toks[h.j - 1][1]
        if any(c.start <= start < c.end for c in marks) or draft.a.carrier(start, end)[0] != "deadwax":
            continue
        said = draft.a.assertion(start, end)
        if said.certainty == "certain" and said.polarity == "present":
            said = replace(said, status="possible", certainty="hedged")
        draft.add("deadwax.plant_mark", start, end, said, said.polarity, draft.a.words[h.i], None, rule="picture")
