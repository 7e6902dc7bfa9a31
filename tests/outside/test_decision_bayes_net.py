"""The posterior against exact inference (variable elimination) on the same network by an independent library, pgmpy.

Random dossiers and random listings; the network is written out there node by node: pressing, seller, the places looked
at, the true and the taken variant of each part, and one binary node a feature ('says just this').
"""

from __future__ import annotations

import logging
from itertools import product
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings

from sayso.judgement.network import SPOKEN, TINY, ZONES, Kind, looked
from tests.judgement.test_network import ASSUMED, heard

models = pytest.importorskip("pgmpy.models")


def posterior(net: Any, said: Any, row: int) -> Any:
    """P(pressing, seller | …) by variable elimination."""
    from pgmpy.factors.discrete import TabularCPD
    from pgmpy.inference import VariableElimination

    from sayso.judgement.network import likelihoods

    logging.getLogger("pgmpy").setLevel(logging.ERROR)
    a = ASSUMED.only(ASSUMED.rows[row : row + 1])
    cell = likelihoods(net, said, a)[0]
    net_class = getattr(models, "DiscreteBayesianNetwork", None) or models.BayesianNetwork
    model = net_class()
    prior = net.copies * np.where(net.first, a.at("survival"), 1.0)
    k_count = len(prior)
    cpds = [TabularCPD("K", k_count, (prior / prior.sum())[:, None])]
    model.add_node("K")
    model.add_node("S")
    cpds.append(TabularCPD("S", 2, [[a.at("knows")], [1 - a.at("knows")]]))
    zones = sorted({z for p in net.parts for z in p.zones})
    for z in zones:
        model.add_edge("S", f"Z{z}")
        yes = np.exp(looked([z], a))[0, :, 1]
        cpds.append(TabularCPD(f"Z{z}", 2, np.stack([1 - yes, yes]), ["S"], [2]))
    evidence = {}
    for i, part in enumerate(net.parts):
        n = len(part.variants)
        pool = net.copies @ part.uses
        uses = part.uses
        if part.movable:
            uses = (1 - a.at("swapped")) * uses + a.at("swapped") * pool[None, :]
        model.add_edge("K", f"V{i}")
        cpds.append(TabularCPD(f"V{i}", n, uses.T, ["K"], [k_count]))
        model.add_edge(f"V{i}", f"R{i}")
        model.add_edge("S", f"R{i}")
        table = np.zeros((n, n * 2))
        for v, s in product(range(n), range(2)):
            e = a.at("misread.knows" if s == 0 else "misread.layman")
            table[:, v * 2 + s] = (1 - e) * np.eye(n)[v] + e * pool
        cpds.append(TabularCPD(f"R{i}", n, table, [f"V{i}", "S"], [n, 2]))
        for j, feature in enumerate(part.features):
            one = said.get(feature)
            spoken = one is not None and one.kind in SPOKEN
            node, z = f"F{i}_{j}", part.zones[j]
            for parent in (f"R{i}", "S", f"Z{z}"):
                model.add_edge(parent, node)
            p = np.zeros((n, 2, 2))
            for v, s, on in product(range(n), range(2), range(2)):
                c = part.cells[v, j]
                shown = 1.0 if c < 0 else cell[s, c]
                p[v, s, on] = shown if on else (TINY if spoken else 1.0)
            flat = p.reshape(-1)
            cpds.append(TabularCPD(node, 2, np.stack([1 - flat, flat]), [f"R{i}", "S", f"Z{z}"], [n, 2, 2]))
            evidence[node] = 1
    model.add_cpds(*cpds)
    found = VariableElimination(model).query(["K", "S"], evidence=evidence, show_progress=False)
    return found.values if found.variables == ["K", "S"] else found.values.T


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(heard())
def test_posterior_equals_variable_elimination(case: tuple[Any, Any]) -> None:
    from sayso.judgement.network import enumerate_all

    net, said = case
    if len({f for p in net.parts for f in p.features}) != sum(len(p.features) for p in net.parts):
        return  # a feature carried by two parts has no single node
    said = {f: s for f, s in said.items() if s.kind is not Kind.EVADED}
    mine = enumerate_all(net, said, ASSUMED).p
    for row in (0, 5):
        assert np.allclose(mine[row], posterior(net, said, row), atol=1e-9)


def test_places_are_numbered_without_gaps() -> None:
    assert sorted(ZONES.values()) == list(range(len(ZONES)))
