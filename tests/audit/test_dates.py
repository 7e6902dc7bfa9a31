"""Interval arithmetic at mixed precision, and the rules that stand over it."""

from sayso.audit.dates import Interval, before, clash, earlier, later


def test_compared_at_the_coarser_precision() -> None:
    assert not before("1958", "1958-02-15")
    assert not before("1958-02-15", "1958")
    assert before("1957", "1958-02-15")
    assert before("1958-01", "1958-02-15")
    assert not before("1958-02", "1958-02-15")


def test_open_ends_never_clash() -> None:
    assert not before(None, "1958")
    assert clash((Interval(None, None), Interval("1958"), Interval(None, "1950-01"))) == (2, 1)
    assert clash((Interval("1950"), Interval("1958"))) is None


def test_equal_dates_keep_the_more_precise() -> None:
    assert later("1958", "1958-02-15") == "1958-02-15"
    assert earlier("1958", "1958-02-15") == "1958-02-15"
