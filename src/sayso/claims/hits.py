"""What the index found in a text, by kind: made into hits when a kind is first asked for, since most never are."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from typing import NamedTuple

from sayso.lexicon.terms import Cue, Term, Word, WordClass

Row = Term | Cue | Word | WordClass
CLASS = "class "
"""Stands before the name of a class of words, among the kinds of hits."""


class Hit(NamedTuple):
    """A row found at tokens [i, j)."""

    i: int
    j: int
    row: Row


Bare = tuple[int, int, Row]
"""A hit that nobody has asked for yet; a tuple costs a quarter of a hit."""
_made = partial(tuple.__new__, Hit)
"""A hit from its tuple, without the detour through a function of Python's."""
NONE: tuple[list[int], list[Hit]] = [], []
WIDEST = 40
"""No term has more words."""


def begins(hit: Hit) -> int:
    """The token at which it begins."""
    return hit.i


def order(hit: Hit) -> tuple[int, int]:
    """By where they begin, the longest first."""
    return hit.i, -hit.j


class Hits:
    """The hits of each kind in order, and the tokens at which they begin."""

    __slots__ = ("_bare", "_ready")

    def __init__(self, bare: dict[str, list[Bare]]) -> None:
        self._bare = bare
        self._ready: dict[str, tuple[list[int], list[Hit]]] = {}

    def get(self, kind: str) -> tuple[list[int], list[Hit]]:
        """Where the hits of a kind begin, and the hits."""
        held = self._ready.get(kind)
        if held is None:
            bare = self._bare.pop(kind, None)
            if bare is None:
                return NONE
            held = self._ready[kind] = [b[0] for b in bare], list(map(_made, bare))
        return held

    def kinds(self) -> Iterator[str]:
        """The kinds of which there are any."""
        yield from self._bare
        yield from self._ready

    def add(self, kind: str, more: Sequence[Hit]) -> None:
        """More hits of a kind; behind those that were there where they begin and end together."""
        if more:
            together = sorted([*self.get(kind)[1], *more], key=order)
            self._ready[kind] = [h.i for h in together], together


__all__ = ["CLASS", "NONE", "Bare", "Hit", "Hits", "Row", "order"]
