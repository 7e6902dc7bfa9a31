"""What an answer on each feature is worth: exact preposterior analysis over the network."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sayso.judgement.assume import Assumptions
from sayso.judgement.network import (
    KNOWS,
    LAYMAN,
    Joint,
    Kind,
    Net,
    Said,
    _fits,
    news,
    shares,
    variant_logs,
)
from sayso.judgement.value import bits, of_outcomes

Array = NDArray[np.float64]


@dataclass(frozen=True)
class AnswerWorth:
    """What an answer on one feature is worth: `money` at the price (null without one), and `bits` on 'first or not'."""

    money: float | None
    bits: float


def answers(net: Net, said: Mapping[str, Said], a: Assumptions, joint: Joint, feature: str) -> Array:
    """P(pressing, answer): the answers are the feature's values in order of the dossier, and last 'no useful answer'.

    At the values of the assumptions themselves (row 0). A seller who does not know errs and fails more often; one who
    knows passes over what would cost him; what was described wrongly is put right by a second look only sometimes.
    Where the seller points at pictures, it is the buyer who looks.
    """
    one = a.only(a.rows[:1])
    index = next(i for i, p in enumerate(net.parts) if feature in p.features)
    part = net.parts[index]
    at = next(i for i, (members, _) in enumerate(net.groups) if index in members)
    places = net.groups[at][1]
    both = joint.groups[at][0] + joint.looks[at][0][None]
    config = np.exp(both - both.max(axis=2, keepdims=True))
    config /= config.sum(axis=2, keepdims=True)
    spoken = {f: s.kind is not Kind.EVADED for f, s in said.items() if s.kind not in (Kind.SILENT, Kind.IGNORED)}
    logs = np.log(joint.cell[:1])
    variant = variant_logs(net, part, places, logs, spoken, None)[0]  # seller × configuration × variant
    like = np.exp(variant - variant.max(axis=2, keepdims=True))
    uses, pool = shares(net, part, one)
    uses = uses[0] if uses.ndim == 3 else uses
    e = np.array([one.at("misread.knows"), one.at("misread.layman")])[None, :, None, None]
    mean = (like @ pool)[None, :, :, None]
    true = uses[:, None, None, :] * ((1 - e) * like[None] + e * mean)
    taken = ((1 - e) * uses[:, None, None, :] + e * pool) * like[None]
    total = np.maximum(true.sum(axis=3, keepdims=True), 1e-300)
    again = one.at("relooks")
    deferred = said.get(feature, Said(Kind.SILENT)).kind is Kind.DEFERRED
    if deferred:
        again = 1.0
    seen = ((again * true + (1 - again) * taken) / total * config[..., None]).sum(axis=2)  # pressing × seller × variant
    column = part.cells[:, part.features.index(feature)]
    values = [c for c in dict.fromkeys(column.tolist()) if c >= 0]
    reply = _reply(net, one, values, deferred)
    by_value = np.stack([seen[:, :, column == c].sum(axis=2) for c in values], axis=2)
    lost = np.maximum(1 - by_value.sum(axis=2), 0.0)  # variants that show nothing known of the feature
    weight = joint.p[0]
    out: Array = np.einsum("ks,ksx,sxa->ka", weight, by_value, reply)
    out[:, -1] += (weight * lost).sum(axis=1)
    return out


def _reply(net: Net, a: Assumptions, values: list[int], pictures: bool) -> Array:
    """P(answer | seller, what is there to be seen): seller × value × (values, no answer)."""
    n = len(values)
    out = np.zeros((2, n, n + 1))
    good = news(net.g, a)[0]
    gone = [i for i, c in enumerate(values) if net.absent[c]]
    misses = a.at("misses.asked")
    for i, c in enumerate(values):
        if pictures:
            out[:, i, i] = a.at("pictures.tell")
            out[:, i, n] = 1 - a.at("pictures.tell")
            continue
        passes = a.at("evades.bad") + (a.at("evades.good") - a.at("evades.bad")) * good[c]
        out[KNOWS, i, i] = a.at("answers.knows") * (1 - passes)
        out[LAYMAN, i, i] = a.at("answers.layman")
        if not net.absent[c]:
            out[LAYMAN, i, i] *= 1 - misses
            if gone:
                out[LAYMAN, i, gone[0]] += a.at("answers.layman") * misses
        out[:, i, n] = 1 - out[:, i, :n].sum(axis=1)
    return out


def worth_of_answers(
    net: Net, said: Mapping[str, Said], a: Assumptions, joint: Joint, payoff: Array | None
) -> dict[str, AnswerWorth]:
    """For each feature that differs between the pressings. `payoff` is act × pressing, in money, or null. Pure."""
    out: dict[str, AnswerWorth] = {}
    for feature in net.features:
        if not net.tells[feature]:
            continue
        table = answers(net, said, a, joint, feature)
        halves = np.stack([table[net.first].sum(axis=0), table[~net.first].sum(axis=0)])
        out[feature] = AnswerWorth(None if payoff is None else of_outcomes(table, payoff), bits(halves))
    return out


def clash(net: Net, said: Mapping[str, Said]) -> frozenset[str]:
    """Features firmly described in ways that no one copy of any pressing can show together."""
    firm: dict[str, NDArray[np.bool_]] = {}
    for part in net.parts:
        for j, f in enumerate(part.features):
            one = said.get(f)
            if one is None or one.kind not in (Kind.FIRM, Kind.DESCRIBED, Kind.DENIED):
                continue
            fits = np.array([c < 0 or _fits(net, int(c), one) for c in part.cells[:, j]])
            firm[f] = part.uses[:, fits].sum(axis=1) > 0
    return frozenset(
        f for f, mine in firm.items() if any(not (mine & other).any() for g, other in firm.items() if g != f)
    )


def first_to_ask(
    net: Net, worths: Mapping[str, AnswerWorth], least: float, clashing: frozenset[str] = frozenset()
) -> str | None:
    """The feature to ask for first; null where no answer is worth more than `least` (money, else bits).

    The sign that settles it goes before another of nearly the same worth: its answer ends the matter. Where the
    seller's own details do not fit together (`clashing`), the second look at one of them comes first.
    """
    decides = {d.feature for d in net.dossier.decides}
    if clashing and any((w.bits if w.money is None else w.money) > least for w in worths.values()):
        return next((f for f in net.features if f in clashing and f in decides), min(clashing))

    def rank(feature: str) -> float:
        w = worths[feature]
        amount = w.bits if w.money is None else w.money
        return amount * (1.75 if feature in decides else 1.0)

    if not worths:
        return None
    best = max(worths, key=rank)
    w = worths[best]
    return best if (w.bits if w.money is None else w.money) > least else None
