"""Properties of the network that hold for any dossier and any listing."""

from __future__ import annotations

import json
from math import isclose
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sayso.judgement import Offer, assume, judge
from sayso.judgement.answers import audited
from sayso.judgement.dossier import take
from sayso.judgement.network import build, enumerate_all
from sayso.judgement.simulate import alphabet, brier, draw_copies, reliability, table
from sayso.lexicon.load import Lexicon
from sayso.model import Listing
from tests.judgement.common import DOSSIER, EXPERT, LABEL, LEXICON, MARK, claim, p, say

ASSUMED = assume.of(LEXICON)
PLACES = ("label", "deadwax", "jacket", "edition", "inner", "disc")


@st.composite
def dossiers(draw: st.DrawFn) -> dict[str, Any]:
    """Any dossier of two to four pressings and one to four parts; parts may lie across places."""
    n = draw(st.integers(2, 4))
    parts: dict[str, Any] = {}
    for i in range(draw(st.integers(1, 4))):
        names = [f"{draw(st.sampled_from(PLACES))}.f{i}{j}" for j in range(draw(st.integers(1, 3)))]
        parts[f"p{i}"] = {
            f"v{v}": {f: draw(st.sampled_from(["none", f"{f} x", f"{f} y"])) for f in names}
            for v in range(draw(st.integers(1, 3)))
        }
    pressings = []
    for k in range(n):
        uses = {}
        for name, variants in parts.items():
            weights = [draw(st.integers(0, 4)) for _ in variants]
            weights[draw(st.integers(0, len(weights) - 1))] += 1
            uses[name] = {v: w / sum(weights) for v, w in zip(variants, weights, strict=True)}
        pressings.append({"id": f"k{k}", "copies": draw(st.integers(1, 50)), "uses": uses})
    return {"parts": parts, "pressings": pressings, "counts_as_first": ["k0"]}


@st.composite
def heard(draw: st.DrawFn) -> tuple[Any, Any]:
    net = build(take(draw(dossiers())))
    return net, {f: draw(st.sampled_from(alphabet(net, f))) for f in net.features if draw(st.booleans())}


@settings(max_examples=60, deadline=None)
@given(heard())
def test_a_posterior_is_a_probability_under_every_set_of_assumptions(case: tuple[Any, Any]) -> None:
    net, said = case
    found = enumerate_all(net, said, ASSUMED).p
    assert np.isfinite(found).all()
    assert (found >= 0).all()
    assert np.allclose(found.sum(axis=(1, 2)), 1)


@settings(max_examples=30, deadline=None)
@given(heard())
def test_the_order_of_pressings_and_parts_changes_nothing(case: tuple[Any, Any]) -> None:
    net, said = case
    d = net.dossier
    turned = d.model_copy(update={"pressings": d.pressings[::-1], "parts": dict(reversed(d.parts.items()))})
    one = enumerate_all(net, said, ASSUMED).p.sum(axis=2)
    other = enumerate_all(build(turned), said, ASSUMED).p.sum(axis=2)
    assert np.allclose(one, other[:, ::-1], atol=1e-12)


@settings(max_examples=30, deadline=None)
@given(dossiers())
def test_all_that_can_be_said_of_a_feature_adds_up_to_one(data: dict[str, Any]) -> None:
    net = build(take(data))
    for feature in net.features:
        _, chances = table(net, ASSUMED, feature)
        own = [i for i in range(len(net.values)) if net.features[net.feature_of[i]] == feature]
        total = chances[:, :, own].sum(axis=0)
        # Where 'nothing there' and two marks are known, denying one of them is not told apart from denying both.
        assert total.min() > 0.8
        assert total.max() < 1 + 1e-6
        if all(net.absent[i] == net.absent[own[0]] for i in own) or sum(not net.absent[i] for i in own) <= 1:
            assert np.allclose(total, 1, atol=1e-6)


def test_what_moved_the_odds_adds_up_exactly() -> None:
    for found in (
        say(EXPERT, knows=True, price=200),
        say(LABEL, claim(MARK, "thistle", certainty="hedged"), claim("edition.original"), price=150),
        say({"label.design": "white"}, deferred=(MARK,), price=10),
    ):
        odds = found.odds
        assert odds is not None
        total = sum(m.log_odds for m in odds.moved_by)
        assert isclose(total, np.log(odds.p_first / (1 - odds.p_first)), abs_tol=1e-9)
        assert isclose(sum(x.p for x in odds.pressings), 1, abs_tol=1e-12)
        assert odds.p_first_low <= odds.p_first <= odds.p_first_high
        assert odds.p_first_low < odds.p_first_high
        assert odds.most_sensitive is not None
        assert odds.most_sensitive_id in LEXICON.assumptions
        assert odds.most_sensitive_id not in odds.most_sensitive, "words for a buyer, not the name in a file"


def test_the_same_listing_gets_the_same_answer() -> None:
    assert say(EXPERT, price=200) == say(EXPERT, price=200)


def test_a_changed_assumption_is_seen_in_the_answer() -> None:
    trusting = {**DOSSIER, "assume": {"says.good": (0.3, 0.2, 0.4), "says.bad": (0.3, 0.2, 0.3)}}
    assert p(EXPERT, knows=True, dossier=trusting) > p(EXPERT, knows=True) + 0.15


def test_stated_odds_are_kept_by_sellers_drawn_from_the_model() -> None:
    net = build(take(DOSSIER))
    point = ASSUMED.only(ASSUMED.rows[:1])
    copies = draw_copies(net, point, 1500, np.random.default_rng(7))
    stated = [float(enumerate_all(net, c.said, point).p[0, net.first].sum()) for c in copies]
    true = [bool(net.first[c.pressing]) for c in copies]
    for mean, share, n in reliability(stated, true, 8):
        assert abs(mean - share) < 4 * np.sqrt(max(mean * (1 - mean), 0.01) / n) + 0.02
    base = sum(true) / len(true)
    assert brier(stated, true) < 0.8 * base * (1 - base)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.floats(0, 1), st.booleans()), min_size=1, max_size=50))
def test_reliability_counts_everybody_once(rows: list[tuple[float, bool]]) -> None:
    assert sum(n for _, _, n in reliability([x for x, _ in rows], [y for _, y in rows])) == len(rows)


@pytest.mark.parametrize("feature", ["label.design", "deadwax.plant_mark"])
def test_an_answer_is_never_worth_less_than_nothing(feature: str) -> None:
    for price in (30, 90, 150, 250, 400):
        assert say(EXPERT, price=price).values[feature][0] >= 0


def test_the_sets_of_assumptions_are_balanced() -> None:
    # Plackett & Burman, Biometrika 33 (1946): in a Hadamard design every two columns are orthogonal, so main effects do
    # not mix. The levels have the mean and the standard deviation of a uniform number, (high - low) / √12.
    known = LEXICON.assumptions
    moved = [i for i, n in enumerate(ASSUMED.names) if known[n].of == "odds"]
    sets = ASSUMED.rows[1:, moved]
    centred = sets - sets.mean(axis=0)
    scaled = centred / np.linalg.norm(centred, axis=0)
    assert np.allclose(scaled.T @ scaled, np.eye(len(moved)), atol=1e-9)
    for i, column in zip(moved, sets.T, strict=True):
        row = known[ASSUMED.names[i]]
        assert column.mean() == pytest.approx((row.low + row.high) / 2)
        assert column.std() == pytest.approx((row.high - row.low) / 12**0.5)
        assert row.low <= column.min() < column.max() <= row.high


def test_the_assumption_that_moves_it_most_is_found() -> None:
    # Widening one range far beyond its fellows must make it the one that is named.
    wide = {**DOSSIER, "assume": {"survival": (1.0, 0.05, 5.0)}}
    odds = say({"label.design": "green and gold"}, knows=False, dossier=wide).odds
    assert odds is not None
    assert odds.most_sensitive_id == "survival"
    assert (odds.most_sensitive or "").startswith(LEXICON.assumptions["survival"].what)


def test_a_reader_who_distrusts_an_assumption_changes_it_in_a_file_of_his_own(tmp_path: Path) -> None:
    own = tmp_path / "own.toml"
    own.write_text(
        '[[assumption]]\nid = "says.good"\nvalue = 0.3\nlow = 0.2\nhigh = 0.4\nwhat = "how often good news is told"\n'
        'why = "I have met other sellers."\n',
        encoding="utf-8",
    )
    changed = Lexicon((own,))
    claims = [claim(f, v) for f, v in EXPERT.items()]
    one, other = (judge(claims, (), Listing(text=""), DOSSIER, Offer(), x).odds for x in (LEXICON, changed))
    assert one is not None
    assert other is not None
    assert other.p_first > one.p_first + 0.1


CORPORA = Path(__file__).parents[1] / "corpus"


@pytest.mark.parametrize("name", ["decisions.jsonl", "decisions_own.jsonl"])
def test_on_real_listings_what_moved_the_odds_adds_up_exactly(name: str, tmp_path: Path) -> None:
    """Whole texts of the corpora, read by the program: the steps add up to the log-odds of the chance that is told."""
    told = 0
    for line in (CORPORA / name).read_text(encoding="utf-8").splitlines():
        row = json.loads(line)
        if "dossier" not in row:
            continue
        own = tmp_path / f"{row['id']}.json"
        own.write_text(json.dumps({"label": [row["dossier"]]}), encoding="utf-8")
        lexicon = Lexicon((own,))
        dossier = next(x for x in reversed(lexicon.labels.values()) if x.pressings)
        for variant in row["variants"]:
            odds = audited(row, variant, lexicon, dossier).odds
            assert odds is not None
            total = sum(m.log_odds for m in odds.moved_by)
            others = sum(x.p for x in odds.pressings if not x.first)
            assert total == pytest.approx(np.log(odds.p_first) - np.log(others), abs=1e-9)
            assert odds.moved_by[0].what == "base rate"
            told += 1
    assert told > 20
