"""Sellers and copies drawn from the model itself: to check that stated odds are kept, and what silence is worth.

The chances of each statement come from `network.likelihoods`, the code that the odds are worked out with.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sayso.judgement.assume import Assumptions
from sayso.judgement.network import LAYMAN, ZONES, Kind, Net, Said, likelihoods

Array = NDArray[np.float64]


def alphabet(net: Net, feature: str) -> tuple[Said, ...]:
    """All that can be said of one feature when nobody has asked; silence first."""
    i = net.features.index(feature)
    there = [
        v
        for (_, v), f, gone in zip(net.values, net.feature_of.tolist(), net.absent.tolist(), strict=True)
        if f == i and not gone
    ]
    nothing = any(net.absent[c] for c in np.flatnonzero(net.feature_of == i))
    out = [Said(Kind.SILENT), Said(Kind.DEFERRED), Said(Kind.UNKNOWN), Said(Kind.FAILED), Said(Kind.DENIED)]
    for v in there:
        out += [Said(k, (v,)) for k in (Kind.FIRM, Kind.HEDGED, Kind.DESCRIBED, Kind.HEARSAY)]
        if len(there) > 1 and not nothing:  # else it overlaps with the denial of any mark
            out.append(Said(Kind.DENIED, (v,)))
    return tuple(out)


def table(net: Net, a: Assumptions, feature: str) -> tuple[tuple[Said, ...], Array]:
    """The alphabet, and P(statement | seller, value) at row 0: statement × seller × feature-value, not yet normalised.

    Only the columns of the feature's own values mean anything.
    """
    words = alphabet(net, feature)
    one = a.only(a.rows[:1])
    return words, np.stack([likelihoods(net, {feature: w}, one)[0] for w in words])


@dataclass(frozen=True)
class Copy:
    """One copy and its seller: the true pressing, whether he knows the trade, what he says."""

    pressing: int
    knows: bool
    said: dict[str, Said]


def draw_copies(net: Net, a: Assumptions, n: int, rng: np.random.Generator) -> list[Copy]:
    """`n` copies by the model at row 0 of the assumptions. Same generator, same copies."""
    tables = {f: table(net, a, f) for f in net.features}
    prior = net.copies * np.where(net.first, a.at("survival"), 1.0)
    prior = prior / prior.sum()
    names = {v: k for k, v in ZONES.items()}
    out = []
    for _ in range(n):
        k = int(rng.choice(len(prior), p=prior))
        s = int(rng.random() >= a.at("knows"))
        who = "layman" if s == LAYMAN else "knows"
        places = sorted({z for p in net.parts for z in p.zones})
        looks = {z: rng.random() < a.at(f"looks.{names[z]}.{who}") for z in places}
        said: dict[str, Said] = {}
        for part in net.parts:
            pool = net.copies @ part.uses
            uses = part.uses[k]
            if part.movable and rng.random() < a.at("swapped"):
                uses = pool
            v = int(rng.choice(len(uses), p=uses))
            if rng.random() < a.at(f"misread.{who}"):
                v = int(rng.choice(len(pool), p=pool))
            for j, feature in enumerate(part.features):
                cell = int(part.cells[v, j])
                if cell < 0 or not looks[part.zones[j]]:
                    continue
                words, chances = tables[feature]
                p = chances[:, s, cell]
                one = words[_pick(p / p.sum(), rng)]
                if one.kind is not Kind.SILENT:
                    said[feature] = one
        out.append(Copy(k, s != LAYMAN, said))
    return out


def _pick(p: Array, rng: np.random.Generator) -> int:
    return min(int(np.searchsorted(np.cumsum(p), float(rng.random()))), len(p) - 1)


def reliability(stated: Sequence[float], true: Sequence[bool], bins: int = 10) -> list[tuple[float, float, int]]:
    """(mean stated chance, share that came true, how many) for each bin of stated chances that holds any."""
    p, y = np.asarray(stated, dtype=float), np.asarray(true, dtype=float)
    at = np.minimum((p * bins).astype(int), bins - 1)
    out = []
    for b in range(bins):
        inside = at == b
        if inside.any():
            out.append((float(p[inside].mean()), float(y[inside].mean()), int(inside.sum())))
    return out


def brier(stated: Sequence[float], true: Sequence[bool]) -> float:
    """Mean squared error of stated chances (Brier 1950); 0 is perfect, 0.25 a coin."""
    p, y = np.asarray(stated, dtype=float), np.asarray(true, dtype=float)
    return float(((p - y) ** 2).mean())
