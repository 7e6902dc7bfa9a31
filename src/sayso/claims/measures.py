"""Numbers with a unit: days to return a record, grams of its weight. The words for both are in the lexicon."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING

from sayso.lexicon.scan import scan

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.lexicon.scan import Scan


def _forms(lexicon: Lexicon, kind: str) -> str:
    found = {f for w in lexicon.words if w.kind == kind for f in w.forms}
    return "|".join(re.escape(f).replace("\\ ", r"\s+") for f in sorted(found, key=lambda f: (-len(f), f)))


_UNITS = ("day", "week", "month")
_OPENS, _CLOSES = r"(?<![0-9A-Za-z\u00c0-\u024f])", r"(?![0-9A-Za-z\u00c0-\u024f])"
"""The ends of a word, where Japanese writes none ('到着後7日以内')."""


@lru_cache(maxsize=8)
def _periods(lexicon: Lexicon) -> tuple[re.Pattern[str], dict[str, str], dict[str, str]]:
    words = {f.lower(): w.value or "" for w in lexicon.words if w.kind == "number_word" for f in w.forms}
    units = {f.lower(): unit for unit in _UNITS for w in lexicon.words if w.kind == f"unit_{unit}" for f in w.forms}
    number = "|".join([r"\d{1,2}", *sorted(map(re.escape, words), key=len, reverse=True)])
    every = "|".join(_forms(lexicon, f"unit_{unit}") for unit in _UNITS)
    each = sorted(every.split("|"), key=len, reverse=True)
    return re.compile(rf"{_OPENS}({number})[\s-]*({'|'.join(each)}){_CLOSES}", re.I), words, units


@lru_cache(maxsize=8)
def _whole_periods(lexicon: Lexicon) -> tuple[re.Pattern[str], dict[str, str]]:
    """Words that are a time by themselves ('fortnight'), with what they mean."""
    means = {f.lower(): w.value or "" for w in lexicon.words if w.kind == "period" for f in w.forms}
    return re.compile(rf"{_OPENS}(?:{_forms(lexicon, 'period') or '(?!)'}){_CLOSES}", re.I), means


def period_in(text: str, start: int, end: int, lexicon: Lexicon) -> tuple[str, re.Match[str]] | None:
    """How long a time the passage speaks of ('14 days', '1 month'), with the words that say so."""
    pattern, words, units = _periods(lexicon)
    m = pattern.search(text, start, end)
    if m is None:
        whole, means = _whole_periods(lexicon)
        m = whole.search(text, start, end)
        return (means[m.group().lower()], m) if m else None
    number, unit = words.get(m.group(1).lower(), m.group(1)), units[m.group(2).lower()]
    return f"{number} {unit}{'' if number == '1' else 's'}", m


@lru_cache(maxsize=8)
def decades(lexicon: Lexicon) -> re.Pattern[str]:
    """A decade as other languages write it ('années 70', 'den 70ern'); its figures are group 1 or 2, else a word."""
    before, ending, words = (_forms(lexicon, kind) for kind in ("decade_before", "decade_ending", "decade"))
    figures = rf"(?:{before})\s+'?(?:19)?([2-9]0)|(?:19)?([2-9]0)\s?-?(?:{ending})"
    return re.compile(rf"{_OPENS}(?:{figures}|{words}){_CLOSES}", re.I)


@lru_cache(maxsize=8)
def decade_words(lexicon: Lexicon) -> dict[str, str]:
    """The decade that each such word names."""
    return {f.lower(): w.value or "" for w in lexicon.words if w.kind == "decade" for f in w.forms}


@lru_cache(maxsize=8)
def weights(lexicon: Lexicon) -> Scan:
    """A number of grams; the figure is the first group."""
    return scan(rf"\b(\d{{2,3}})\s{{0,2}}-?(?:{_forms(lexicon, 'unit_gram')})\b\.?", re.I)
