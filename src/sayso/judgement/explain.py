"""What moved the odds: the evidence is let in one piece after another, so the steps add up to the result exactly."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import exp
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sayso.judgement.hear import Heard
from sayso.judgement.network import SPOKEN, Kind, Net, Outside, Said
from sayso.model import Move

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Step:
    """One piece of evidence: the features or the terms that are let in together."""

    what: str
    features: tuple[str, ...] = ()
    terms: tuple[str, ...] = ()


def steps(net: Net, said: Mapping[str, Said], outside: Outside) -> tuple[Step, ...]:
    """Who sells; then what is said, part by part; adjectives, dates, price; last the silences, place by place."""
    out = [Step("seller", terms=("seller",))] if "seller" in outside.terms else []
    done: set[str] = set()
    for part in net.parts:
        # What is printed or stamped together is one piece of evidence, and so one step.
        spoken = tuple(f for f in part.features if f not in done and f in said and said[f].kind is not Kind.SILENT)
        if spoken:
            out.append(Step("said", spoken))
            done.update(spoken)
    out += [Step(name, terms=(name,)) for name in outside.terms if name != "seller"]
    # The silence on a sign that settles it stands by itself; other silences are told place by place.
    decides = [d.feature for d in net.dossier.decides if d.feature in net.features and d.feature not in done]
    by_place: dict[tuple[bool, int], list[str]] = {}
    for i, f in enumerate(net.features):
        if f not in done and f not in decides:
            by_place.setdefault((net.tells[f], net.zone_of[i]), []).append(f)
    out += [Step("silent", tuple(quiet)) for _, quiet in sorted(by_place.items())]
    out += [Step("silent", (f,)) for f in dict.fromkeys(decides)]
    return tuple(out)


def masks(net: Net, plan: Sequence[Step], outside: Outside) -> tuple[Array, Array]:
    """For the start and after each step: which features (row × feature) and which terms (row × term) are let in."""
    heard = np.zeros((len(plan) + 1, len(net.features)))
    use = np.zeros((len(plan) + 1, len(outside.terms)))
    names = list(outside.terms)
    for n, step in enumerate(plan, 1):
        for f in step.features:
            heard[n:, net.features.index(f)] = 1
        for t in step.terms:
            use[n:, names.index(t)] = 1
    return heard, use


def moves(
    net: Net, heard: Heard, plan: Sequence[Step], log_odds: Sequence[float], lexicon: Lexicon
) -> tuple[Move, ...]:
    """The base rate and each step with its change in the log-odds of a first pressing; they add up to the last."""
    share = 1 / (1 + exp(-log_odds[0]))
    out = [
        Move(
            what="base rate",
            log_odds=log_odds[0],
            sentence=f"Before a word is read, about {percent(share)} of the copies to be had are first pressings.",
        )
    ]
    for n, step in enumerate(plan, 1):
        change = log_odds[n] - log_odds[n - 1]
        out.append(
            Move(
                what=step.what,
                features=step.features,
                log_odds=change,
                sentence=f"{_words(net, heard, step, lexicon)}: {ratio(change)}.",
            )
        )
    return tuple(out)


def percent(p: float) -> str:
    """'28 %', 'under 1 %', 'over 99 %'."""
    return f"{100 * p:.0f} %" if 0.01 <= p <= 0.99 else ("under 1 %" if p < 0.5 else "over 99 %")


def ratio(change: float) -> str:
    """'6 to 1 against'."""
    size = exp(min(abs(change), 50.0))
    if size < 1.05:
        return "makes next to no difference"
    side = "for" if change > 0 else "against"
    if size > 1000:
        return f"more than 1,000 to 1 {side}"
    return f"{size:.1f} to 1 {side}" if size < 9.5 else f"{size:,.0f} to 1 {side}"


def _names(features: Sequence[str], lexicon: Lexicon) -> str:
    words = [lexicon.features[f].name if f in lexicon.features else f for f in features]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


_MANNER = {
    Kind.FIRM: "stated",
    Kind.DENIED: "said to be missing",
    Kind.HEDGED: "named with doubt",
    Kind.DESCRIBED: "described without its name",
    Kind.HEARSAY: "on somebody else's word",
    Kind.DEFERRED: "left to the pictures",
    Kind.UNKNOWN: "the seller cannot tell",
    Kind.FAILED: "looked for and not found",
    Kind.EVADED: "asked about and passed over",
    Kind.IGNORED: "reads otherwise than this dossier knows",
}


def _words(net: Net, heard: Heard, step: Step, lexicon: Lexicon) -> str:
    if step.what == "said":
        bits = []
        for f in step.features:
            one = heard.said[f]
            quote = next((f" ('{q}')" for q in heard.quotes.get(f, ()) if 0 < len(q) <= 60), "")
            bits.append(f"{_names([f], lexicon)}{quote}, {_MANNER[one.kind]}")
        text = "; ".join(bits)
        return text[:1].upper() + text[1:] + (" (one part, so one piece of evidence)" if len(bits) > 1 else "")
    if step.what == "silent":
        place = {net.zone_of[net.features.index(f)] for f in step.features}
        beside = [
            f
            for i, f in enumerate(net.features)
            if net.zone_of[i] in place and f in heard.said and heard.said[f].kind in SPOKEN
        ]
        tail = f", from a seller who speaks of {_names(beside, lexicon)}" if beside else ""
        return f"Silence on {_names(step.features, lexicon)}{tail}"
    return {
        "seller": "How the seller writes (this tells who he is, not what it is)",
        "word": {
            "first": "The words 'first' or 'original', which cost nothing",
            "later": "Called a later pressing by the seller himself",
            "not later": "Said to be no reissue, which promises little",
            None: "No word on the edition",
        }[heard.edition[0] if heard.edition else None],
        "bought": "The year in which it is said to have been bought",
        "year": "The year given for the pressing",
        "floor": "Something that was not made before this pressing was over",
        "shares": "How many copies of each kind there are, which nobody knows for this record",
        "clash": "Dates in the listing that do not fit together",
        "price": "The price asked",
        "bids": "What others bid who could see the pictures",
    }.get(step.what, step.what)
