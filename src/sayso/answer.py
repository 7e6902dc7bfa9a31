"""The answer in one sentence, for a buyer; and the cautions that go with it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from sayso.audit.coverage import speaker
from sayso.model import Advice, Conflict, Finding, Odds, Question, Span

if TYPE_CHECKING:
    from sayso.audit.coverage import Coverage
    from sayso.lexicon import Lexicon

OPEN: frozenset[str] = frozenset({"silent", "unknown", "deferred", "hedged", "conflicting"})
EARLY = ("edition.original", "edition.first_pressing")
NAMED = 3
"""At most this many features are named in the sentence."""


def answer(
    coverage: Coverage,
    conflicts: Sequence[Conflict],
    odds: Odds | None,
    advice: Advice | None,
    questions: Sequence[Question],
    lexicon: Lexicon,
) -> str:
    """One sentence: what the words amount to, and what to do next. Every part of it is true of the listing."""
    say = lexicon.phrases
    head = _head(coverage, conflicts, lexicon)
    first = ""
    if questions:
        what = _and([lexicon.features[f].name for f in questions[0].features])
        first = " " + say["answer.ask_whether" if what.startswith("whether") else "answer.ask"].format(what=what)
    if advice is not None and odds is not None:
        p, low, high = (percent(x) for x in (odds.p_first, odds.p_first_low, odds.p_first_high))
        key = (
            "flat"
            if low == high
            else "most"
            if odds.p_first_low < 0.01
            else "least"
            if odds.p_first_high > 0.99
            else ""
        )
        chance = say[f"answer.odds_{key}" if key else "answer.odds"].format(p=p, low=low, high=high)
        rest = head + first if advice.do == "ask" else head
        return " ".join((say[f"answer.do.{advice.do}"], chance, rest))
    return head + first


def cautions(odds: Odds | None, lexicon: Lexicon) -> tuple[str, ...]:
    """What a buyer should bear in mind: short, and once."""
    say = lexicon.phrases
    last = (say["caution.odds"],) if odds is not None else ()
    return (say["caution.words"], say["caution.pay"], say["caution.law"], *last)


def percent(p: float) -> str:
    """A chance in whole per cent, never rounded to certainty: 'under 1 %', 'over 99 %'."""
    if p < 0.01:
        return "under 1 %"
    if p > 0.99:
        return "over 99 %"
    return f"{p * 100:.0f} %"


def _head(coverage: Coverage, conflicts: Sequence[Conflict], lexicon: Lexicon) -> str:
    say = lexicon.phrases
    for kind in ("age", "statement"):
        for conflict in conflicts:
            spans = [" ".join(x.quote.split())[:70] for x in conflict.between if isinstance(x, Span)]
            if conflict.kind == kind and len(spans) == 2:
                return say[f"answer.conflict.{kind}"].format(one=spans[0], other=spans[1])
    clashing = [f for f in coverage.findings if f.state == "conflicting"]
    if clashing:
        return say["answer.conflict.state"].format(what=_names(clashing, lexicon))
    decisive = [f for f in coverage.findings if f.need == "decisive"]
    early = [f.state for f in coverage.findings if f.feature in EARLY]
    sold = say["answer.sold.doubt" if "hedged" in early and "stated" not in early else "answer.sold.firm"]
    profile = speaker(coverage.profiles, lexicon)
    left = [f for f in decisive if f.state in OPEN or f.feature in coverage.bare]
    # Only a sign that the pressing itself carries speaks against the claim by its absence.
    denied = [f for f in decisive if f.state == "denied" and lexicon.features[f.feature].carrier == "disc"]
    if denied and f"answer.{profile}.denied" in say:
        return say[f"answer.{profile}.denied"].format(sold=sold, what=_names(denied, lexicon))
    if left or not decisive:
        return say[f"answer.{profile}.open"].format(
            sold=sold,
            said=_count(len(decisive) - len(left), lexicon),
            all=_count(len(decisive), lexicon),
            what=_names(left, lexicon) if left else "",
        )
    said = say.get(f"answer.{profile}.said") or say[f"answer.{profile}.open"]
    return said.format(sold=sold, what=_names(decisive, lexicon))


def _count(number: int, lexicon: Lexicon) -> str:
    return lexicon.phrases.get(f"count.{number}", str(number))


def _names(findings: Sequence[Finding], lexicon: Lexicon) -> str:
    return _and([lexicon.features[f.feature].name for f in findings[:NAMED]])


def _and(items: Sequence[str]) -> str:
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}" if items else ""
