"""Which dossier speaks of the record on offer: by its number beside a name, or by artist and title."""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING

from sayso.model import Listing

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.lexicon.labels import Label

SHORT = 3
"""Words of a name up to this length (articles, 'and', initials) need not be repeated by the seller."""


def find_dossier(listing: Listing, lexicon: Lexicon) -> Label | None:
    """The dossier of the record on offer, or null where none or more than one fits. Pure.

    A catalogue number counts beside the label's, the artist's or the title's name; artist and title count together.
    An artist's name alone is not enough: it may be any of his records, or none.
    """
    dossiers = _dossiers(lexicon)
    if not dossiers:
        return None
    words = _words(listing.text)
    known = frozenset(words)
    joined = "".join(words)
    best: list[tuple[int, Label]] = []
    for row in dossiers:
        label = any(_all(_words(name), known) for name in (row.name, *row.aliases))
        artist, title = _all(_words(row.artist), known), _all(_words(row.title), known)
        number = bool(row.number) and "".join(_words(row.number)) in joined
        score = 2 if number and (label or artist or title) else 1 if artist and title else 0
        if score:
            best.append((score, row))
    top = max((score for score, _ in best), default=0)
    fitting = [row for score, row in best if score == top]
    return fitting[0] if len(fitting) == 1 else None


def named_dossier(name: str, lexicon: Lexicon) -> Label:
    """The dossier a buyer names, by its id or catalogue number. Raises `LexiconError` where there is none."""
    dossiers = _dossiers(lexicon)
    wanted = "".join(_words(name))
    for row in dossiers:
        if row.id == name or (wanted and "".join(_words(row.number)) == wanted):
            return row
    from sayso.lexicon.rows import LexiconError

    known = ", ".join(x.number or x.id for x in dossiers[:20])
    there = f"there are {known}" if known else "there are none; give one with --lexicon"
    raise LexiconError("dossier", name, f"there is no such dossier; {there}")


def _dossiers(lexicon: Lexicon) -> list[Label]:
    """The rows that speak of one record; what holds of any record names none."""
    return [x for x in lexicon.labels.values() if x.pressings and (x.record or x.number or x.artist or x.title)]


def _words(text: str) -> list[str]:
    plain = unicodedata.normalize("NFKD", text.casefold())
    return re.findall(r"[^\W_]+", "".join(c for c in plain if not unicodedata.combining(c)))


def _all(name: list[str], known: frozenset[str]) -> bool:
    long = [w for w in name if len(w) > SHORT] or name
    return bool(long) and all(w in known for w in long)
