"""Plain stretches of text without which an expression cannot match: a cheap look before it is tried.

A stretch is written in the letters it needs, with signs of its own for any one figure, capital or small letter, and for
the place where a word begins or ends.
"""

from __future__ import annotations

import re
import re._constants as codes  # type: ignore[import-not-found]
import re._parser as parser  # type: ignore[import-not-found]
from collections.abc import Iterable
from typing import Any

Choice = frozenset[str]
EDGE, FIGURE, CAPITAL, SMALL = "\0", "\1", "\2", "\3"
CLASSES = frozenset({FIGURE, CAPITAL, SMALL})
SIGNS = CLASSES | {EDGE}
PIECE = re.compile(r"(?:[^\W_]|[\x01-\x03])+")
DEEP = 6
"""So many sets are looked for."""
MOST = 2_000
"""More alternatives than this are no cheap look."""
SPELT = 64
"""A row of alternatives is spelt out up to so many ways."""
FEW = 8
"""A class of up to so many signs is spelt out; a larger one is any letter of its case."""


def lowered(text: str) -> str:
    """The text as the looks want it: every letter that an expression takes for another case of a letter is alike."""
    folded = text.casefold()
    return folded if folded.isascii() else folded.replace("i\u0307", "i").replace("ı", "i")


def shaped(word: str, cases: bool = False) -> str:
    """The word with every figure alike; with `cases`, also every capital and every small letter."""
    if not cases:
        return word if word.isalpha() else "".join(FIGURE if c.isdecimal() else c for c in word)
    return "".join(FIGURE if c.isdecimal() else CAPITAL if c.isupper() else SMALL if c.islower() else c for c in word)


def required(pattern: str, exact: bool = False) -> tuple[Choice, ...]:
    """Of each of these sets every match holds at least one stretch; empty where none is sure.

    Read off the parsed expression: what may be absent counts for nothing, and of alternatives each must have a stretch
    of its own, so the look never hides a match. The rarest-looking come first. In lower case unless `exact`.
    """
    parsed = parser.parse(pattern)
    if parsed.state.flags & re.ASCII:
        return ()  # words end elsewhere then
    exact = exact and not parsed.state.flags & re.IGNORECASE
    sure = [c for c in dict.fromkeys(_Stretches(exact).of(parsed)) if _sure(c)]
    return tuple(sorted(sure, key=_weight, reverse=True)[:DEEP])


def pieces(stretch: str) -> list[tuple[str, bool, bool]]:
    """The parts of words in a stretch, and whether each begins and ends its word."""
    return [(m.group(), m.start() > 0, m.end() < len(stretch)) for m in PIECE.finditer(stretch)]


def strength(piece: tuple[str, bool, bool]) -> int:
    """How much a piece tells: letters more than figures, whole words more than parts of them."""
    text, left, right = piece
    return sum(1 if c in CLASSES else 3 for c in text) + 2 * (left + right)


def _sure(choice: Choice) -> bool:
    """Whether each stretch has a part of a word, or a sign outside ASCII."""
    return all(not s.isascii() or PIECE.search(s) for s in choice)


def _weight(choice: Choice) -> tuple[int, int]:
    return min(max(map(strength, pieces(s)), default=6) for s in choice), -len(choice)


class _Stretches:
    def __init__(self, exact: bool) -> None:
        self.exact = exact

    def of(self, items: Iterable[Any]) -> list[Choice]:
        found: list[Choice] = []
        now: tuple[str, ...] = ("",)

        def close(then: tuple[str, ...] = ("",)) -> None:
            nonlocal now
            if now != ("",):
                found.append(frozenset(now))
            now = then

        for op, value in items:
            ways = self._ways(op, value)
            if ways is not None:
                if len(now) * len(ways) > SPELT:
                    close()
                now = tuple(a + b for a in now for b in ways)
                continue
            if op in (codes.MAX_REPEAT, codes.MIN_REPEAT) and value[0] >= 1:
                # At least so often: what comes before is joined to the first, what follows to the last.
                ways = self._row(value[2])
                if ways is not None:
                    if len(now) * len(ways) ** value[0] <= SPELT:
                        for _ in range(value[0]):
                            now = tuple(a + b for a in now for b in ways)
                    close(ways)
                    continue
                close()
                found += self.of(value[2])
                continue
            close()
            if op is codes.SUBPATTERN:
                if not value[1] and not value[2]:  # no flags of its own
                    found += self.of(value[3])
            elif op is codes.BRANCH:
                each = [max(filter(_sure, self.of(b)), key=_weight, default=frozenset({""})) for b in value[1]]
                together = frozenset().union(*each)
                if "" not in together and len(together) <= MOST:
                    found.append(together)
        close()
        return found

    def _row(self, items: Iterable[Any]) -> tuple[str, ...] | None:
        """All the ways to write these parts; None where they are many or not known."""
        out: tuple[str, ...] = ("",)
        for op, value in items:
            ways = self._ways(op, value)
            if ways is None or len(out) * len(ways) > SPELT:
                return None
            out = tuple(dict.fromkeys(a + b for a in out for b in ways))
        return out

    def _ways(self, op: Any, value: Any) -> tuple[str, ...] | None:
        if op is codes.LITERAL:
            return self._letters([value])
        if op is codes.IN:
            return self._class(value)
        if op is codes.AT:
            return ("",) if value is codes.AT_NON_BOUNDARY else (EDGE,)
        if op in (codes.ASSERT, codes.ASSERT_NOT):
            return (EDGE,) if op is codes.ASSERT_NOT and _word_sign(value[1]) else ("",)
        if op is codes.SUBPATTERN:
            return self._row(value[3]) if not value[1] and not value[2] else None
        if op is codes.BRANCH:
            rows = [self._row(branch) for branch in value[1]]
            every = tuple(dict.fromkeys(w for row in rows for w in row or ()))
            return every if None not in rows and len(every) <= SPELT else None
        if op in (codes.MAX_REPEAT, codes.MIN_REPEAT):
            low, high, inner = value
            if high == 1:
                row = self._row(inner)
                return None if row is None or len(row) >= SPELT else ("", *row) if low == 0 else row
            if low == high and low <= 16:
                return self._row(list(inner) * int(low))
        return None

    def _letters(self, points: Iterable[int]) -> tuple[str, ...] | None:
        out = [chr(c) if self.exact else lowered(chr(c)) for c in points]
        return tuple(dict.fromkeys(out)) if all(len(x) == 1 and x not in SIGNS for x in out) else None

    def _class(self, parts: Any) -> tuple[str, ...] | None:
        spans = [(x, x) if kind is codes.LITERAL else x for kind, x in parts if kind in (codes.LITERAL, codes.RANGE)]
        known = [chr(c) for a, b in spans for c in range(a, min(b, a + 200) + 1)]
        others = {x for kind, x in parts if kind is codes.CATEGORY}
        if len(spans) + sum(kind is codes.CATEGORY for kind, _ in parts) < len(parts) or any(
            b - a > 200 for a, b in spans
        ):
            return None
        if others <= {codes.CATEGORY_DIGIT} and all(c.isdecimal() for c in known) and (others or len(known) > 3):
            return (FIGURE,)
        if others <= {codes.CATEGORY_SPACE, codes.CATEGORY_NOT_WORD} and not any(c.isalnum() for c in known):
            return self._letters(map(ord, known)) if not others and len(known) <= FEW else (EDGE,)
        if others:
            return None
        if len(known) <= FEW:
            return self._letters(map(ord, known))
        if self.exact and all(c.isupper() for c in known):
            return (CAPITAL,)
        return (SMALL,) if self.exact and all(c.islower() for c in known) else None


def _word_sign(inner: Any) -> bool:
    """Whether an assertion that these do not stand here says that no word runs on."""
    if len(inner) != 1 or inner[0][0] is not codes.IN or inner[0][1][0][0] is codes.NEGATE:
        return False
    return (codes.CATEGORY, codes.CATEGORY_WORD) in inner[0][1]
