"""What answers are worth, against the same worked out by brute force over every case."""

from __future__ import annotations

from itertools import product
from typing import Any

import numpy as np
import pytest

from sayso.judgement import assume
from sayso.judgement.asking import answers, worth_of_answers
from sayso.judgement.dossier import take
from sayso.judgement.network import KNOWS, SPOKEN, TINY, ZONES, Kind, Said, build, enumerate_all, likelihoods, news
from sayso.judgement.value import evpi
from tests.judgement.common import DOSSIER, LEXICON, MARK

ASSUMED = assume.draw(LEXICON.assumptions, spread=False)


def by_hand(net: Any, said: dict[str, Said], feature: str) -> Any:
    """P(pressing, answer) by adding up every pressing, seller, set of places, true and taken variant."""
    a = ASSUMED
    cell = likelihoods(net, said, a)[0]
    good = news(net.g, a)[0]
    names = {v: k for k, v in ZONES.items()}
    places = sorted({z for p in net.parts for z in p.zones})
    own = [i for i, (f, _) in enumerate(net.values) if f == feature]
    out = np.zeros((len(net.ids), len(own) + 1))
    prior = net.copies * np.where(net.first, a.at("survival"), 1.0)
    ways = [list(product(range(len(p.variants)), repeat=2)) for p in net.parts]
    for k, s, looks in product(range(len(net.ids)), range(2), product((0, 1), repeat=len(places))):
        who = "knows" if s == KNOWS else "layman"
        weight = prior[k] / prior.sum() * (a.at("knows") if s == KNOWS else 1 - a.at("knows"))
        for z, on in zip(places, looks, strict=True):
            chance = a.at(f"looks.{names[z]}.{who}")
            weight *= chance if on else 1 - chance
        for way in product(*ways):
            p = weight
            for part, (v, r) in zip(net.parts, way, strict=True):
                pool = net.copies @ part.uses
                q = a.at("swapped") if part.movable else 0.0
                e = a.at(f"misread.{who}")
                p *= (1 - q) * part.uses[k, v] + q * pool[v]
                p *= (1 - e) * (v == r) + e * pool[r]
                for j, f in enumerate(part.features):
                    if looks[places.index(part.zones[j])]:
                        p *= cell[s, part.cells[r, j]]
                    elif f in said and said[f].kind in SPOKEN:
                        p *= TINY
            m = next(i for i, part in enumerate(net.parts) if feature in part.features)
            column = net.parts[m].cells[:, net.parts[m].features.index(feature)]
            for variant, share in ((way[m][0], a.at("relooks")), (way[m][1], 1 - a.at("relooks"))):
                c = column[variant]
                i = own.index(c)
                if s == KNOWS:
                    passes = a.at("evades.bad") + (a.at("evades.good") - a.at("evades.bad")) * good[c]
                    tells, misses = a.at("answers.knows") * (1 - passes), 0.0
                else:
                    missed = 0.0 if net.absent[c] else a.at("misses.asked")
                    tells, misses = a.at("answers.layman") * (1 - missed), a.at("answers.layman") * missed
                out[k, i] += p * share * tells
                gone = [x for x, o in enumerate(own) if net.absent[o]]
                out[k, gone[0] if gone else -1] += p * share * misses
                out[k, -1] += p * share * (1 - tells - misses)
    return out / out.sum()


@pytest.mark.parametrize(
    "said",
    [
        {},
        {"label.design": Said(Kind.FIRM, ("green and gold",)), "deadwax.matrix": Said(Kind.FIRM)},
        {MARK: Said(Kind.HEDGED, ("thistle",)), "label.address": Said(Kind.FIRM, ("900 Corn Quay",))},
        {MARK: Said(Kind.FAILED)},
    ],
)
def test_answers_equal_brute_force(said: dict[str, Said]) -> None:
    net = build(take(DOSSIER), {"first": 300.0, "later": 60.0})
    joint = enumerate_all(net, said, ASSUMED)
    told = answers(net, said, ASSUMED, joint)
    for feature in (MARK, "label.design", "jacket.construction"):
        own = [i for i, (f, _) in enumerate(net.values) if f == feature]
        mine = told[net.features.index(feature)][:, [*range(len(own)), -1]]
        assert mine == pytest.approx(by_hand(net, said, feature), abs=1e-9)


def test_no_answer_is_worth_more_than_certainty() -> None:
    net = build(take(DOSSIER), {"first": 300.0, "later": 60.0})
    joint = enumerate_all(net, {}, ASSUMED)
    for price in (80.0, 150.0, 250.0):
        payoff = np.stack([net.worth - price, np.zeros(2)])
        most = evpi(joint.p[0].sum(axis=1), payoff)
        for found in worth_of_answers(net, {}, ASSUMED, joint, payoff).values():
            assert found.money is not None
            assert 0 <= found.money <= most + 1e-9
            assert 0 <= found.bits <= 1
