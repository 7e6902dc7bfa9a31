"""What silence is worth, by the disclosure code itself, against the closed form of Dye's model.

R. Dye, 'Disclosure of Nonproprietary Information', J. Accounting Research 23(1), 1985; Jung & Kwon 1988: a seller who
knows the value with chance q tells it when it is above t, and silence is priced at t. For a value uniform on 0-1 (own
calculation) t = (√(1-q) - (1-q)) / q: 4/9 at q = 0.36, 0.4142 at 0.5, 1/3 at 0.75, 1/6 at 0.96.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pytest

from sayso.judgement import assume
from sayso.judgement.assume import Assumptions
from sayso.judgement.dossier import take
from sayso.judgement.network import Net, build, enumerate_all
from sayso.judgement.simulate import draw_copies
from sayso.lexicon import load_lexicon

FEATURE = "label.design"


def graded(values: int) -> Net:
    """As many pressings as values, worth (i + ½)/n each, and one sign that shows which it is."""
    data = {
        "parts": {"sign": {f"v{i}": {FEATURE: f"grade {i}"} for i in range(values)}},
        "pressings": [{"id": f"k{i}", "uses": {"sign": {f"v{i}": 1.0}}} for i in range(values)],
        "counts_as_first": [f"k{values - 1}"],
    }
    return build(take(data), {f"k{i}": (i + 0.5) / values for i in range(values)})


def strict(q: float, most: float = 2000.0) -> Assumptions:
    """The assumptions of the model: who knows tells all good news and no bad news; nobody errs or hedges."""
    fixed: Mapping[str, float] = {
        "knows": q,
        "looks.face.knows": 1.0,
        "looks.face.layman": 0.0,
        "says.good": 1.0,
        "says.bad": 0.0,
        "keen": most,
        "misread.knows": 0.0,
        "misread.layman": 0.0,
        "cannot_tell": 0.0,
        "points.knows": 0.0,
        "points.layman": 0.0,
        "search.knows": 0.0,
        "search.layman": 0.0,
        "denies.bad": 0.0,
        "doubt.knows": 0.0,
        "doubt.layman": 0.0,
        "hearsay": 0.0,
        "describes.knows": 0.0,
        "survival": 1.0,
    }
    known = assume.of(load_lexicon(user=False))
    row = known.rows[:1].copy()
    for name, value in fixed.items():
        row[0, known.names.index(name)] = value
    return known.only(row)


@pytest.mark.parametrize(("q", "closed"), [(0.36, 4 / 9), (0.5, 0.41421), (0.75, 1 / 3), (0.96, 1 / 6)])
def test_silence_is_priced_as_in_dyes_model(q: float, closed: float) -> None:
    assert closed == pytest.approx((np.sqrt(1 - q) - (1 - q)) / q, abs=1e-5)
    net, a = graded(400), strict(q)
    price = 0.5
    for _ in range(200):  # the price of silence at which the seller's threshold and the buyer's price agree
        told = enumerate_all(net.with_reference(price), {}, a)
        after = float(told.p[0].sum(axis=1) @ net.worth)
        if abs(after - price) < 1e-6:
            break
        price = after
    assert price == pytest.approx(closed, abs=0.004)


def test_the_same_by_simulation() -> None:
    q = 0.75
    net, a = graded(60).with_reference(1 / 3), strict(0.75)
    copies = draw_copies(net, a, 4000, np.random.default_rng(5))
    silent = [net.worth[c.pressing] for c in copies if not c.said]
    spoken = [net.worth[c.pressing] for c in copies if c.said]
    assert min(spoken) > 1 / 3 - 0.02
    assert np.mean(silent) == pytest.approx(1 / 3, abs=3 * np.std(silent) / np.sqrt(len(silent)) + 0.01)
    assert all(c.knows for c in copies if c.said)
    assert np.mean([c.knows for c in copies]) == pytest.approx(q, abs=0.03)


def test_unravelling() -> None:
    # Grossman 1981, Milgrom 1981: where everybody is known to know, silence is read as the worst. Four equal values
    # 10/20/30/40 (own illustration): priced at 25, then 15, then 10.
    net, a = graded(4), strict(1.0)
    price, path = 0.5, []
    for _ in range(4):
        told = enumerate_all(net.with_reference(price), {}, a)
        price = float(told.p[0].sum(axis=1) @ net.worth)
        path.append(round(price * 40 + 5))
    assert path[0] == 15
    assert path[-1] == 10
