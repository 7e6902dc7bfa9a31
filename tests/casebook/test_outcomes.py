"""What was predicted against what arrived, checked against scikit-learn and SciPy."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sayso.casebook.book import Case, Event
from sayso.casebook.outcomes import (
    FEW,
    Outcome,
    outcomes_of,
    overlay,
    posterior,
    prior,
    proposals,
    record_of,
    student,
    wilson,
)
from sayso.lexicon import Lexicon, load_lexicon
from sayso.report.conversation import outcomes_text
from tests.casebook.sample import audit

LEXICON = load_lexicon(user=False)
PAIRS = st.lists(st.tuples(st.floats(0, 1), st.booleans()), min_size=1, max_size=60)


def outcomes(pairs: list[tuple[float, bool]]) -> list[Outcome]:
    return [Outcome(case=n, predicted=p, first=y) for n, (p, y) in enumerate(pairs)]


@settings(max_examples=60, deadline=None)
@given(PAIRS)
def test_the_brier_score_is_that_of_scikit_learn(pairs: list[tuple[float, bool]]) -> None:
    metrics = pytest.importorskip("sklearn.metrics")
    record = record_of(outcomes(pairs))
    theirs = metrics.brier_score_loss([y for _, y in pairs], [p for p, _ in pairs], labels=[False, True])
    assert record.brier == pytest.approx(theirs, abs=1e-12)
    assert sum(b.count for b in record.bins) == len(pairs)
    if record.brier_low is not None and record.brier_high is not None and record.brier is not None:
        assert 0 <= record.brier_low <= record.brier <= record.brier_high <= 1


@pytest.mark.parametrize(("hits", "trials"), [(0, 1), (1, 1), (0, 10), (3, 10), (10, 10), (47, 60)])
def test_the_interval_of_a_share_is_wilsons(hits: int, trials: int) -> None:
    stats = pytest.importorskip("scipy.stats")
    theirs = stats.binomtest(hits, trials).proportion_ci(0.95, method="wilson")
    assert wilson(hits, trials) == pytest.approx((theirs.low, theirs.high), abs=1e-6)


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 5, 9, 30, 200])
def test_students_t(freedom: int) -> None:
    stats = pytest.importorskip("scipy.stats")
    assert student(freedom) == pytest.approx(stats.t.ppf(0.975, freedom), rel=0.01)


def test_the_beta_binomial_update_of_a_textbook() -> None:
    """Gelman et al., Bayesian Data Analysis, 2.4: 437 girls of 980 births with a prior mean of 0.485 worth few births
    give a posterior mean near 0.446 and a 95 % range near (0.415, 0.477). From memory; the range is checked with SciPy.
    """
    stats = pytest.importorskip("scipy.stats")
    mean, low, high = posterior(0.485, 0.0, 1.0, 437, 980)
    a, b = prior(0.485, 0.0, 1.0)
    theirs = stats.beta(a + 437, b + 543)
    assert mean == pytest.approx(0.446, abs=0.002)
    assert (low, high) == pytest.approx((theirs.ppf(0.025), theirs.ppf(0.975)), abs=0.002)


@given(st.floats(0.05, 0.95), st.floats(0.01, 0.2), st.integers(0, 50), st.integers(0, 50))
def test_the_update_lies_between_what_was_assumed_and_what_was_counted(
    value: float, width: float, hits: int, more: int
) -> None:
    low, high = max(0.0, value - width), min(1.0, value + width)
    mean, a, b = posterior(value, low, high, hits, hits + more)
    assert a < mean < b
    if hits + more:
        share = hits / (hits + more)
        assert min(value, share) - 1e-9 <= mean <= max(value, share) + 1e-9


def a_case(number: int, p: float, result: str, *, first: bool | None) -> Case:
    made = audit(p=p).model_dump(mode="json", by_alias=True)
    promise = {
        "quote": "x",
        "date": "d",
        "source": "listing",
        "polarity": "present",
        "certainty": "certain",
        "stands": True,
    }
    judged = [{"check": {"zone": "dead wax", "promises": [promise]}, "result": result}]
    told = {"per_question": [{"outcome": "answered"}, {"outcome": "dodged"}], "audit": made}
    return Case(
        id=number,
        uid=str(number),
        name="n",
        opened="o",
        events=(
            Event(at="1", kind="listing", body={"audit": audit(p=0.5).model_dump(mode="json", by_alias=True)}),
            Event(at="2", kind="reply", body={"text": "", "reply": told}),
            Event(at="3", kind="arrival", body={"judged": judged, "first": first}),
        ),
    )


def test_the_last_odds_before_the_parcel_count() -> None:
    cases = [a_case(1, 0.9, "as described", first=True), a_case(2, 0.2, "as described", first=None)]
    assert outcomes_of(cases) == [Outcome(case=1, predicted=0.9, first=True)]


def test_few_outcomes_are_said_to_be_few_before_any_figure() -> None:
    few = record_of(outcomes([(0.9, True)] * (FEW - 1)))
    shown = outcomes_text(few, (), LEXICON, few=FEW, path="p")
    assert shown.index("far too few") < shown.index("Brier")
    many = record_of(outcomes([(0.9, True)] * FEW))
    assert "far too few" not in outcomes_text(many, (), LEXICON, few=FEW, path="p")
    assert "No outcome yet" in outcomes_text(record_of([]), (), LEXICON, few=FEW, path="p")


def test_proposals_count_what_was_checked_and_move_towards_it(tmp_path: Path) -> None:
    cases = [a_case(n, 0.8, "not as described" if n < 3 else "as described", first=None) for n in range(12)]
    found = {p.id: p for p in proposals(cases, LEXICON)}
    untrue = found["misread.knows"]
    assert (untrue.hits, untrue.trials) == (3, 12)
    assert untrue.now < untrue.proposed < 0.25
    assert (found["answers.knows"].hits, found["answers.knows"].trials) == (12, 24)
    assert found["answers.knows"].proposed < found["answers.knows"].now
    assert "answers.layman" not in found
    path = tmp_path / "own.toml"
    path.write_text(overlay(found.values()), encoding="utf-8")
    after = Lexicon((path,)).assumptions["misread.knows"]
    assert after.value == pytest.approx(untrue.proposed, abs=1e-4)
    assert after.low <= after.value <= after.high


def test_one_case_is_not_enough_to_apply_anything() -> None:
    assert not any(p.enough for p in proposals([a_case(1, 0.8, "as described", first=True)], LEXICON))
