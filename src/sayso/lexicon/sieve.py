"""Which of many expressions can match a text, told by its words: each distinct word is looked at once.

Untouched words cost one look into a table, however many expressions there are.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from sayso.lexicon.literals import CLASSES, EDGE, FIGURE, SIGNS, Choice, lowered, pieces, required, shaped, strength

WORD = re.compile(r"[^\W_]+")
PLAIN = re.compile(r"[\x00-\x03]+")
KEPT = 50_000
"""At most this many words are remembered, so that memory stays flat however much is read."""
LONG = 48
"""Longer words are rare; they are searched for each piece in turn."""
NONE: dict[str, int] = {}
Patterns = Iterable[tuple[str, bool]]


class _Table:
    """Pieces of words and the bits they set, by where in a word they must stand."""

    def __init__(self) -> None:
        self.whole: dict[str, int] = {}
        # By their first two signs, or their last two where only the end is fixed; a single sign stands by itself.
        self.start: dict[str, dict[str, int]] = {}
        self.end: dict[str, dict[str, int]] = {}
        self.inside: dict[str, dict[str, int]] = {}

    def add(self, piece: str, left: bool, right: bool, bit: int) -> None:
        if left and right:
            self.whole[piece] = self.whole.get(piece, 0) | bit
            return
        table, key = (self.end, piece[-2:]) if right else (self.start if left else self.inside, piece[:2])
        row = table.setdefault(key, {})
        row[piece] = row.get(piece, 0) | bit

    def look(self, word: str) -> int:
        found = self.whole.get(word, 0)
        for key in (word[:1], word[:2]) if len(word) > 1 else (word,):
            for piece, bit in self.start.get(key, NONE).items():
                if word.startswith(piece):
                    found |= bit
        for key in (word[-1:], word[-2:]) if len(word) > 1 else (word,):
            for piece, bit in self.end.get(key, NONE).items():
                if word.endswith(piece):
                    found |= bit
        if not self.inside:
            return found
        if len(word) > LONG:
            for row in self.inside.values():
                for piece, bit in row.items():
                    found |= bit if piece in word else 0
            return found
        for sign in set(word):
            found |= self.inside.get(sign, NONE).get(sign, 0)
        for i in range(len(word) - 1):
            row = self.inside.get(word[i : i + 2], NONE)
            for piece, bit in row.items():
                if word.startswith(piece, i):
                    found |= bit
        return found


class Sieve:
    """Takes each expression with whether its case counts; tells for a text which can match."""

    def __init__(self, patterns: Patterns) -> None:
        self._bits: dict[tuple[Choice, bool], int] = {}
        self._needs: dict[tuple[str, bool], int] = {}
        # Words as they are written and in lower case; as spelt, with every figure alike, and as shapes.
        self._tables = {(exact, alike): _Table() for exact in (False, True) for alike in ("", "figures", "cases")}
        self._plain: dict[tuple[str, bool], tuple[tuple[str, ...], ...]] = {}
        self._signs: list[tuple[str, int]] = []
        self._known: dict[str, int] = {}
        for pattern, exact in patterns:
            if (pattern, exact) not in self._needs:
                needs = 0
                choices = required(pattern, exact)
                for choice in choices:
                    needs |= self._bit(choice, exact)
                self._needs[pattern, exact] = needs
                self._plain[pattern, exact] = _plainly(c for c in choices if any(map(_joined, c)))

    def __getstate__(self) -> dict[str, object]:
        """What is made of the lexicon, without the words met in listings."""
        return self.__dict__ | {"_known": {}}

    def needs(self, pattern: str, exact: bool = False) -> int:
        """The bits that `mask` must all have set for this expression to match."""
        return self._needs[pattern, exact]

    def holds(self, pattern: str, exact: bool, text: str) -> bool:
        """A closer look: whether the text, lowered unless `exact`, has the stretches as they are joined."""
        return all(any(x in text for x in choice) for choice in self._plain[pattern, exact])

    def mask(self, text: str) -> int:
        """What the words of a text allow."""
        known, found = self._known, 0
        for word in set(WORD.findall(text)):
            got = known.get(word)
            found |= self._look(word) if got is None else got
        if not text.isascii():
            folded = lowered(text)
            for sign, bit in self._signs:
                if sign in text or sign in folded:
                    found |= bit
        return found

    def _bit(self, choice: Choice, exact: bool) -> int:
        bit = self._bits.get((choice, exact))
        if bit is not None:
            return bit
        bit = self._bits[choice, exact] = 1 << len(self._bits)
        for stretch in choice:
            best = max(pieces(stretch), key=strength, default=None)
            if best is None:
                # No word in it, so a sign outside ASCII; what stands at an edge is not known.
                self._signs.append((max(stretch.split(EDGE), key=lambda x: (not x.isascii(), len(x))), bit))
                continue
            piece, left, right = best
            alike = "cases" if CLASSES & {*piece} - {FIGURE} else "figures" if FIGURE in piece else ""
            piece = shaped(piece, alike == "cases") if alike else piece
            self._tables[exact, alike].add(piece, left, right, bit)
        return bit

    def _look(self, word: str) -> int:
        tables = self._tables
        found = tables[True, ""].look(word) | tables[True, "figures"].look(shaped(word))
        found |= tables[True, "cases"].look(shaped(word, True))
        for part in WORD.findall(lowered(word)):
            found |= tables[False, ""].look(part) | tables[False, "figures"].look(shaped(part))
        if len(word) <= LONG:
            if len(self._known) >= KEPT:
                self._known.clear()
            self._known[word] = found
        return found


def plain_parts(pattern: str) -> tuple[tuple[str, ...], ...]:
    """Of each of these sets, as they are written, every match of an expression in which case counts holds a part."""
    return _plainly(required(pattern, True))


def _plainly(choices: Iterable[Choice]) -> tuple[tuple[str, ...], ...]:
    plain = (tuple(dict.fromkeys(max(PLAIN.split(s), key=len) for s in c)) for c in choices)
    return tuple(c for c in plain if all(c))


def _joined(stretch: str) -> bool:
    """Whether a stretch says more than the part of a word that stands for it."""
    return any(c not in SIGNS and not c.isalnum() for c in stretch)


class Alternatives:
    """Expressions of one use, together the same as one with a branch for each; only those that can match are tried.

    None of them may match the empty text.
    """

    def __init__(self, patterns: Sequence[str], exact: bool, sieve: Sieve) -> None:
        self._sieve = sieve
        flags = 0 if exact else re.IGNORECASE
        self._each = [(sieve.needs(p, exact), Later(p, flags)) for p in patterns]

    def search(self, text: str, mask: int | None = None) -> bool:
        """Whether any of them matches in the text; `mask` is what the sieve says of it."""
        if mask is None:
            mask = self._sieve.mask(text)
        return any((mask & need) == need and get().search(text) for need, get in self._each)

    def finditer(self, text: str, mask: int | None = None) -> Iterator[re.Match[str]]:
        """The matches from left to right, without overlap; at one place the earlier expression goes first."""
        if mask is None:
            mask = self._sieve.mask(text)
        likely = [get() for need, get in self._each if (mask & need) == need]
        if len(likely) < 2:
            return likely[0].finditer(text) if likely else iter(())
        return _merged(likely, text)


def _merged(patterns: list[re.Pattern[str]], text: str) -> Iterator[re.Match[str]]:
    left = [(m.start(), n, p, m) for n, p in enumerate(patterns) if (m := p.search(text))]
    while left:
        first = min(left)
        yield first[3]
        at = max(first[3].end(), first[0] + 1)
        moved = []
        for item in left:
            if item[0] >= at:
                moved.append(item)
            elif again := item[2].search(text, at):
                moved.append((again.start(), item[1], item[2], again))
        left = moved


class Later:
    """An expression, compiled when it is first called for."""

    __slots__ = ("_made", "flags", "pattern")

    def __init__(self, pattern: str, flags: int = 0) -> None:
        self.pattern, self.flags = pattern, flags
        self._made: re.Pattern[str] | None = None

    def __call__(self) -> re.Pattern[str]:
        if self._made is None:
            self._made = re.compile(self.pattern, self.flags)
        return self._made

    def __reduce__(self) -> tuple[type[Later], tuple[str, int]]:
        return Later, (self.pattern, self.flags)
