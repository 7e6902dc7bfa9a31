"""What an answer on each feature is worth: exact preposterior analysis over the network."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from sayso.judgement.assume import Assumptions
from sayso.judgement.network import KNOWS, LAYMAN, Joint, Kind, Net, Said, fits, news
from sayso.judgement.value import bits, of_outcomes

Array = NDArray[np.float64]


@dataclass(frozen=True)
class AnswerWorth:
    """What an answer on one feature is worth: `money` at the price (null without one), and `bits` on 'first or not'."""

    money: float | None
    bits: float


def answers(net: Net, said: Mapping[str, Said], a: Assumptions, joint: Joint) -> Array:
    """P(pressing, answer): feature × pressing × answer, its values (`net.asked`) and last 'no useful answer'.

    At the values of the assumptions themselves (row 0). A seller who does not know errs and fails more often; one who
    knows passes over what would cost him; what was described wrongly is put right by a second look only sometimes.
    Where the seller points at pictures, it is the buyer who looks.
    """
    its = net.looks
    uses, pool, shown, e = a.kept(("shown",), net, partial(_shown, net, a))
    like = np.ones((len(its.uses), 2, its.width))  # where nothing was looked at nothing tells the variants apart
    like[: len(joint.like)] = joint.like.transpose(0, 2, 1)
    # look × seller × pressing: how likely each part was looked at in each way
    held = np.tensordot(its.made_of, joint.viewed * joint.now, (0, 0)).transpose(0, 2, 1)
    # look × seller × pressing × variant
    true = uses * ((1 - e) * like + e * (like * pool).sum(axis=2, keepdims=True))[:, :, None]
    scale = (held / np.maximum(true.sum(axis=3), 1e-300))[..., None]
    again = a.at("relooks")
    truly = _by_value(true * scale, its.shows)
    taken = _by_value(shown * like[:, :, None] * scale, its.shows)
    seen = again * truly + (1 - again) * taken
    right, blind = a.kept(("replies",), net, partial(_replies, net, a))
    by = (seen * right[:, None]).sum(axis=0) + (seen[LAYMAN] * blind) @ net.to_nothing
    for f, s in said.items():
        if s.kind is Kind.DEFERRED and f in net.columns:
            own = net.cells_of[f]
            by[:, own] = truly[:, :, own].sum(axis=0) * a.at("pictures.tell")
    padded = np.concatenate([by, np.zeros((len(by), 1))], axis=1)
    told = padded[:, net.asked].transpose(1, 0, 2)  # feature × pressing × answer
    rest = np.maximum(joint.now.sum(axis=1)[None, :] - told.sum(axis=2), 0.0)
    out: Array = np.concatenate([told, rest[..., None]], axis=2)
    return out


def _by_value(chances: Array, shows: Array) -> Array:
    """From look × seller × pressing × variant to seller × pressing × feature-value."""
    out: Array = chances.transpose(1, 2, 0, 3).reshape(*chances.shape[1:3], -1) @ shows
    return out


def _shown(net: Net, a: Assumptions) -> tuple[Array, Array, Array, Array]:
    """At row 0: the shares of the variants (swapped jackets allowed for), over all pressings too, what he takes them
    for, and how often he mistakes them. Look × seller × pressing × variant, the second without pressing."""
    its = net.looks
    q = (its.movable * a.at("swapped"))[:, None, None]
    uses = ((1 - q) * its.uses + q * its.pool[:, None])[:, None]
    pool = its.pool[:, None]
    e = np.array([a.at("misread.knows"), a.at("misread.layman")])[:, None]
    return uses, pool, (1 - e[..., None]) * uses + e[..., None] * pool[:, :, None], e


def _replies(net: Net, a: Assumptions) -> tuple[Array, Array]:
    """At row 0: P(answers rightly | seller, what is there), seller × feature-value, and P(a layman says that nothing is
    there | what is there)."""
    good = news(net.g, a.only(a.rows[:1]))[0]
    passes = a.at("evades.bad") + (a.at("evades.good") - a.at("evades.bad")) * good
    misses = np.where(net.absent, 0.0, a.at("misses.asked"))
    layman = a.at("answers.layman")
    right = np.empty((2, len(net.values)))
    right[KNOWS] = a.at("answers.knows") * (1 - passes)
    right[LAYMAN] = layman * (1 - misses)
    return right, layman * misses


def worth_of_answers(
    net: Net, said: Mapping[str, Said], a: Assumptions, joint: Joint, payoff: Array | None
) -> dict[str, AnswerWorth]:
    """For each feature that differs between the pressings. `payoff` is act × pressing, in money, or null. Pure."""
    kept = [i for i, f in enumerate(net.features) if net.tells[f]]
    if not kept:
        return {}
    every = answers(net, said, a, joint)[kept]
    halves = np.stack([every[:, net.first].sum(axis=1), every[:, ~net.first].sum(axis=1)], axis=1)
    told = bits(halves).tolist()
    money = [None] * len(kept) if payoff is None else of_outcomes(every, payoff).tolist()
    return {net.features[i]: AnswerWorth(m, b) for i, m, b in zip(kept, money, told, strict=True)}


_DESCRIBES = (Kind.FIRM, Kind.DESCRIBED, Kind.DENIED)


def clash(net: Net, said: Mapping[str, Said]) -> frozenset[str]:
    """Features firmly described in ways that no one copy of any pressing can show together."""
    firm: dict[str, NDArray[np.bool_]] = {}
    for f, one in said.items():
        if one.kind in _DESCRIBES and f in net.columns:
            firm[f] = net.columns[f] @ np.array([*fits(net, f, one), True], dtype=float) > 0
    if len(firm) < 2:
        return frozenset()
    able = np.stack(list(firm.values())).astype(float)
    return frozenset(f for f, never in zip(firm, (able @ able.T == 0).any(axis=1).tolist(), strict=True) if never)


def first_to_ask(
    net: Net,
    worths: Mapping[str, AnswerWorth],
    least: float,
    clashing: frozenset[str] = frozenset(),
    decider: float = 1.0,
) -> str | None:
    """The feature to ask for first; null where no answer is worth more than `least` (money, else bits).

    The sign that settles it goes before another of nearly the same worth (`decider` times): its answer ends the matter.
    Where the
    seller's own details do not fit together (`clashing`), the second look at one of them comes first.
    """
    decides = {d.feature for d in net.dossier.decides}
    if clashing and any((w.bits if w.money is None else w.money) > least for w in worths.values()):
        return next((f for f in net.features if f in clashing and f in decides), min(clashing))

    def rank(feature: str) -> float:
        w = worths[feature]
        amount = w.bits if w.money is None else w.money
        return amount * (decider if feature in decides else 1.0)

    if not worths:
        return None
    best = max(worths, key=rank)
    w = worths[best]
    return best if (w.bits if w.money is None else w.money) > least else None
