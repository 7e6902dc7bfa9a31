"""What an answer on each feature is worth: exact preposterior analysis over the network."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from sayso.judgement.assume import Assumptions
from sayso.judgement.network import (
    KNOWS,
    LAYMAN,
    Group,
    Joint,
    Kind,
    Net,
    Said,
    _fits,
    news,
    shares,
)
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
    one = a.only(a.rows[:1])
    weight = joint.p[0]
    e = np.array([one.at("misread.knows"), one.at("misread.layman")])[:, None, None]
    again = one.at("relooks")
    fresh, seen = np.zeros((2, len(net.ids), 2, len(net.values)))
    for at, group in enumerate(net.groups):
        both = joint.groups[at][0] + joint.looks[at][0][None]
        config = np.exp(both - both.max(axis=2, keepdims=True))
        config = config / config.sum(axis=2, keepdims=True) * weight[:, :, None]  # pressing × seller × configuration
        variant = joint.variants[at][0].transpose(2, 0, 1, 3)
        like = np.exp(variant - variant.max(axis=3, keepdims=True))  # part × seller × configuration × variant
        uses, pool, shown = a.kept(("shown",), group, partial(_shown, group, one, e))
        mean = (like * pool).sum(axis=3, keepdims=True)
        # part × pressing × seller × configuration × variant
        true = uses * ((1 - e) * like + e * mean)[:, None]
        taken = shown * like[:, None]
        scale = (config[None] / np.maximum(true.sum(axis=4), 1e-300))[..., None]
        truly = (true * scale).sum(axis=3)  # part × pressing × seller × variant
        looks = again * truly + (1 - again) * (taken * scale).sum(axis=3)
        shows = group.onto[-1].T  # (part, variant) × feature-value
        for into, what in ((fresh, truly), (seen, looks)):
            into += what.transpose(1, 2, 0, 3).reshape(*weight.shape, -1) @ shows / net.carriers
    right, blind = a.kept(("replies",), net, partial(_replies, net, one))
    by = (seen * right).sum(axis=1) + (seen * blind).sum(axis=1) @ net.to_nothing
    for f, s in said.items():
        if s.kind is Kind.DEFERRED and f in net.columns:
            own = net.feature_of == net.features.index(f)
            by[:, own] = fresh[:, :, own].sum(axis=1) * one.at("pictures.tell")
    padded = np.concatenate([by, np.zeros((len(by), 1))], axis=1)
    told = padded[:, net.asked].transpose(1, 0, 2)  # feature × pressing × answer
    rest = np.maximum(weight.sum(axis=1)[None, :] - told.sum(axis=2), 0.0)
    out: Array = np.concatenate([told, rest[..., None]], axis=2)
    return out


def _shown(group: Group, a: Assumptions, e: Array) -> tuple[Array, Array, Array]:
    """The shares of the variants, over all pressings too, and what he takes them for."""
    uses = shares(group, a)[:, :, None, None, :]
    pool = group.pool[:, None, None, :]
    return uses, pool, (1 - e) * uses + (e * pool)[:, None]


def _replies(net: Net, a: Assumptions) -> tuple[Array, Array]:
    """P(answers rightly | seller, what is there) and P(says that nothing is there | …): seller × feature-value."""
    passes = a.at("evades.bad") + (a.at("evades.good") - a.at("evades.bad")) * news(net.g, a)[0]
    misses = np.where(net.absent, 0.0, a.at("misses.asked"))
    layman = a.at("answers.layman")
    right = np.empty((2, len(net.values)))
    right[KNOWS] = a.at("answers.knows") * (1 - passes)
    right[LAYMAN] = layman * (1 - misses)
    blind = np.zeros_like(right)
    blind[LAYMAN] = layman * misses
    return right, blind


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


def clash(net: Net, said: Mapping[str, Said]) -> frozenset[str]:
    """Features firmly described in ways that no one copy of any pressing can show together."""
    firm: dict[str, NDArray[np.bool_]] = {}
    for part in net.parts:
        for j, f in enumerate(part.features):
            one = said.get(f)
            if one is None or one.kind not in (Kind.FIRM, Kind.DESCRIBED, Kind.DENIED):
                continue
            fits = [c < 0 or _fits(net, c, one) for c in part.cells[:, j].tolist()]
            firm[f] = part.uses @ np.array(fits, dtype=float) > 0
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
