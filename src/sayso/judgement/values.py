"""Whether the seller's words for a value fit a value of the dossier ('Hallam' and '1140 Hallam St., Chicago 10')."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from functools import lru_cache

from sayso.judgement.dossier import ABSENT

CODES: frozenset[str] = frozenset(
    {"deadwax.matrix", "deadwax.stamper_code", "deadwax.mastering_mark", "deadwax.plant_mark"}
)
"""Signs that are read letter by letter, so that a near miss is a miss."""
ENOUGH = 62.0
CLEARLY = 8.0


@lru_cache(maxsize=4096)
def tokens(text: str) -> tuple[str, ...]:
    """Letters and digits in runs, case folded, without accents."""
    plain = unicodedata.normalize("NFKD", text).casefold()
    return tuple(re.findall(r"[^\W\d_]+|\d+", "".join(c for c in plain if not unicodedata.combining(c))))


def fitting(feature: str, words: str, side: str | None, known: Sequence[str]) -> tuple[str, ...]:
    """The values of `known` that the words may mean; empty where none fits. Absence is never meant by words."""
    there = [v for v in dict.fromkeys(known) if v.casefold() not in ABSENT]
    if not words.strip() or not there:
        return ()
    exact = [v for v in there if tokens(v) == tokens(words)]
    if exact:
        return tuple(exact)
    if feature in CODES:
        return tuple(v for v in there if _code(words, v, side)) or _some_of(feature, words, there)
    return _nearest(words, there)


def _some_of(feature: str, words: str, known: Sequence[str]) -> tuple[str, ...]:
    """Single letters or numbers of a code, as a layman copies them out one by one; the plant mark's bare letter."""
    mine = set(tokens(words))
    if not mine or feature == "deadwax.mastering_mark":
        return ()
    found = tuple(v for v in known if mine <= set(tokens(v)))
    return found if len(found) < len(known) or len(known) == 1 else ()


def _code(words: str, value: str, side: str | None) -> bool:
    mine = tokens(words)
    whole = tokens(value)
    if not mine or not whole:
        return False
    # One side of a pair: 'A-1' of 'A-1/B-1'; the catalogue number may stand before it.
    sides = [tokens(x) for x in value.split("/")]
    if len(sides) == 2 and side in ("a", "b"):
        wanted = sides[0 if side == "a" else 1]
        return _within(wanted, mine) or _within(mine, wanted)
    if len(sides) == 2:
        return _within(whole, mine) or all(_within(s, mine) for s in sides) or any(mine == s for s in sides)
    return _within(whole, mine) or (_within(mine, whole) and len("".join(mine)) > 2)


def _within(short: Sequence[str], long: Sequence[str]) -> bool:
    n = len(short)
    return any(tuple(long[i : i + n]) == tuple(short) for i in range(len(long) - n + 1))


def _nearest(words: str, known: Iterable[str]) -> tuple[str, ...]:
    from rapidfuzz import fuzz

    mine = " ".join(tokens(words))
    scored = sorted(
        ((max(fuzz.token_set_ratio(mine, " ".join(tokens(v))), _begins(words, v)), v) for v in known), reverse=True
    )
    best = scored[0][0]
    if best < ENOUGH:
        return ()
    return tuple(v for score, v in scored if score >= best - CLEARLY)


def _begins(words: str, value: str) -> float:
    """'a sun' for 'sunburst': a word of the seller's begins the first word of the value."""
    head = tokens(value)[:1]
    return 75.0 if head and any(len(t) >= 3 and head[0].startswith(t) for t in tokens(words)) else 0.0
