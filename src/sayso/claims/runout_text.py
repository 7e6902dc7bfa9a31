"""The ground under the run-out grammar: signs unified without moving an offset, and lists of words found."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.lexicon.systems import Table

LONE_L = re.compile(r"l(?![a-z])(?<![a-z]l)")


class Found(NamedTuple):
    """A word of a list, where it stands, and the value it stands for."""

    start: int
    end: int
    value: str


@dataclass(frozen=True)
class Words:
    """A list of words compiled to one expression; longer words first, matched case folded."""

    pattern: re.Pattern[str]
    values: dict[str, str]

    def find(self, text: str, start: int = 0, end: int | None = None) -> Iterator[Found]:
        """Occurrences in `text[start:end]`, from left to right, without overlap."""
        for m in self.pattern.finditer(text, start, len(text) if end is None else end):
            yield Found(m.start(), m.end(), self.values[" ".join(m.group().split()).casefold()])

    def first(self, text: str, start: int = 0, end: int | None = None) -> Found | None:
        return next(self.find(text, start, end), None)


def compile_words(entries: Iterable[tuple[str, Iterable[str]]]) -> Words:
    """One expression for a whole list of words."""
    values: dict[str, str] = {}
    for value, forms in entries:
        for form in forms:
            values.setdefault(" ".join(form.split()).casefold(), value)
    if not values:
        return Words(re.compile(r"(?!)"), {})
    ordered = sorted(values, key=len, reverse=True)

    def body(spaced: bool) -> str:
        return "|".join(r"\s{1,3}".join(map(re.escape, f.split())) for f in ordered if _spaced(f) is spaced) or "(?!)"

    # Scripts written without blanks have no bounds between words.
    return Words(re.compile(rf"(?<!\w)(?:{body(True)})(?!\w)|(?:{body(False)})", re.IGNORECASE), values)


def word_patterns(entries: Iterable[tuple[str, Iterable[str]]]) -> list[str]:
    """The words of `compile_words`, each as an expression of its own, in the order in which they are tried."""
    forms = dict.fromkeys(" ".join(form.split()).casefold() for _, words in entries for form in words)
    ordered = sorted(forms, key=lambda f: (not _spaced(f), -len(f)))
    bodies = ((r"\s{1,3}".join(map(re.escape, f.split())), _spaced(f)) for f in ordered)
    return [rf"(?<!\w){body}(?!\w)" if spaced else body for body, spaced in bodies]


def _spaced(form: str) -> bool:
    return ord(form[0]) < 0x2E80 and ord(form[-1]) < 0x2E80


@lru_cache(maxsize=128)
def words(lexicon: Lexicon, table: str, key: str | None = None) -> Words:
    """The list of words of a table of the lexicon, or of one of its keys; an empty list where there is none."""
    row: Table | None = lexicon.tables.get(table)
    entries = row.entries.items() if row else ()
    return compile_words((k, v) for k, v in entries if key is None or k == key)


@lru_cache(maxsize=8)
def signs(lexicon: Lexicon) -> dict[int, str]:
    """Single characters that stand for another, from the lexicon."""
    row: Table | None = lexicon.tables.get("runout_sign")
    return {ord(v): k for k, forms in (row.entries.items() if row else ()) for v in forms if len(v) == len(k) == 1}


def unify(text: str, lexicon: Lexicon, lone_l: str = "1") -> str:
    """`text` in capitals, full-width letters narrowed and signs unified, every character still at its place.

    A small l that stands between no small letters is mostly a one: nobody writes one small letter among capitals. Where
    all letters are small it may be the letter after all; `lone_l` says how to take it.
    """
    text = LONE_L.sub(lone_l, text)
    if text.isascii():
        return text.upper().translate(signs(lexicon))
    table = signs(lexicon)
    return text.translate({ord(c): _unified(c, table).translate(table) for c in set(text)})


def _unified(c: str, table: dict[int, str]) -> str:
    if c.isascii():
        return c.upper()
    narrow = table.get(ord(c)) or unicodedata.normalize("NFKC", c)
    upper = narrow.upper()
    return upper if len(upper) == 1 else narrow if len(narrow) == 1 else c


AS_DIGIT = str.maketrans("OI|", "011")
BETWEEN = re.compile(r"[0-9OI|]*[0-9][0-9OI|]*")


def figures(part: str) -> str:
    """A part that consists of figures, with the letters typed for nought and one read as figures."""
    return part.translate(AS_DIGIT)


def tidy(part: str) -> str:
    """A part of letters and figures: an O or I among figures is a figure; blanks squeezed."""
    folded = BETWEEN.sub(lambda m: m.group() if m.group().isdigit() else _among(part, m), part)
    return re.sub(r"\s{2,}", " ", folded).strip(" .-_")


def _among(part: str, m: re.Match[str]) -> str:
    # Only next to a figure and away from other letters: the O of 'VO 12' or 'BIO7' is a letter.
    before = part[m.start() - 1 : m.start()]
    after = part[m.end() : m.end() + 1]
    run = m.group()
    lead = len(run) - len(run.lstrip("OI|"))
    if before.isalpha() or (lead and m.start() == 0):
        return run[:lead] + run[lead:].translate(AS_DIGIT)
    if after.isalpha():
        tail = len(run) - len(run.rstrip("OI|"))
        return run[: len(run) - tail].translate(AS_DIGIT) + run[len(run) - tail :]
    return run.translate(AS_DIGIT)
