"""Dates as they are known: a year, a month or a day; and intervals of them, open where nothing is known.

Two dates are compared at the coarser of their precisions: '1958' never contradicts 15 February 1958.
"""

from __future__ import annotations

from dataclasses import dataclass


def coarse(a: str, b: str) -> tuple[str, str]:
    """Both dates cut to the coarser precision, so that they compare as text."""
    n = min(len(a), len(b))
    return a[:n], b[:n]


def before(a: str | None, b: str | None) -> bool:
    """Whether `a` lies certainly before `b`; never where either is open."""
    if not a or not b:
        return False
    x, y = coarse(a, b)
    return x < y


def later(a: str | None, b: str | None) -> str | None:
    """The later of two floors; of equal ones the more precise. Open counts as none."""
    if not a or not b:
        return a or b
    x, y = coarse(a, b)
    return (a if x > y else b) if x != y else max(a, b, key=len)


def earlier(a: str | None, b: str | None) -> str | None:
    """The earlier of two ceilings; of equal ones the more precise."""
    if not a or not b:
        return a or b
    x, y = coarse(a, b)
    return (a if x < y else b) if x != y else max(a, b, key=len)


@dataclass(frozen=True)
class Interval:
    """Dates from `low` to `high`, both inclusive at their own precision; null: open."""

    low: str | None = None
    high: str | None = None

    def meet(self, other: Interval) -> Interval:
        """What both allow; it may be empty."""
        return Interval(later(self.low, other.low), earlier(self.high, other.high))

    @property
    def empty(self) -> bool:
        """Whether nothing lies in it, at the precision known."""
        return before(self.high, self.low)


def clash(intervals: tuple[Interval, ...]) -> tuple[int, int] | None:
    """The pair of intervals that proves there is no common date: the earliest end and the latest start.

    On a line, intervals have a common point exactly when every two of them have one; null where they all meet.
    """
    ends: dict[str, int] = {}
    starts: dict[str, int] = {}
    for n, interval in enumerate(intervals):  # the first of those that say the same
        if interval.high:
            ends.setdefault(interval.high, n)
        if interval.low:
            starts.setdefault(interval.low, n)
    found = [(n, m, e, s) for e, n in ends.items() for s, m in starts.items() if before(e, s)]
    if not found:
        return None
    n, m, _, _ = min(found, key=lambda x: (x[2], tuple(-ord(c) for c in x[3])))
    return n, m
