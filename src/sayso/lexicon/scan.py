"""Expressions that look behind before they read: tried only where one of their first letters stands.

`re` has a quick way to a first letter only where the expression begins with it; one that begins by looking at what
stands before is tried at every place of the text.
"""

from __future__ import annotations

import re
import re._constants as codes  # type: ignore[import-not-found]
import re._parser as parser  # type: ignore[import-not-found]
from collections.abc import Iterable, Iterator
from functools import lru_cache
from typing import Any

Span = tuple[int, int]
FIGURES = (ord("0"), ord("9"))


class Scan:
    """A compiled expression with a quick look for the places where it can begin. It never matches the empty text."""

    def __init__(self, pattern: str, flags: int = 0) -> None:
        self.pattern = re.compile(pattern, flags)
        firsts, empty = _firsts(parser.parse(pattern, flags))
        self.near = None if firsts is None or empty else _class(firsts, flags & re.IGNORECASE)

    def finditer(self, text: str, pos: int = 0, endpos: int | None = None) -> Iterator[re.Match[str]]:
        """As `re.Pattern.finditer`."""
        endpos = len(text) if endpos is None else endpos
        if self.near is None:
            yield from self.pattern.finditer(text, pos, endpos)
            return
        match = self.pattern.match
        for m in self.near.finditer(text, pos, endpos):
            at = m.start()
            if at >= pos:
                found = match(text, at, endpos)
                if found is not None:
                    yield found
                    pos = found.end()

    def search(self, text: str, pos: int = 0, endpos: int | None = None) -> re.Match[str] | None:
        """As `re.Pattern.search`."""
        return next(self.finditer(text, pos, endpos), None)


def _class(spans: Iterable[Span], flags: int) -> re.Pattern[str]:
    # Figures of other scripts begin what a figure begins.
    parts = [r"\d" if span == FIGURES else f"\\U{span[0]:08x}-\\U{span[1]:08x}" for span in dict.fromkeys(spans)]
    return re.compile("[" + "".join(parts) + "]", flags)


def _firsts(items: Iterable[Any]) -> tuple[list[Span] | None, bool]:
    """The letters with which a match of these parts can begin, null where unknown; and whether it can be empty."""
    found: list[Span] = []
    for op, value in items:
        if op in (codes.AT, codes.ASSERT, codes.ASSERT_NOT):
            continue
        spans, empty = _first(op, value)
        if spans is None:
            return None, False
        found += spans
        if not empty:
            return found, False
    return found, True


def _first(op: Any, value: Any) -> tuple[list[Span] | None, bool]:
    if op is codes.LITERAL:
        return [(value, value)], False
    if op is codes.IN:
        spans: list[Span] = []
        for kind, x in value:
            if kind is codes.LITERAL:
                spans.append((x, x))
            elif kind is codes.RANGE:
                spans.append(x)
            elif kind is codes.CATEGORY and x is codes.CATEGORY_DIGIT:
                spans.append(FIGURES)
            else:
                return None, False
        return spans, False
    if op is codes.SUBPATTERN:
        return (None, False) if value[1] or value[2] else _firsts(value[3])
    if op is codes.BRANCH:
        every: list[Span] = []
        may_be_empty = False
        for branch in value[1]:
            some, empty = _firsts(branch)
            if some is None:
                return None, False
            every += some
            may_be_empty |= empty
        return every, may_be_empty
    if op in (codes.MAX_REPEAT, codes.MIN_REPEAT):
        some, empty = _firsts(value[2])
        return some, empty or value[0] == 0
    return None, False


@lru_cache(maxsize=512)
def scan(pattern: str, flags: int = 0) -> Scan:
    """The expression made ready, once."""
    return Scan(pattern, flags)
