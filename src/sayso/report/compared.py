"""Several copies of one record side by side: what each seller says of what tells pressings apart; for terminal,
file and page."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Copy:
    """One copy in a comparison: how it is called there, and where it stands in the ranking."""

    letter: str
    place: int
    """Number in the ranking, from 1; 0 where the ranking goes not so far."""
    id: str
    seller: str
    price: str
    verdict: str


@dataclass(frozen=True)
class Compared:
    """Copies of one record, and a row for each sign that any of their sellers speaks of."""

    title: str
    copies: tuple[Copy, ...]
    more: int
    """How many copies of it are not shown."""
    rows: tuple[tuple[str, tuple[str, ...]], ...]
    """(name of the sign, what each seller says of it)."""
