"""Terms of the lexicon in a listing → claims."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from sayso.claims.analysis import Assertion
from sayso.claims.draft import JACKET
from sayso.claims.index import Hit
from sayso.lexicon.terms import Term
from sayso.model import Polarity

if TYPE_CHECKING:
    from sayso.claims.draft import Draft

DAYS = re.compile(r"\b(\d{1,2}|seven|fourteen|thirty)[\s-]*(?:days?|Tagen?|jours|dagen|giorni|días|日)", re.I)
_ASKED = re.compile(r"[^.!?\n]{0,24}\?\s+(?=\S)")
_NUMBERED = {"seven": "7", "fourteen": "14", "thirty": "30"}


def read_terms(draft: Draft) -> None:
    """Every term that counts here, as a claim."""
    for hit in _terms(draft):
        _term(draft, hit)


def _terms(draft: Draft) -> list[Hit]:
    """The terms, each feature's longest where they overlap, without those whose neighbours cancel them."""
    analysis = draft.a
    terms = analysis.all_of("term")
    features = [h.row.feature for h in terms if isinstance(h.row, Term)]
    toks, folded = analysis.toks, analysis.folded
    out: list[Hit] = []
    for n, h in enumerate(terms):
        row = h.row
        assert isinstance(row, Term)
        feature, i, j = features[n], h.i, h.j
        if _in_longer(terms, features, n) or any(
            o.i < i < o.j < j and isinstance(o.row, Term) and o.row.feature == feature for o in out[-4:]
        ):
            continue
        if row.not_before or row.not_after or row.only_before or row.only_after:
            start, end = toks[i][0], toks[j - 1][1]
            after = folded[end : end + 40].lower().lstrip(" ").replace("  ", " ")
            before = folded[max(0, start - 40) : start].lower().replace("  ", " ").rstrip(" ")
            if any(after.startswith(w) and not after[len(w) : len(w) + 1].isalpha() for w in row.not_before):
                continue
            if any(before.endswith(w) for w in row.not_after):
                continue
            if row.only_before and not after.startswith(row.only_before):
                continue
            if row.only_after and not before.endswith(row.only_after):
                continue
        if row.kind == "under" and not _under(draft, h, feature):
            continue
        if "deadwax" in row.needs and not draft.near_wax(h):
            continue
        if row.kind == "address" and "label" in row.needs and not draft.on_label(h):
            continue
        if "label somewhere" in row.needs and not draft.label_somewhere(h):
            continue
        out.append(h)
    return out


def _in_longer(terms: list[Hit], features: list[str], n: int) -> bool:
    """Whether a longer term of the same feature covers this one; those that begin together come longest first."""
    i, j = terms[n].i, terms[n].j
    k = n - 1
    while k >= 0 and terms[k].i >= i - 8:
        if terms[k].j >= j and features[k] == features[n] and terms[k].j - terms[k].i > j - i:
            return True
        k -= 1
    return False


def _under(draft: Draft, h: Hit, feature: str) -> bool:
    """Whether the sentence names the thing of which this word alone is a value."""
    a, b = draft.a.sentence(draft.a.toks[h.i][0])
    return any(
        isinstance(o.row, Term)
        and o.row.feature == feature
        and o.row.kind == "topic"
        and (0 <= h.i - o.j <= 4 or 0 <= o.i - h.j <= 1)
        for o in draft.a.within("term", a, b)
    )


def in_a_name(draft: Draft, h: Hit) -> bool:
    """Whether a picture word is only part of a title or of a name: capitals in the title, far from the run-out."""
    start = draft.a.toks[h.i][0]
    return draft.a.segment(start).kind == "title" and draft.a.text[start].isupper() and not draft.near_wax(h)


def _term(draft: Draft, h: Hit) -> None:
    row = h.row
    assert isinstance(row, Term)
    start, end = draft.a.toks[h.i][0], draft.a.toks[h.j - 1][1]
    if row.kind in ("carrier", "topic") or _of_a_name(draft, h):
        return
    feature = row.feature
    if row.kind == "address" and row.value is not None:
        part, _ = draft.a.carrier(start, end)
        feature = "jacket.address" if part == "jacket" else feature
    if row.kind == "design" or (feature == "deadwax.plant_mark" and in_a_name(draft, h)):
        return
    value = row.value
    said = draft.a.assertion(start, end)
    if row.kind == "mention" and said.certainty != "unknown":
        return
    if row.polarity == "absent":
        said = replace(said, polarity="present", certainty="certain" if said.certainty == "unknown" else said.certainty)
    if feature == "deadwax.plant_mark" and row.value is not None and said.status == "affirmed" and _naive(draft, h):
        said = replace(said, status="possible", certainty="hedged")
    if row.kind == "ignorance":
        said = Assertion("possible", "present", "unknown", "seller", "this_copy", False, said.cues)
    said = _asked_and_answered(draft, end, said)
    polarity: Polarity = row.polarity if said.polarity == "present" else "absent"
    if feature == "terms.returns" and polarity == "present":
        a, b = draft.a.sentence(start)
        days = DAYS.search(draft.a.folded, a, b)
        value = f"{_NUMBERED.get(days.group(1).lower(), days.group(1))} days" if days else value
    if feature == "condition.play_tested" and said.polarity == "absent" and row.polarity == "present":
        value = "visual only"
    if row.kind == "sealed":
        draft.add(JACKET, start, end, said, polarity, value, h)
    if feature == "deadwax.lettering" and _of_a_mark(draft, h):
        return
    if feature == "deadwax.matrix" and any(
        c.feature == "deadwax.matrix" for c in draft.claims[-12:] if abs(c.start - start) < 40
    ):
        return
    for each in (feature, *row.also):
        draft.add(each, start, end, said, polarity, value, h)


def _of_a_mark(draft: Draft, h: Hit) -> bool:
    """Whether the word says how the sign beside it was made ('an anchor stamped by the label'), not the number."""
    a, b = draft.a.sentence(draft.a.toks[h.i][0])
    beside = [
        o.row.feature for o in draft.a.within("term", a, b) if isinstance(o.row, Term) and (o.j == h.i or h.j == o.i)
    ]
    return "deadwax.plant_mark" in beside and "deadwax.matrix" not in beside


def _asked_and_answered(draft: Draft, end: int, said: Assertion) -> Assertion:
    """'Deep groove? Yes': the seller's own question with his answer behind it on the line."""
    if draft.a.folded.find("?", end, end + 25) < 0:
        return said
    close = draft.a.folded.find("\n", end)
    rest = draft.a.folded[end : close if close >= 0 else len(draft.a.folded)]
    m = _ASKED.match(rest)
    if not m or draft.a.segment(end - 1).kind == "title":
        return said
    from sayso.claims.answers import manner

    how, _ = manner(rest[m.end() : m.end() + 60], draft.lexicon)
    cues = tuple(c for c in said.cues if c.start < end)
    if how in ("no", "none"):
        return replace(said, polarity="absent", certainty="certain", status="negated", cues=cues)
    if how in ("yes", "both"):
        return replace(said, polarity="present", certainty="certain", status="affirmed", cues=cues)
    return said


def _of_a_name(draft: Draft, h: Hit) -> bool:
    """'Strand plays Liszt': in a title, a verb of playing with a name behind it is the music."""
    row, start = h.row, draft.a.toks[h.i][0]
    if not isinstance(row, Term) or row.feature != "condition.play_tested" or h.j >= len(draft.a.toks):
        return False
    nxt = draft.a.toks[h.j][0]
    return draft.a.segment(start).kind == "title" and draft.a.text[nxt].isupper()


def _naive(draft: Draft, h: Hit) -> bool:
    """'A funny little acorn': told as something found, not as the mark it is known to be."""
    return bool(draft.a.of("naive", h.i - 5, h.i)) and bool(draft.a.of("indefinite", h.i - 5, h.i))
