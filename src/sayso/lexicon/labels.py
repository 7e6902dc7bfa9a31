"""Label rows."""

from __future__ import annotations

from sayso.lexicon.rows import Row


class Label(Row):
    """To be filled in."""

    id: str
