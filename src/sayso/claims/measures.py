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
    return "|".join(map(re.escape, sorted(found, key=lambda f: (-len(f), f))))


@lru_cache(maxsize=8)
def _days(lexicon: Lexicon) -> tuple[re.Pattern[str], dict[str, str]]:
    words = {f.lower(): w.value or "" for w in lexicon.words if w.kind == "number_word" for f in w.forms}
    number = "|".join([r"\d{1,2}", *map(re.escape, words)])
    return re.compile(rf"\b({number})[\s-]*(?:{_forms(lexicon, 'unit_day')})", re.I), words


def days_in(text: str, start: int, end: int, lexicon: Lexicon) -> tuple[str, re.Match[str]] | None:
    """How many days the passage speaks of, as a figure, with the words that say so."""
    pattern, words = _days(lexicon)
    m = pattern.search(text, start, end)
    return (words.get(m.group(1).lower(), m.group(1)), m) if m else None


@lru_cache(maxsize=8)
def weights(lexicon: Lexicon) -> Scan:
    """A number of grams; the figure is the first group."""
    return scan(rf"\b(\d{{2,3}})\s{{0,2}}-?(?:{_forms(lexicon, 'unit_gram')})\b\.?", re.I)
