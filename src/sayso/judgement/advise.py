"""From odds and money to advice: buy, ask first, or pass; the most to pay; why."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from sayso.judgement.asking import AnswerWorth, first_to_ask
from sayso.judgement.assume import Assumptions
from sayso.judgement.network import KNOWS, Joint, Net
from sayso.judgement.value import highest
from sayso.judgement.worth import Estimate, Offer, money
from sayso.model import Advice

Array = NDArray[np.float64]
Do = Literal["buy", "ask", "pass"]
PLAUSIBLE = 0.01
"""Pressings less likely than this are not reckoned with when speaking of the worst and the best case."""


@dataclass(frozen=True)
class Stake:
    """The money of one decision, as floats in the buyer's currency."""

    p: Array
    worth: Array
    cost: float | None
    """All that is paid at the price asked."""
    return_cost: float | None
    """What sending it back costs; null where it cannot be sent back."""

    @property
    def expected(self) -> float:
        return float(self.p @ self.worth)

    def payoff(self, cost: float | None = None) -> Array:
        """Act × pressing: buy, pass. With a right to return, a wrong copy costs only its way back."""
        paid = self.cost if cost is None else cost
        assert paid is not None
        gain = self.worth - paid
        if self.return_cost is not None:
            gain = np.maximum(gain, -self.return_cost)
        return np.stack([gain, np.zeros_like(gain)])


def curse(bidders: int | None, doubt: float) -> float:
    """The share by which to stay under one's own estimate among so many bidders, each unsure by `doubt`."""
    return min(highest(bidders or 0) * doubt, 0.9)


def overpaying(stake: Stake, doubt: float) -> Callable[[float], float]:
    """The chance that the copy is worth less than a total, for any total.

    The worth of each pressing is taken as log-normal with the share `doubt` as its spread.
    """
    from math import erf, log, sqrt

    likely = [
        (p, log(w) if w > 0 else None) for p, w in zip(stake.p.tolist(), stake.worth.tolist(), strict=True) if p > 1e-4
    ]
    spread = max(doubt, 1e-6) * sqrt(2)

    def chance(total: float) -> float:
        if total <= 0:
            return 0.0
        out, most = 0.0, log(total)
        for p, worth in likely:
            if worth is None:
                out += p
            else:
                out += p * 0.5 * (1 + erf((most - worth) / spread))
        return out

    return chance


def limits(stake: Stake, regret: Callable[[float], float], max_regret: float) -> tuple[float, float]:
    """The totals at which the expected gain is nil, and at which the chance of overpaying reaches the limit."""
    ceiling = stake.expected
    low, high = 0.0, ceiling
    if regret(ceiling) <= max_regret:
        return ceiling, ceiling
    for _ in range(12):
        middle = (low + high) / 2
        low, high = (middle, high) if regret(middle) <= max_regret else (low, middle)
    return ceiling, low


def rounded(amount: float) -> Decimal:
    """An amount of money no finer than it can be known: whole units from 20 up, halves from 2 up."""
    value = Decimal(str(max(amount, 0.0)))
    if value >= 20:
        return value.quantize(Decimal(1), rounding=ROUND_HALF_UP)
    if value >= 2:
        return money((2 * value).quantize(Decimal(1), rounding=ROUND_HALF_UP) / 2)
    return money(value)


def advise(
    net: Net,
    a: Assumptions,
    joint: Joint,
    stake: Stake,
    estimate: Estimate,
    offer: Offer,
    worths: Mapping[str, AnswerWorth],
    deferred: frozenset[str],
    name: Mapping[str, str],
    clashing: frozenset[str] = frozenset(),
) -> tuple[Advice, str | None]:
    """The advice, and the feature to ask for first. Pure. `name` gives the features' names in a buyer's words."""
    doubt = float(np.average([estimate.doubt[i] for i in net.ids], weights=np.maximum(stake.p, 1e-9)))
    regret = overpaying(stake, doubt)
    top, careful = limits(stake, regret, offer.max_regret)
    held = curse(offer.bidders, a.at("worth.doubt")) if offer.auction else 0.0
    ceiling = rounded(float(offer.costs.price_for(Decimal(str(top * (1 - held))))))
    cautious = min(rounded(float(offer.costs.price_for(Decimal(str(careful * (1 - held)))))), ceiling)
    notes = _notes(offer, held, a.at("worth.doubt"), stake)
    do: Do
    if stake.cost is None or offer.price is None:
        least = 0.02
        first = first_to_ask(net, worths, least, decider=a.at("asks.decider"))
        do = "ask" if first else "buy"
        if first:
            why = f"Ask about {name[first]} first: there is no price to weigh yet, and it would tell most."
        else:
            why = f"Nothing that could be asked would change much; worth buying below {estimate.currency} {ceiling}."
        return (
            Advice(do=do, why=why, ceiling=ceiling, cautious_ceiling=cautious, currency=estimate.currency, notes=notes),
            first,
        )
    now = float(stake.payoff()[0] @ stake.p)
    plain = stake.expected - stake.cost
    trouble = a.at("trouble") * max(stake.cost, float(stake.worth.max()))
    first = first_to_ask(net, worths, 0.1 * trouble, clashing, a.at("asks.decider"))  # if it changes anything at all
    value = max((w.money or 0.0 for w in worths.values()), default=0.0) if first else 0.0
    who = joint.now.sum(axis=0)
    lost = float(who[KNOWS] * a.at("lost.knows") + (1 - who[KNOWS]) * a.at("lost.layman"))
    if first in deferred:
        lost = trouble = 0.0  # looking at the pictures costs nothing and wakes nobody
    asking = value - trouble - lost * max(now, 0.0)
    live = stake.p >= PLAUSIBLE
    worst, finest = float(stake.worth[live].min()), float(stake.worth[live].max())
    word = estimate.currency
    if offer.auction:
        do, why = _bid(offer, ceiling, word, asking, first, name)
    elif stake.cost >= float(stake.worth[stake.p >= 0.001].max()):
        do, why = "pass", f"Even the best pressing it can be is worth {word} {rounded(finest)}, no more than the price."
    elif stake.cost <= worst:
        settled = int(live.sum()) == 1
        case = "It is as good as settled what it is: it" if settled else "Even the worst that it is likely to be"
        do, why = "buy", f"{case} is worth {word} {rounded(worst)} to you, no less than the price."
    elif asking > 0 and first is not None:
        odd = f"What the seller says of {_and(name, clashing)} does not fit together. " if clashing else ""
        look = "Look at the pictures for" if first in deferred else "Ask about"
        do, why = (
            "ask",
            f"{odd}{look} {name[first]} before paying: an answer is worth about {word} {rounded(value)} to you.",
        )
    elif now >= 0:
        do, why = (
            "buy",
            f"It is worth {word} {rounded(stake.expected)} to you on average, {word} {rounded(plain)} over the price.",
        )
        if plain < 0:
            why = "It can be sent back, so buying is a look: a wrong copy costs only its way back."
        elif value > 0:
            why += " An answer could still change that, but not by enough to risk losing it."
    else:
        do = "pass"
        why = f"It is worth {word} {rounded(stake.expected)} to you on average, less than the price"
        why += ", and no answer is likely to change that." if value <= trouble else "."
    risk = regret(stake.cost)
    if do == "buy" and not offer.auction and stake.return_cost is None and risk > offer.max_regret:
        notes = (*notes, _gamble(risk, cautious, word))
    crowd = offer.auction and (offer.bidders or 0) >= 3
    bargain = not crowd and stake.expected >= a.at("bargain.at") * stake.cost
    return (
        Advice(
            do=do,
            why=why,
            ceiling=ceiling,
            cautious_ceiling=cautious,
            currency=word,
            expected_gain=money(plain),
            bargain=bargain,
            notes=notes,
        ),
        first,
    )


def _gamble(risk: float, cautious: Decimal, word: str) -> str:
    """That the average is made by the better case, and the more likely thing is a loss."""
    return (
        f"It is a gamble all the same: the chance that it is worth less than you pay is about {100 * risk:.0f} %, and "
        f"the average rests on the better case. If that is too much for you, pay no more than {word} {cautious}, or "
        "ask first."
    )


def _and(name: Mapping[str, str], features: Collection[str]) -> str:
    return " and ".join(name[f] for f in sorted(features))


def _bid(
    offer: Offer, ceiling: Decimal, word: str, asking: float, first: str | None, name: Mapping[str, str]
) -> tuple[Do, str]:
    assert offer.price is not None
    time = offer.hours_left is None or offer.hours_left >= 3
    if asking > 0 and first is not None and time:
        return "ask", f"Ask about {name[first]} before bidding; the answer moves your limit more than anything else."
    if offer.price < ceiling:
        return "buy", f"Bid up to {word} {ceiling} and no further; put it in once, late."
    return "pass", f"The bidding has reached your limit of {word} {ceiling}."


def _notes(offer: Offer, held: float, doubt: float, stake: Stake) -> tuple[str, ...]:
    out = []
    if offer.auction:
        out.append(
            "Who wins an auction is most often the one who overrates the copy most (the winner's curse)."
            + (f" With {offer.bidders} bidders the limit is set {100 * held:.0f} % lower for that." if held else "")
        )
        if offer.bidders is None:
            ten = 100 * curse(10, doubt)
            out.append(
                f"How many bid is not known, so the limit does not allow for it yet: with ten it is {ten:.0f} % lower."
            )
    if stake.return_cost is not None:
        out.append("The seller takes returns: read the terms and what local law adds before you rely on it.")
    return tuple(out)
