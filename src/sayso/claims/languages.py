"""Which language a listing is written in, by words that no other language of the trade has."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from sayso.claims.spelling import bare
from sayso.lexicon.made import of_lexicon
from sayso.model import Listing

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

ENGLISH, JAPANESE = "en", "ja"
FEWEST = 2
"""So many different words of a language, or a fifth of all words, before it is taken to be spoken."""
NONE_ENGLISH = 12
"""In so many words one of a language is enough where none is English."""
TITLE_COUNTS_BELOW = 12
"""In a longer text the title is left out: it names music of any language."""
SHORTEST_PLAIN = 4
"""A shorter word tells a language only with its accents."""


@of_lexicon
def _table(lexicon: Lexicon) -> dict[str, tuple[str, ...]]:
    out: dict[str, tuple[str, ...]] = {}
    for row in lexicon.words:
        if row.kind == "language" and row.value:
            for form in row.forms:
                out[form] = (*out.get(form, ()), row.value)
    # As they are typed without accents, where that is no other word ('tambien', 'etat').
    for form, values in list(out.items()):
        plain = bare(form)
        if len(plain) >= SHORTEST_PLAIN and plain not in out:
            out[plain] = values
    return out


def spoken(listing: Listing, words: Sequence[str], starts: Sequence[int], lexicon: Lexicon) -> tuple[str, str | None]:
    """The language of a listing, and the language beside English whose words it uses. Pure.

    Both come from words counted once each; a seller who mixes two languages is given the foreign one, since English
    words are read in every listing. 'en' where nothing tells.
    """
    table = _table(lexicon)
    title = next((s.end for s in listing.segments if s.kind == "title"), 0)
    body = [w for w, at in zip(words, starts, strict=True) if at >= title]
    heard = body if len(body) >= TITLE_COUNTS_BELOW else list(words)
    if listing.language != ENGLISH:
        return listing.language, listing.language
    kana = 0 if listing.text.isascii() else sum(1 for w in heard if "\u3040" <= w[0] <= "\u30ff")
    if kana >= FEWEST:
        letters = sum(1 for w in heard if w[0].isalpha())
        return JAPANESE if kana * 8 >= letters else ENGLISH, JAPANESE
    found: dict[str, set[str]] = {}
    for word in set(heard):
        languages = table.get(word, ())
        for language in (ENGLISH,) if ENGLISH in languages else languages:
            found.setdefault(language, set()).add(word)
    english = len(found.pop(ENGLISH, ()))
    # A word of several languages tells less of each.
    best = max(found, key=lambda k: (sum(1 / len(table[w]) for w in found[k]), k), default=None)
    if best is None:
        return ENGLISH, None
    told = len(found[best])
    # A sentence with no English word and one of another language is hardly English.
    if told < FEWEST and told * (NONE_ENGLISH if not english else 5) < len(heard):
        return ENGLISH, None
    if told * 4 < english:
        return ENGLISH, None
    return (best if told * 2 >= english else ENGLISH), best


__all__ = ["spoken"]
