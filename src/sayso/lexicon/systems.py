"""Rows for matrix-number systems and their tables."""

from __future__ import annotations

from sayso.lexicon.rows import Row


class System(Row):
    """To be filled in."""

    id: str


class Table(Row):
    """To be filled in."""

    id: str
