"""The lexicon made ready for matching: one phrase matcher over terms, cues and words."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from sayso.claims.tokens import doc_of, fold, pipeline, spans, variants
from sayso.lexicon.terms import Cue, Term, Word

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

USED = frozenset(
    {
        "part",
        "side",
        "section",
        "colour",
        "role",
        "picture",
        "naive",
        "indefinite",
        "lot",
        "question_or",
        "state",
        "stamper",
        "only",
        "history",
        "clock",
        "order",
        "proform",
        "inversion",
        "joiner",
        "design_with",
        "design_noun",
        "upon",
        "address_tell",
        "upon_no",
        "quote_lead",
        "street",
        "this_copy",
        "music",
        "open_end",
        "linking",
    }
)
SHORTEST = 6
"""Shorter words are never taken for a misspelling; of this length only where two letters are exchanged."""
_MENDED = frozenset({"part", "side", "colour"})
_SCANNED = re.compile(
    r"(?<![\w-])(?!\d(?:st|nd|rd|th)\b)(?=[A-Za-z]*(?:[0145|][A-Za-z]|[a-z][0145I]|l))[A-Za-z0145|]{3,}(?![\w-])"
)
_LOOKALIKE = tuple(
    str.maketrans(before, after) for before, after in (("104|5", "loals"), ("104|5", "ioais"), ("l", "i"), ("i", "l"))
)


@dataclass(frozen=True)
class Hit:
    """A row found at tokens [i, j)."""

    i: int
    j: int
    row: Term | Cue | Word


@dataclass
class Index:
    """Phrase → rows, behind one matcher."""

    matcher: Any
    rows: dict[str, list[Term | Cue | Word]]
    exact: dict[str, list[Term]]
    lexicon: Any
    near: dict[str, tuple[str, ...]] = field(default_factory=dict)
    known: frozenset[str] = frozenset()
    ordinary: frozenset[str] = frozenset()
    shortened: frozenset[str] = frozenset()
    """Words that end in a full stop without ending a sentence."""
    cache: dict[str, str] = field(default_factory=dict)


@lru_cache(maxsize=8)
def index_of(lexicon: Lexicon) -> Index:
    """Built once for each lexicon."""
    from spacy.matcher import PhraseMatcher

    matcher = PhraseMatcher(pipeline().vocab, attr="LOWER")
    rows: dict[str, list[Term | Cue | Word]] = {}
    exact: dict[str, list[Term]] = {}
    long_words: set[str] = set()
    known: set[str] = set()
    everything: list[Term | Cue | Word] = [
        *lexicon.terms,
        *lexicon.cues,
        *(w for w in lexicon.words if w.kind in USED),
    ]
    for row in everything:
        for form in row.forms:
            if isinstance(row, Term) and row.exact:
                exact.setdefault(fold(form), []).append(row)
            for words in variants(form):
                rows.setdefault("\x1f".join(words), []).append(row)
                known.update(words)
                if isinstance(row, Term) or row.kind in _MENDED:
                    long_words.update(w for w in words if len(w) >= SHORTEST and w.isascii() and w.isalpha())
    matcher.add("x", [doc_of(key.split("\x1f")) for key in rows])
    ordinary = frozenset(f for w in lexicon.words if w.kind == "ordinary" for f in w.forms)
    shortened = frozenset(f for w in lexicon.words if w.kind == "abbreviation" for f in w.forms)
    near = _neighbours(long_words - ordinary)
    return Index(matcher, rows, exact, lexicon, near, frozenset(known), ordinary, shortened)


def find(index: Index, text: str, toks: list[tuple[int, int]]) -> list[Hit]:
    """All rows in the text, longest first where terms of one feature overlap."""
    words = [text[a:b] for a, b in toks]
    lowered = [_mended(w.lower(), index) for w in words]
    doc = doc_of(lowered)
    out: list[Hit] = []
    for _, i, j in index.matcher(doc):
        for row in index.rows["\x1f".join(lowered[i:j])]:
            if isinstance(row, Term) and row.exact:
                written = text[toks[i][0] : toks[j - 1][1]]
                if not any(fold(f) == written for f in row.forms):
                    continue
            out.append(Hit(i, j, row))
    out.sort(key=lambda h: (h.i, h.i - h.j))
    return out


def _mended(word: str, index: Index) -> str:
    """A long misspelt word as the one known word it is near to; itself in every other case."""
    if len(word) < SHORTEST or not word.isascii() or not word.isalpha() or word in index.known:
        return word
    if word not in index.cache:
        if len(index.cache) > 50_000:
            index.cache.clear()
        index.cache[word] = _nearest(word, index)
    return index.cache[word]


def _nearest(word: str, index: Index) -> str:
    """The known word one letter away (or two letters exchanged), where it is the only one and the word is no other."""
    if word in index.ordinary:
        return word
    from rapidfuzz.distance import OSA

    found: set[str] = set()
    for part in {word, *_shortened(word)}:
        found.update(index.near.get(part, ()))
    close = [w for w in found if w[0] == word[0] and OSA.distance(w, word, score_cutoff=1) <= 1]
    if len(word) == SHORTEST:
        close = [w for w in close if sorted(w) == sorted(word)]
    shortest = min(close, key=lambda w: (len(w), w), default=word)
    return shortest if all(w.startswith(shortest) for w in close) else word


def _shortened(word: str) -> set[str]:
    return {word[:n] + word[n + 1 :] for n in range(len(word))}


def _neighbours(words: set[str]) -> dict[str, tuple[str, ...]]:
    """Every word under itself and under itself without one letter: two words one edit apart share such a form."""
    out: dict[str, list[str]] = {}
    for word in sorted(words):
        for part in {word, *_shortened(word)}:
            out.setdefault(part, []).append(word)
    return {k: tuple(v) for k, v in out.items()}


def unscanned(text: str, index: Index) -> str:
    """Folded text with every sign that a scanner put for another one mended ('Labe1', 'chlp'); same length."""

    def mend(m: re.Match[str]) -> str:
        word = m.group()
        low = word.lower()
        if low in index.known or low in index.ordinary:
            return word
        for lookalike in _LOOKALIKE:
            made = low.translate(lookalike)
            if made != low and made in index.known and made.isalpha() and len(made) >= 3:
                return made
        return word

    return _SCANNED.sub(mend, text)


__all__ = ["Hit", "Index", "find", "index_of", "spans"]
