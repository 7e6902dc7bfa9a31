"""Interval arithmetic against `portion` (A. Decan, LGPL, PyPI), a reference library; whole days only."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sayso.audit.dates import Interval, clash

P = pytest.importorskip("portion")
DAYS = st.one_of(st.none(), st.dates(date(1940, 1, 1), date(2030, 12, 31)))


def _reference(low: date | None, high: date | None):
    return P.closed(low or -P.inf, high or P.inf)


@given(st.lists(st.tuples(DAYS, DAYS), min_size=1, max_size=6))
def test_intersection_agrees(pairs: list[tuple[date | None, date | None]]) -> None:
    pairs = [(a, b) if not a or not b or a <= b else (b, a) for a, b in pairs]
    ours, theirs = Interval(), P.closed(-P.inf, P.inf)
    for a, b in pairs:
        ours = ours.meet(Interval(a and a.isoformat(), b and b.isoformat()))
        theirs = theirs & _reference(a, b)
    assert ours.empty == theirs.empty
    if not theirs.empty:
        assert ours.low == (None if theirs.lower == -P.inf else theirs.lower.isoformat())
        assert ours.high == (None if theirs.upper == P.inf else theirs.upper.isoformat())


@given(st.lists(st.tuples(DAYS, DAYS), min_size=2, max_size=6))
def test_a_pair_explains_every_empty_intersection(pairs: list[tuple[date | None, date | None]]) -> None:
    pairs = [(a, b) if not a or not b or a <= b else (b, a) for a, b in pairs]
    found = clash(tuple(Interval(a and a.isoformat(), b and b.isoformat()) for a, b in pairs))
    whole = P.closed(-P.inf, P.inf)
    for a, b in pairs:
        whole = whole & _reference(a, b)
    assert (found is not None) == whole.empty
    if found:
        one, two = (_reference(*pairs[n]) for n in found)
        assert (one & two).empty


def test_years_and_months_are_their_days() -> None:
    """A year is all its days: the ISO 8601 reading of reduced precision, by the calendar of the standard library."""
    first = date(1958, 1, 1)
    for n in range(365):
        day = (first + timedelta(n)).isoformat()
        assert not Interval(day, "1958").empty
        assert not Interval("1958", day).empty
    assert Interval("1959-01-01", "1958").empty
