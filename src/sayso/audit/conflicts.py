"""Pairs of things that cannot both be true, each with its innocent readings.

Only hard floors on label, metal or disc convict the pressing (kind age); a jacket's floor makes a question (kind
jacket); two statements of the seller about one copy make a conflict of kind statement.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from sayso.audit.bounds import BINDS, Reader, Sign
from sayso.audit.channels import channel_conflicts
from sayso.audit.dates import Interval, before, clash
from sayso.audit.stated import Stated, title_year
from sayso.model import Bound, Claim, Conflict, Doubt, Span

if TYPE_CHECKING:
    from sayso.audit.labelling import LabelFound

MOST = 3
"""At most this many signs are held against one statement; the strongest convinces."""


def find_conflicts(
    reader: Reader,
    signs: Sequence[Sign],
    stated: Sequence[Stated],
    claims: Sequence[Claim] = (),
    found: LabelFound | None = None,
) -> tuple[Conflict, ...]:
    """Every contradiction, age before jacket before statement. Pure."""
    if reader.has("lot", reader.text):
        return ()
    claimed = _claimed(reader, stated, claims)
    age: list[Conflict] = []
    jacket: list[Conflict] = []
    open_jacket = reader.has("jacket.other", reader.text)
    for sign in _strongest(signs):
        bound = sign.bound
        said = _against(bound, claimed)
        if said is None and sign.not_first:
            said = next((s for s in stated if s.kind == "first" or (s.kind == "pressed" and _first(reader, s))), None)
        if said is None or bound.span is None:
            continue
        if bound.carrier in BINDS:
            age.append(_age(said, bound))
        elif not open_jacket and bound.carrier in ("jacket", "inner"):
            jacket.append(_jacket(said, bound))
    return (*age[:MOST], *jacket[:MOST], *_statements(stated), *channel_conflicts(reader, claims, found))


def find_doubts(
    reader: Reader,
    signs: Sequence[Sign],
    stated: Sequence[Stated],
    conflicts: Sequence[Conflict],
    claims: Sequence[Claim] = (),
) -> tuple[Doubt, ...]:
    """Signs that hardly fit the years stated, where nothing is proven: hints, and what was given up earlier. Pure.

    What the eras of the label show is told with its history; a later pressing may well wear what was given up.
    """
    if reader.has("lot", reader.text):
        return ()
    claimed = _claimed(reader, stated, claims)
    accused = [b for c in conflicts for b in c.between if isinstance(b, Span)]
    open_jacket = reader.has("jacket.other", reader.text)
    doubts: list[Doubt] = []
    for sign in signs:
        bound, span = sign.bound, sign.bound.span
        if bound.hard or span is None or bound.fact.startswith("label.") or not claimed:
            continue
        if any(a.start < span.end and span.start < a.end for a in accused):
            continue
        if open_jacket and bound.carrier in ("jacket", "inner"):
            continue
        early = [
            s for s in claimed if bound.not_before and s.high is not None and before(str(s.high), bound.not_before)
        ]
        new = [s for s in claimed if s.kind == "pressed" and not s.hedged]
        late = [s for s in new if bound.not_after and s.low is not None and before(bound.not_after, str(s.low))]
        said = early if len(early) == len(claimed) else late if late and len(late) == len(claimed) else []
        if said:
            key, limit = ("later", bound.not_before) if said is early else ("earlier", bound.not_after)
            why = reader.lexicon.phrases[f"doubt.{key}"].format(
                sign=" ".join(span.quote.split()), limit=(limit or "")[:4], year=said[0].span.quote
            )
            doubts.append(Doubt(between=(said[0].span, span), why=why, fact=bound.fact, later=said is early))
    return tuple({d.between[1].start: d for d in reversed(doubts)}.values())[::-1][:MOST]


def _claimed(reader: Reader, stated: Sequence[Stated], claims: Sequence[Claim]) -> list[Stated]:
    """The years given for this copy; where it is sold as a first pressing, the only year there is."""
    pressed = [s for s in stated if s.kind == "pressed" or (s.kind == "reissue" and s.high is not None)]
    if pressed or not any(s.kind == "first" for s in stated):
        return pressed
    year = title_year(reader) or _only_year(claims)
    return [Stated(year[1], "pressed", year[0], year[0])] if year else []


def _only_year(claims: Sequence[Claim]) -> tuple[int, Span] | None:
    """The one year that a seller names without saying whether of the music or of the copy ('1st press, 1966 LP')."""
    years = [c for c in claims if c.feature == "edition.year" and c.polarity == "present"]
    plain = all(c.role in ("unspecified", "pressed") and _firm(c) for c in years)
    if not plain or len({c.value for c in years}) != 1 or not isinstance(years[0].value, int):
        return None
    return years[0].value, Span(start=years[0].start, end=years[0].end, quote=years[0].quote)


def _firm(claim: Claim) -> bool:
    return claim.certainty == "certain" and claim.attribution == "seller"


def _first(reader: Reader, said: Stated) -> bool:
    return reader.has("edition.first", said.span.quote) or "1st" in said.span.quote or "first" in said.span.quote


def _strongest(signs: Sequence[Sign]) -> list[Sign]:
    """Hard signs, latest floor first; of signs in the same words only the strongest."""
    hard = sorted((s for s in signs if s.bound.hard), key=lambda s: s.bound.not_before or "", reverse=True)
    kept: list[Sign] = []
    for sign in hard:
        span = sign.bound.span
        if span and not any(
            k.bound.span and k.bound.span.start < span.end and span.start < k.bound.span.end for k in kept
        ):
            kept.append(sign)
    return kept


def _against(bound: Bound, claimed: Sequence[Stated]) -> Stated | None:
    """The statement a floor contradicts; where the seller gives several years, all must be too early."""
    if not bound.not_before or not claimed:
        return None
    slack = 1 if bound.fact in SLACK else 0
    if any(s.high is None or not before(str(s.high + slack), bound.not_before) for s in claimed):
        return None
    intervals = (*(Interval(str(s.low), str(s.high)) for s in claimed), Interval(bound.not_before))
    pair = clash(intervals)
    index = next((n for n in pair or () if n < len(claimed)), 0)
    # Said twice, the fuller words convince more.
    return max((s for s in claimed if s.high == claimed[index].high), key=lambda s: len(s.span.quote))


SLACK = frozenset({"phonogram-year-meaning", "copyright-c-year-floor"})
"""Years read from print: one year's gap is a question only (advance printing)."""


def _age(said: Stated, bound: Bound) -> Conflict:
    innocent = ["The seller may have copied the year of the first issue, not of this copy."]
    if bound.carrier == "label":
        innocent.append("He may have read the words on another part, or shortened them.")
    elif bound.carrier == "metal":
        innocent.append("The letters may be misread, or belong to another record.")
    return Conflict(
        kind="age",
        between=(said.span, _span(bound)),
        why=_why(said, bound, "so this pressing cannot be older"),
        fact=bound.fact,
        source=bound.source,
        innocent=tuple(innocent),
        feature="edition.year" if said.high is not None else "edition.first_pressing",
    )


def _jacket(said: Stated, bound: Bound) -> Conflict:
    return Conflict(
        kind="jacket",
        between=(said.span, _span(bound)),
        why=_why(said, bound, "so the jacket is later than the record is said to be; the record itself may be right"),
        fact=bound.fact,
        source=bound.source,
        innocent=(
            "The jacket may have been married to an older record.",
            "Ask what the label and the run-out show: only they speak for the record.",
        ),
        feature="edition.year",
    )


def _span(bound: Bound) -> Span:
    assert bound.span is not None
    return bound.span


def _why(said: Stated, bound: Bound, end: str) -> str:
    statement = bound.statement.rstrip(".")
    if bound.not_before and said.high is not None:
        year = bound.not_before[:4]
        since = "" if year in statement else f": not before {year}"
        return f"{statement}{since}, {end} ('{said.span.quote}')."
    return f"{statement}; that is not the first pressing ('{said.span.quote}')."


def _statements(stated: Sequence[Stated]) -> list[Conflict]:
    """A copy called original and reissue, or pressed in two years apart."""
    firm = [s for s in stated if not s.hedged]
    originals = [s for s in firm if s.kind in ("pressed", "first")]
    reissues = [s for s in firm if s.kind == "reissue"]
    for old in originals:
        for new in reissues:
            if old.kind == "first" and new.high is not None and old.span.end > new.span.start - 30 > old.span.start:
                continue
            if old.high is not None and new.low is not None and old.low == new.low:
                continue
            if abs(old.span.start - new.span.end) < 8 or abs(new.span.start - old.span.end) < 8:
                continue
            return [_statement(old, new, "One copy cannot be both the original and a reissue.")]
    years: dict[tuple[int | None, int | None], Stated] = {}
    for s in originals:
        if s.high is not None:
            years.setdefault((s.low, s.high), s)
    dated = list(years.values())
    for n, one in enumerate(dated):
        for two in dated[n + 1 :]:
            if before(str(one.high), str(two.low)) or before(str(two.high), str(one.low)):
                return [_statement(one, two, "One copy cannot have been pressed in both years.")]
    return []


def _statement(one: Stated, two: Stated, why: str) -> Conflict:
    return Conflict(
        kind="statement",
        between=(one.span, two.span),
        why=why,
        innocent=("One of the two may be said of another copy or of the first issue; ask which holds for this one.",),
        feature="edition.original",
    )
