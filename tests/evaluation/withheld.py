"""How much of the score rests on words learned from the listings themselves.

The listings are split five ways. Of each part, every form of a term, a cue or a class of words that occurs in it and
in no other part is withheld, and the part is read again. Such a form may have been learned from that part, or may be
known to the trade anyway: the loss is an upper bound of the overfitting. A second figure spares the forms that other
texts of the project use too (listings, replies, one-liners, the larger part written without a look at these listings),
and the names of countries, which make a closed list: those would have been known without the part. What a collector
knows of the invented labels (the overlays) is never withheld.
"""

from __future__ import annotations

import html
import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from functools import cached_property
from pathlib import Path
from typing import Any

from sayso.lexicon.load import Lexicon
from tests.evaluation import corpora
from tests.evaluation.run import audit_all
from tests.evaluation.score import score

PARTS = 5
CLOSED = ("country.", "of.")
"""How the ids of the classes begin that name countries: a closed list, whoever sells."""
FIGURES = ("coverage_accuracy", "spoken_accuracy", "claim_f1", "value_accuracy", "false_stated")
Record = Mapping[str, Any]


class Poorer(Lexicon):
    """A lexicon without the given forms in its shipped terms, cues and classes of words."""

    def __init__(self, overlays: Sequence[Path], withheld: Collection[str]) -> None:
        super().__init__(overlays)
        self._withheld = frozenset(withheld)
        self._known = {form for row in _overlay_rows(overlays) for form in row}

    @cached_property
    def terms(self) -> tuple[Any, ...]:
        return self._less(super().terms)

    @cached_property
    def cues(self) -> tuple[Any, ...]:
        return self._less(super().cues)

    def classes(self, language: str | None = None) -> tuple[Any, ...]:
        return self._less(super().classes(language))

    def _less(self, rows: Sequence[Any]) -> tuple[Any, ...]:
        out = []
        for row in rows:
            forms = tuple(f for f in row.forms if f not in self._withheld or f in self._known)
            if forms:
                out.append(row if forms == row.forms else row.model_copy(update={"forms": forms}))
        return tuple(out)


def _overlay_rows(overlays: Sequence[Path]) -> Iterator[tuple[str, ...]]:
    from sayso.lexicon.load import parse

    for path in overlays:
        for raw in parse(path).get("term", ()):
            yield tuple(raw["forms"])


def plain(text: str) -> str:
    """Words alone, between blanks, as they are looked up."""
    return f" {re.sub(r'[^0-9a-zÀ-ɏ぀-ヿ一-鿿®℗©+]+', ' ', html.unescape(text).casefold()).strip()} "


def occurs(form: str, text: str) -> bool:
    words = plain(form).strip()
    if not words:
        return form in text
    inside = words if re.search(r"[぀-ヿ一-鿿]", words) else f" {words} "
    return inside in text


def parts(rows: Sequence[Record]) -> list[list[Record]]:
    """Every fifth listing, so that each part has its share of each annotator and each kind."""
    return [list(rows[i::PARTS]) for i in range(PARTS)]


def learned(part: Sequence[Record], others: Sequence[Record], forms: Collection[str]) -> frozenset[str]:
    """The forms that occur in `part` and not in `others`."""
    mine = [plain(f"{r['title']} {r['text']}") for r in part]
    theirs = [plain(f"{r['title']} {r['text']}") for r in others]
    here = [f for f in forms if any(occurs(f, t) for t in mine)]
    return frozenset(f for f in here if not any(occurs(f, t) for t in theirs))


def report(name: str) -> Iterator[str]:
    rows = corpora.load(name)
    overlays = corpora.overlays(name)
    elsewhere = corpora.other_texts(name)
    full = Lexicon(overlays)
    rows_of_forms = (*full.terms, *full.cues, *full.classes())
    forms = {f for row in rows_of_forms for f in row.forms}
    closed = {f for row in full.classes() if row.id.startswith(CLOSED) for f in row.forms}
    whole = score(rows, audit_all(rows, lexicon=full)).figures()
    yield f"{name}: {len(rows)} listings in {PARTS} parts; {len(forms)} forms of terms and cues"
    yield f"{'':42}" + "".join(f"{f:>19}" for f in FIGURES)
    yield f"{'nothing withheld':42}" + "".join(f"{whole[f]:19.4f}" for f in FIGURES)
    for title, spared, looked_at in (
        ("withheld: in no other part", [], forms),
        ("withheld: in no other part or text", elsewhere, forms - closed),
    ):
        audits: dict[str, Any] = {}
        count = 0
        for i, part in enumerate(parts(rows)):
            others = [r for j, p in enumerate(parts(rows)) if j != i for r in p]
            less = learned(part, [*others, *spared], looked_at)
            count += len(less)
            audits |= audit_all(part, lexicon=Poorer(overlays, less))
        told = score(rows, audits).figures()
        yield f"{f'{title} ({count} forms)':42}" + "".join(f"{told[f]:19.4f}" for f in FIGURES)
        yield f"{'  difference':42}" + "".join(f"{told[f] - whole[f]:+19.4f}" for f in FIGURES)
