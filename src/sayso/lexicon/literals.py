"""A stretch of text without which an expression cannot match: a cheap look before the expression is tried."""

from __future__ import annotations

import re._constants as codes  # type: ignore[import-not-found]
import re._parser as parser  # type: ignore[import-not-found]
from collections.abc import Iterable
from functools import cache
from typing import Any


@cache
def required(pattern: str) -> str:
    """The longest run of ASCII letters, digits and marks that every match holds, in lower case; '' where none is sure.

    Read off the parsed expression: branches and what may be absent count for nothing, so the look never hides a match.
    """
    return max(_runs(parser.parse(pattern)), key=len, default="")


def _runs(items: Iterable[Any]) -> list[str]:
    runs: list[str] = []
    now = ""
    for op, value in items:
        if op is codes.LITERAL and value < 128:
            now += chr(value).lower()
            continue
        if now:
            runs.append(now)
            now = ""
        if op is codes.SUBPATTERN:
            runs += _runs(value[3])
        elif op in (codes.MAX_REPEAT, codes.MIN_REPEAT) and value[0] >= 1:
            runs += _runs(value[2])
    if now:
        runs.append(now)
    return runs
