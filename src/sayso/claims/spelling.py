"""Foreign words as they are typed: without accents and umlauts, a letter wrong, several words in one."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import product
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sayso.lexicon.terms import Word

_TRANSCRIBED = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "ß": "ss"})
_LINKS = ("", "s", "n", "en", "es", "e", "er", "-", "s-")
"""What may stand between the parts of a German or Dutch compound ('Sammlung|s|auflösung')."""
LONGEST_FORM = 6
"""Longer forms are known as they are written only, since each word can be written in several ways."""
SHORTEST_BARE = 6
"""A shorter word by itself needs its accents ('à', 'où'); beside others it is known without."""
SHORTEST_MENDED = 7
SETTLED = 3
"""Letters at the beginning of a word that a mended spelling must share: a prefix turns the meaning."""
SHORTEST_PART = 3


def bare(word: str) -> str:
    """The word without its accents ('é' as 'e', 'ß' as 'ss')."""
    if word.isascii():
        return word
    apart = unicodedata.normalize("NFD", word)
    return "".join(c for c in apart if not unicodedata.combining(c)).replace("ß", "ss")


def spellings(words: tuple[str, ...], kept: frozenset[str], *, stated: bool) -> Iterable[tuple[str, ...]]:
    """Other ways of typing a form: umlauts written out; accents left out where the word stays itself.

    `kept` are words that become another one without their accents. Only what is `stated` (a term or a part, no cue)
    may lose its umlauts altogether.
    """
    if len(words) > LONGEST_FORM:
        return ()
    single = len(words) == 1
    each = [(w,) if w.isascii() or w in kept else _ways(w, single, stated) for w in words]
    return [made for made in product(*each) if made != words]


@lru_cache(maxsize=4096)
def _ways(word: str, single: bool, stated: bool) -> tuple[str, ...]:
    """The word with its accents, and as it is typed without them."""
    if single and len(word) < SHORTEST_BARE - 1:
        return (word,)
    written, plain = word.translate(_TRANSCRIBED), bare(word)
    ways = [word] if written == word else [word, written]
    if plain not in ways and (written == word or (stated and len(word) >= SHORTEST_BARE)):
        ways.append(plain)
    return tuple(ways)


@dataclass(frozen=True)
class Compounds:
    """The words with which compounds of a language end."""

    heads: tuple[str, ...] = ()
    """Longest first; what stands before one must be a known word."""
    free: frozenset[str] = frozenset()
    """Those before which anything may stand: a thing of this kind, whatever it is called."""

    def cut(self, word: str, known: Iterable[frozenset[str]]) -> tuple[int, str] | None:
        """Where the last part begins, and the known word before it; null where the word is no such compound."""
        known = tuple(known)
        for head in self.heads:
            at = len(word) - len(head)
            if at < SHORTEST_PART or not word.endswith(head):
                continue
            front = word[:at]
            found = _known(front, known)
            if found is not None:
                return at, found
            if head in self.free and front.isalpha():
                return at, front
        return None


def _known(front: str, known: tuple[frozenset[str], ...]) -> str | None:
    """The known word that a first part is, with its linking letters taken off or the letter it lost put back."""
    for link in _LINKS:
        stem = front[: len(front) - len(link)] if link and front.endswith(link) else front if not link else ""
        if len(stem) >= SHORTEST_PART:
            for made in (stem, f"{stem}e"):
                if any(made in words for words in known):
                    return made
    return None


def compounds_of(rows: Iterable[Word]) -> Compounds:
    """The heads of compounds among the words of a language."""
    rows = tuple(rows)
    free = frozenset(f.lower() for w in rows if w.kind == "compound_free" for f in w.forms)
    heads = free | {f.lower() for w in rows if w.kind == "compound_head" for f in w.forms}
    return Compounds(tuple(sorted(heads, key=lambda f: (-len(f), f))), free)


@dataclass
class Mender:
    """The words of a language as they may be mistyped."""

    alike: dict[str, list[str]] = field(default_factory=dict)
    """The words by the letters with which they begin, which a slip is not thought to touch."""
    remembered: dict[str, str] = field(default_factory=dict)
    slips: dict[str, str] = field(default_factory=dict)
    """Words of chat and dialect, each with the word it stands for ('nich')."""

    def __getstate__(self) -> dict[str, object]:
        """What is made of the lexicon, without the words met in listings."""
        return self.__dict__ | {"remembered": {}}

    def mended(self, word: str, known: frozenset[str]) -> str:
        """The known word that this one stands for; itself where none or several are near."""
        if word in self.slips:
            return self.slips[word]
        if word in known:
            return word
        plain = bare(word)
        if plain in known:
            return plain
        if len(word) < SHORTEST_MENDED - 1 or not word.isalpha():
            return word
        made = self.remembered.get(word)
        if made is None:
            if len(self.remembered) > 20_000:
                self.remembered.clear()
            made = self.remembered[word] = self._nearest(word)
        return made

    def _nearest(self, word: str) -> str:
        from rapidfuzz.distance import OSA

        close = [
            w
            for w in self.alike.get(word[:SETTLED], ())
            if abs(len(w) - len(word)) <= 1 and OSA.distance(w, word, score_cutoff=1) <= 1
        ]
        shortest = min(close, key=lambda w: (len(w), w), default=word)
        return shortest if all(w.startswith(shortest) for w in close) else word


def mender_of(words: Iterable[str]) -> Mender:
    """A mender for these words."""
    alike: dict[str, list[str]] = {}
    for word in sorted({w for w in words if len(w) >= SHORTEST_MENDED and w.isalpha()}):
        alike.setdefault(word[:SETTLED], []).append(word)
    return Mender(alike)


__all__ = ["Compounds", "Mender", "bare", "compounds_of", "mender_of", "spellings"]
