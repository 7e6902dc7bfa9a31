"""Plain stretches of text without which an expression cannot match: a cheap look before it is tried."""

from __future__ import annotations

import re
import re._constants as codes  # type: ignore[import-not-found]
import re._parser as parser  # type: ignore[import-not-found]
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cache
from typing import Any

Choice = frozenset[str]
DEEP = 4
"""So many sets are looked for."""
MOST = 60
"""More alternatives than this are no cheap look."""
DIGIT = "\0"
"""Stands in a stretch for any one figure."""
PIECE = re.compile(r"[^\W_]+")
KEPT = 50_000
"""At most this many words are remembered, so that memory stays flat however much is read."""


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


def lowered(text: str) -> str:
    """The text as the looks want it: every letter that an expression takes for another case of a letter is alike."""
    return text.casefold() if text.isascii() else text.casefold().replace("i̇", "i").replace("ı", "i")


class Sieve:
    """Which of many expressions can match a text, told by its words: each distinct word is looked at once.

    Untouched words cost one look into a table, however many expressions there are.
    """

    def __init__(self, patterns: Iterable[str]) -> None:
        self._bits: dict[Choice, int] = {}
        self._needs: dict[str, int] = {}
        self._pieces: dict[str, list[tuple[str, int]]] = {}
        self._figures: list[tuple[int, int]] = []
        self._signs: list[tuple[str, int]] = []
        self._known: dict[str, int] = {}
        for pattern in patterns:
            if pattern not in self._needs:
                self._needs[pattern] = sum(map(self._bit, asked(pattern)))

    def needs(self, pattern: str) -> int:
        """The bits that `mask` must all have set for this expression to match."""
        return self._needs[pattern]

    def mask(self, folded: str) -> int:
        """What the words of a text, as `lowered`, allow."""
        known, found = self._known, 0
        for word in set(PIECE.findall(folded)):
            got = known.get(word)
            found |= self._look(word) if got is None else got
        if self._signs and not folded.isascii():
            for sign, bit in self._signs:
                if sign in folded:
                    found |= bit
        return found

    def _bit(self, choice: Choice) -> int:
        bit = self._bits.get(choice)
        if bit is not None:
            return bit
        bit = self._bits[choice] = 1 << len(self._bits)
        for stretch in choice:
            if stretch.startswith(DIGIT):
                self._figures.append((len(stretch), bit))
                continue
            # The longest word in the stretch stands for it.
            piece = max(PIECE.findall(stretch), key=len, default="")
            if piece:
                self._pieces.setdefault(piece[:2], []).append((piece, bit))
            else:
                self._signs.append((stretch, bit))
        return bit

    def _look(self, word: str) -> int:
        found = 0
        for i in range(len(word)):
            for start in {word[i : i + 1], word[i : i + 2]}:
                for piece, bit in self._pieces.get(start, ()):
                    if word.startswith(piece, i):
                        found |= bit
        if self._figures and not word.isalpha():
            longest = run = 0
            for c in word:
                run = run + 1 if c.isdecimal() else 0
                longest = max(longest, run)
            for length, bit in self._figures:
                if longest >= length:
                    found |= bit
        if len(self._known) >= KEPT:
            self._known.clear()
        self._known[word] = found
        return found


@cache
def asked(pattern: str) -> tuple[Choice, ...]:
    """As `required`, for a look that may be wider: figures count too, and no set is too large."""
    sure = {
        c
        for c in _choices(parser.parse(pattern), figures=True, most=10_000)
        if all(s.startswith(DIGIT) or PIECE.search(s) or not s.isascii() for s in c)
    }
    return tuple(sorted(sure, key=_weight, reverse=True)[:DEEP])


class Alternatives:
    """Expressions of one use, together the same as one with a branch for each; only those that can match are tried."""

    def __init__(self, patterns: Sequence[str], flags: int, sieve: Sieve) -> None:
        self._sieve = sieve
        self._each: list[tuple[int, Callable[[], re.Pattern[str]]]] = [
            (sieve.needs(p), _later(p, flags)) for p in patterns
        ]

    def search(self, text: str, mask: int | None = None) -> bool:
        """Whether any of them matches in the text; `mask` is what the sieve says of it."""
        if mask is None:
            mask = self._sieve.mask(lowered(text))
        return any((mask & need) == need and get().search(text) for need, get in self._each)

    def finditer(self, text: str, mask: int | None = None) -> Iterator[re.Match[str]]:
        """The matches from left to right, without overlap; at one place the earlier expression goes first."""
        if mask is None:
            mask = self._sieve.mask(lowered(text))
        left: list[tuple[int, int, re.Pattern[str], re.Match[str]]] = []
        for n, (need, get) in enumerate(self._each):
            if (mask & need) == need and (m := get().search(text)):
                left.append((m.start(), n, m.re, m))
        while left:
            first = min(left)
            m = first[3]
            yield m
            # An empty match moves on by one, as in `re`.
            at = m.end() if m.end() > m.start() else m.end() + 1
            moved = []
            for item in left:
                if item[0] >= at and item is not first:
                    moved.append(item)
                elif at <= len(text) and (again := item[2].search(text, at)):
                    moved.append((again.start(), item[1], item[2], again))
            left = moved


def _later(pattern: str, flags: int) -> Callable[[], re.Pattern[str]]:
    """The expression, compiled when it is first wanted."""
    made: list[re.Pattern[str]] = []

    def get() -> re.Pattern[str]:
        if not made:
            made.append(re.compile(pattern, flags))
        return made[0]

    return get


def could_match(pattern: str, folded: str) -> bool:
    """Whether the expression can match a text, given in lower case."""
    return all(any(x in folded for x in choice) for choice in required(pattern))


def _weight(choice: Choice) -> tuple[int, int]:
    return min(map(len, choice)), -len(choice)


def _choices(items: Iterable[Any], *, figures: bool = False, most: int = MOST) -> list[Choice]:
    found: list[Choice] = []
    now, run = "", 0
    for op, value in items:
        if figures:
            sure = _figures(op, value)
            if sure is None and run:
                found.append(frozenset({DIGIT * run}))
            run = 0 if sure is None else run + sure
        if op is codes.LITERAL and value and len(chr(value).casefold()) == 1:
            now += chr(value).casefold()
            continue
        if now:
            found.append(frozenset({now}))
            now = ""
        if op is codes.SUBPATTERN:
            found += _choices(value[3], figures=figures, most=most)
        elif op in (codes.MAX_REPEAT, codes.MIN_REPEAT) and value[0] >= 1:
            found += _choices(value[2], figures=figures, most=most)
        elif op is codes.BRANCH:
            each = [
                max(_choices(branch, figures=figures, most=most), key=_weight, default=frozenset({""}))
                for branch in value[1]
            ]
            together = frozenset().union(*each)
            if "" not in together and len(together) <= most:
                found.append(together)
    if now:
        found.append(frozenset({now}))
    if run:
        found.append(frozenset({DIGIT * run}))
    return found


def _figures(op: Any, value: Any) -> int | None:
    """How many figures, at the least, this part of an expression matches in a row; None where it matches others."""
    if op is codes.LITERAL:
        return 1 if chr(value).isdecimal() else None
    if op is codes.IN:
        return 1 if all(_figure_class(*x) for x in value) else None
    if op in (codes.MAX_REPEAT, codes.MIN_REPEAT):
        low, _, inner = value
        each = [_figures(*x) for x in inner]
        return None if any(n is None for n in each) else int(low) * sum(n or 0 for n in each)
    return None


def _figure_class(op: Any, value: Any) -> bool:
    if op is codes.CATEGORY:
        return value is codes.CATEGORY_DIGIT
    if op is codes.LITERAL:
        return chr(value).isdecimal()
    return op is codes.RANGE and chr(value[0]).isdecimal() and chr(value[1]).isdecimal() and value[1] - value[0] < 10
