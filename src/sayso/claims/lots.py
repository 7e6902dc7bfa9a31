"""Several records in one listing: which words speak of which of them.

A record of a lot has a line of its own, or a stretch of a line that its number opens ('1) … 2) …'). Outside these
stretches a number may point back ('2 has a crown', 'only (i) was played', 'both'), which `meant` resolves.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sayso.claims.analysis import Analysis
    from sayso.lexicon import Lexicon

_NUMBER = r"(?:\d{1,2}|[A-Ha-h]|[ivx]{1,4})"
_LINE = re.compile(rf"^[ \t]*(?:\(?{_NUMBER}[.):/]|Nr\.? ?\d|#\d)[ \t]|^[①-⑳]|^[（(]\d[)）]", re.M)
"""A line that a number opens."""
_CLAUSE = re.compile(r"[,;:]\s|\u3001")
_MORE = r"(?:(?: ?[,&+/] ?| \w{1,3} )\(?(?:\d|[ivx]{1,4})(?![\w.])\)?){0,4}"
"""Further numbers joined to one: 'records 1, 2 and 4'."""


@lru_cache(maxsize=8)
def _patterns(lexicon: Lexicon) -> tuple[re.Pattern[str], re.Pattern[str]]:
    """A number that opens the words on one record inside a line, and one that points back to a record."""
    nouns = sorted((re.escape(f) for w in lexicon.words if w.kind == "lot_noun" for f in w.forms), key=len)
    noun = "|".join(reversed(nouns))
    only = "|".join(sorted({re.escape(f) for w in lexicon.words if w.kind == "only" for f in w.forms}, key=len)[::-1])
    opens = rf"(?:(?<=[\s:;,.(])|^)(?:\((\d|[a-h]|[ivx]{{1,4}})\)|(\d)\)|(?:{noun}) ?(\d) ?[:)–-])|([①-⑳])"
    points = (
        rf"\((?:\d|[A-H]|[ivx]{{1,4}})\){_MORE}|[①-⑳]"
        rf"|(?<![\w.,$£€/-])(?:{noun}) ?\d(?![\w.,]\d){_MORE}"
        r"|(?:(?<=[.;,] )|(?<=\n))\d(?= [a-z])"
        rf"|(?<!\w)(?:{only}) (?-i:[A-H])(?= [a-z])"
    )
    return re.compile(opens, re.I), re.compile(points, re.I)


_NAME = re.compile(r"\d|[①-⑳]|(?<![^\W\d_])(?:[ivx]{1,4}|[a-h])(?![^\W\d_])", re.I)
_ROMAN = ("i", "ii", "iii", "iv", "v", "vi", "vii", "viii", "ix", "x")
_LETTERS = "abcdefgh"


def _value(name: str) -> tuple[int, ...]:
    """The places in a list for which a number, a letter or a Roman number can stand."""
    low = name.lower()
    if low.isdigit() and low.isascii():
        return (int(low),)
    if "①" <= low <= "⑳":
        return (ord(low) - ord("①") + 1,)
    out: tuple[int, ...] = ()
    if low in _ROMAN:
        out += (_ROMAN.index(low) + 1,)
    if low in _LETTERS:
        out += (_LETTERS.index(low) + 1,)
    return out


@dataclass(frozen=True)
class Lot:
    """The stretches of text that each speak of one record of a lot, in order; empty where there is one record."""

    starts: tuple[int, ...] = ()
    ends: tuple[int, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.starts)

    def item(self, at: int) -> int | None:
        """The number of the record to which the words at this offset belong; null outside."""
        n = bisect_right(self.starts, at) - 1
        return n + 1 if n >= 0 and at < self.ends[n] else None

    def pointed(self, text: str, start: int, end: int, at: int, lexicon: Lexicon) -> tuple[int, ...]:
        """The records to which a sentence outside their own words points by number ('only (i) and (ii)').

        A number in the same clause counts before others in the sentence `text[start:end]`.
        """
        cuts = [m.end() for m in _CLAUSE.finditer(text, start, end)]
        a = max((c for c in cuts if c <= at), default=start)
        b = min((c for c in cuts if c > at), default=end)
        return self._named(text, a, b, lexicon) or self._named(text, start, end, lexicon)

    def _named(self, text: str, start: int, end: int, lexicon: Lexicon) -> tuple[int, ...]:
        out: dict[int, None] = {}
        for m in _patterns(lexicon)[1].finditer(text, start, end):
            for name in _NAME.findall(m.group()):
                for value in _value(name):
                    if 1 <= value <= len(self.starts):
                        out[value] = None
                        break
        return tuple(out)


def lot_of(analysis: Analysis) -> Lot:
    """How the listing divides into records. One that speaks of no lot is one record."""
    if not analysis.all_of("lot"):
        return Lot()
    text = analysis.folded
    starts = [m.start() for m in _LINE.finditer(text)]
    if len(starts) >= 2:
        ends = [text.find("\n", a) for a in starts]
        return Lot(tuple(starts), tuple(len(text) if b < 0 else b for b in ends))
    return _inline(text, analysis.index.lexicon)


def _inline(text: str, lexicon: Lexicon) -> Lot:
    """Numbers that count up from one inside running text, each opening the words on one record."""
    found: list[tuple[int, int]] = []
    for m in _patterns(lexicon)[0].finditer(text):
        if len(found) + 1 in _value(m.group(m.lastindex or 0)):
            found.append((m.start(), m.end()))
    if len(found) < 2:
        return Lot()
    ends = []
    for n, (a, _) in enumerate(found):
        line = text.find("\n", a)
        line = len(text) if line < 0 else line
        ends.append(min(line, found[n + 1][0]) if n + 1 < len(found) else _sentence_end(text, a, line))
    return Lot(tuple(a for a, _ in found), tuple(ends))


def _sentence_end(text: str, start: int, line: int) -> int:
    """The end of what is said of the last record: its sentence, since what follows may be of all."""
    stop = re.compile(r"[.!?](?=\s+[A-Z])").search(text, start + 4, line)
    return stop.end() if stop else line


__all__ = ["Lot", "lot_of"]
