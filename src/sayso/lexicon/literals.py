"""Plain stretches of text without which an expression cannot match: a cheap look before it is tried."""

from __future__ import annotations

import re._constants as codes  # type: ignore[import-not-found]
import re._parser as parser  # type: ignore[import-not-found]
from collections.abc import Iterable
from functools import cache
from typing import Any

Choice = frozenset[str]
DEEP = 4
"""So many sets are looked for."""
MOST = 60
"""More alternatives than this are no cheap look."""


@cache
def required(pattern: str) -> tuple[Choice, ...]:
    """Of each of these sets every match holds at least one stretch, in lower case; empty where none is sure.

    Read off the parsed expression: what may be absent counts for nothing, and of alternatives each must have a stretch
    of its own, so the look never hides a match. The rarest-looking come first.
    """
    sure = {
        c for c in _choices(parser.parse(pattern)) if all(any(x.isalnum() for x in s) or not s.isascii() for s in c)
    }
    return tuple(sorted(sure, key=_weight, reverse=True)[:DEEP])


def could_match(pattern: str, folded: str) -> bool:
    """Whether the expression can match a text, given in lower case."""
    return all(any(x in folded for x in choice) for choice in required(pattern))


def _weight(choice: Choice) -> tuple[int, int]:
    return min(map(len, choice)), -len(choice)


def _choices(items: Iterable[Any]) -> list[Choice]:
    found: list[Choice] = []
    now = ""
    for op, value in items:
        if op is codes.LITERAL and len(chr(value).casefold()) == 1:
            now += chr(value).casefold()
            continue
        if now:
            found.append(frozenset({now}))
            now = ""
        if op is codes.SUBPATTERN:
            found += _choices(value[3])
        elif op in (codes.MAX_REPEAT, codes.MIN_REPEAT) and value[0] >= 1:
            found += _choices(value[2])
        elif op is codes.BRANCH:
            each = [max(_choices(branch), key=_weight, default=frozenset({""})) for branch in value[1]]
            together = frozenset().union(*each)
            if "" not in together and len(together) <= MOST:
                found.append(together)
    if now:
        found.append(frozenset({now}))
    return found
