"""What was predicted against what arrived: the Brier score, reliability, and what the counts say of the assumptions.

Sources: G. W. Brier, 'Verification of forecasts expressed in terms of probability', Monthly Weather Review 78 (1950);
A. H. Murphy, 'A new vector partition of the probability score', Journal of Applied Meteorology 12 (1973); E. B. Wilson,
'Probable inference, the law of succession, and statistical inference', JASA 22 (1927); the beta-binomial update is in
any textbook (A. Gelman et al., Bayesian Data Analysis, chapter 2).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from sayso.casebook.book import Case
from sayso.model import Noun

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

FEW = 20
"""Below so many outcomes no figure says anything reliable, and the report says so first."""
BINS = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)
Z = 1.959964
"""Two-sided 95 %."""


class Outcome(Noun):
    """One prediction and what came: the chance given for a first pressing before paying, and whether it was one."""

    case: int
    predicted: float
    first: bool


class Bin(Noun):
    """Cases with like predictions: how many, the mean prediction, the share that came true with its 95 % interval."""

    low: float
    high: float
    count: int
    predicted: float
    came: float
    came_low: float
    came_high: float


class Record(Noun):
    """The record of outcomes. `brier_low` and `brier_high` bound the mean at 95 %, null below two outcomes."""

    count: int
    brier: float | None = None
    brier_low: float | None = None
    brier_high: float | None = None
    base: float | None = None
    """The Brier score of always giving the share that came true: what any prediction must beat."""
    bins: tuple[Bin, ...] = ()
    few: bool = True
    outcomes: tuple[Outcome, ...] = ()


class Proposal(Noun):
    """An assumption, what the cases say of it, and what they propose (a beta-binomial posterior mean, 95 % range)."""

    id: str
    what: str
    now: float
    low: float
    high: float
    hits: int
    trials: int
    proposed: float
    proposed_low: float
    proposed_high: float
    enough: bool
    """There are enough of them that the change means anything."""


def outcomes_of(cases: Iterable[Case]) -> list[Outcome]:
    """The cases with odds before paying and an arrival that tells whether it was a first pressing."""
    out = []
    for case in cases:
        arrivals = [e for e in case.of("arrival") if e.body.get("first") is not None]
        if not arrivals:
            continue
        until = case.events.index(arrivals[-1])
        before = [e for e in case.events[:until] if e.kind in ("listing", "reply")]
        odds = next((o for e in reversed(before) if (o := _odds(e.body)) is not None), None)
        if odds is not None:
            out.append(Outcome(case=case.id, predicted=odds, first=bool(arrivals[-1].body["first"])))
    return out


def _odds(body: dict[str, object]) -> float | None:
    audit = body.get("audit") or (body.get("reply") or {}).get("audit")  # type: ignore[attr-defined]
    odds = audit.get("odds") if isinstance(audit, dict) else None
    value = odds.get("p_first") if isinstance(odds, dict) else None
    return float(value) if isinstance(value, int | float) else None


def record_of(outcomes: Sequence[Outcome]) -> Record:
    """Brier score and reliability, each with its uncertainty. Pure."""
    n = len(outcomes)
    if n == 0:
        return Record(count=0)
    losses = [(o.predicted - o.first) ** 2 for o in outcomes]
    mean = math.fsum(losses) / n
    low = high = None
    if n > 1:
        spread = math.sqrt(math.fsum((x - mean) ** 2 for x in losses) / (n - 1) / n) * student(n - 1)
        low, high = max(0.0, mean - spread), min(1.0, mean + spread)
    share = sum(o.first for o in outcomes) / n
    bins = []
    for a, b in pairwise(BINS):
        inside = [o for o in outcomes if a <= o.predicted < b or (b == 1.0 and o.predicted == 1.0)]
        if inside:
            hits = sum(o.first for o in inside)
            came_low, came_high = wilson(hits, len(inside))
            bins.append(
                Bin(
                    low=a,
                    high=b,
                    count=len(inside),
                    predicted=math.fsum(o.predicted for o in inside) / len(inside),
                    came=hits / len(inside),
                    came_low=came_low,
                    came_high=came_high,
                )
            )
    return Record(
        count=n,
        brier=mean,
        brier_low=low,
        brier_high=high,
        base=share * (1 - share),
        bins=tuple(bins),
        few=n < FEW,
        outcomes=tuple(outcomes),
    )


def wilson(hits: int, trials: int) -> tuple[float, float]:
    """Wilson's 95 % interval of a share. Raises `ValueError` without trials."""
    if trials <= 0:
        raise ValueError("there must be at least one trial")
    p = hits / trials
    centre = (p + Z * Z / (2 * trials)) / (1 + Z * Z / trials)
    half = Z * math.sqrt(p * (1 - p) / trials + Z * Z / (4 * trials * trials)) / (1 + Z * Z / trials)
    return max(0.0, centre - half), min(1.0, centre + half)


def student(freedom: int) -> float:
    """The two-sided 95 % point of Student's t, by the Cornish-Fisher expansion; exact for 1 and 2 degrees of freedom.

    Source: Abramowitz & Stegun, Handbook of Mathematical Functions, 26.7.5.
    """
    if freedom == 1:
        return 12.706205
    if freedom == 2:
        return 4.302653
    z, v = Z, float(freedom)
    g1 = (z**3 + z) / 4
    g2 = (5 * z**5 + 16 * z**3 + 3 * z) / 96
    g3 = (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / 384
    g4 = (79 * z**9 + 776 * z**7 + 1482 * z**5 - 1920 * z**3 - 945 * z) / 92160
    return z + g1 / v + g2 / v**2 + g3 / v**3 + g4 / v**4


def prior(value: float, low: float, high: float) -> tuple[float, float]:
    """The beta distribution with mean `value` of which low to high holds about 95 %: (a, b).

    By its spread: a quarter of the range is taken as the standard deviation, as for a normal distribution.
    """
    mean = min(max(value, 1e-3), 1 - 1e-3)
    sd = max((high - low) / 4, 1e-3)
    size = mean * (1 - mean) / (sd * sd) - 1
    size = max(size, 2.0)  # never less than the weight of two cases
    return mean * size, (1 - mean) * size


def posterior(value: float, low: float, high: float, hits: int, trials: int) -> tuple[float, float, float]:
    """Mean and 95 % range after `hits` in `trials`, with the shipped assumption as prior.

    The range is that of a beta distribution by its normal approximation on the log-odds scale.
    """
    a, b = prior(value, low, high)
    a, b = a + hits, b + trials - hits
    mean = a / (a + b)
    sd = math.sqrt(1 / a + 1 / b)  # of the log odds, to first order
    centre = math.log(mean / (1 - mean))
    return mean, _logistic(centre - Z * sd), _logistic(centre + Z * sd)


def _logistic(x: float) -> float:
    return 1 / (1 + math.exp(-x))


ENOUGH = 5
"""Fewer counts than these propose nothing worth applying."""


def proposals(cases: Sequence[Case], lexicon: Lexicon) -> tuple[Proposal, ...]:
    """What the cases say of the assumptions that can be counted in them. Pure.

    The rows [[word]] of kind `outcome_count` name the assumption and what is counted. An assumption of the form 'so
    many not there against once that it is' is a ratio: its share is updated and turned back.
    """
    out = []
    for row in lexicon.words:
        if row.kind != "outcome_count" or row.value not in lexicon.assumptions:
            continue
        count, ratio = COUNTS[row.forms[0]]
        trials = [hit for case in cases for hit in count(case)]
        if not trials:
            continue
        a = lexicon.assumptions[row.value]
        there, back = (_share, _ratio) if ratio else (_same, _same)
        hits = sum(trials)
        mean, low, high = map(back, posterior(there(a.value), there(a.low), there(a.high), hits, len(trials)))
        out.append(
            Proposal(
                id=a.id,
                what=a.what,
                now=a.value,
                low=a.low,
                high=a.high,
                hits=hits,
                trials=len(trials),
                proposed=min(mean, a.most),
                proposed_low=low,
                proposed_high=min(high, a.most),
                enough=len(trials) >= ENOUGH,
            )
        )
    return tuple(out)


def _share(ratio: float) -> float:
    return ratio / (1 + ratio)


def _ratio(share: float) -> float:
    return share / max(1 - share, 1e-9)


def _same(x: float) -> float:
    return x


def _knows(case: Case) -> bool | None:
    """Whether the seller was taken to know the trade; null where no odds were worked out."""
    for event in reversed(case.events):
        audit = event.body.get("audit") or (event.body.get("reply") or {}).get("audit")
        odds = audit.get("odds") if isinstance(audit, dict) else None
        if isinstance(odds, dict) and isinstance(odds.get("seller_knows"), int | float):
            return bool(odds["seller_knows"] >= 0.5)
    return None


def _untrue(case: Case, certain: bool) -> list[bool]:
    """For each sign on disc and label that was named and then checked: whether it was not as said."""
    out = []
    for arrival in case.of("arrival")[-1:]:
        for judged in arrival.body.get("judged", ()):
            said = [
                p
                for p in judged["check"].get("promises", ())
                if p["stands"] and (p["certainty"] == "certain") == certain
            ]
            if said and judged["check"].get("zone") in SIGNS and judged["result"] != "not checked":
                out.append(judged["result"] == "not as described")
    return out


def _answered(case: Case) -> list[bool]:
    """For each question that a reply came to: whether it was answered, if only in part."""
    return [
        q["outcome"] in ("answered", "partly")
        for e in case.of("reply")
        for q in (e.body.get("reply") or {}).get("per_question", ())
    ]


SIGNS = ("dead wax", "edge", "label")
"""Where the signs are that tell pressings apart."""
COUNTS: Mapping[str, tuple[Callable[[Case], list[bool]], bool]] = {
    "firm statement untrue, trade": (lambda c: _untrue(c, True) if _knows(c) is True else [], False),
    "firm statement untrue, layman": (lambda c: _untrue(c, True) if _knows(c) is False else [], False),
    "doubtful statement untrue": (lambda c: _untrue(c, False), True),
    "question answered, trade": (lambda c: _answered(c) if _knows(c) is True else [], False),
    "question answered, layman": (lambda c: _answered(c) if _knows(c) is False else [], False),
}
"""What can be counted, and whether the assumption is a ratio of untrue to true."""


def overlay(accepted: Iterable[Proposal]) -> str:
    """The accepted proposals as a data file to be laid over the shipped one."""
    lines = ["# Assumptions brought up to date by this casebook's outcomes (beta-binomial, the former value as prior)."]
    for p in accepted:
        low, high = min(p.proposed_low, p.proposed), max(p.proposed_high, p.proposed)
        why = f"{p.hits} of {p.trials} cases of this casebook, with {p.now:g} ({p.low:g} to {p.high:g}) as prior."
        lines += [
            "",
            "[[assumption]]",
            f'id = "{p.id}"',
            f"value = {p.proposed:.4f}",
            f"low = {low:.4f}",
            f"high = {high:.4f}",
            f"what = {_quoted(p.what)}",
            f"why = {_quoted(why)}",
        ]
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    import json

    return json.dumps(text, ensure_ascii=False)
