"""The lexicon made ready for matching: one phrase matcher over terms, cues and words."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from sayso.claims.tokens import doc_of, fold, pipeline, spans, variants
from sayso.lexicon.terms import Cue, Term, Word

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

_OTHER = "\x00"
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
    }
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
    long_words: tuple[str, ...] = ()
    known: frozenset[str] = frozenset()
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
                if isinstance(row, Term) and row.fuzzy:
                    long_words.update(w for w in words if len(w) >= 7 and w.isascii() and w.isalpha())
    matcher.add("x", [doc_of(key.split("\x1f")) for key in rows])
    return Index(matcher, rows, exact, lexicon, tuple(sorted(long_words)), frozenset(known))


def find(index: Index, text: str, toks: list[tuple[int, int]]) -> list[Hit]:
    """All rows in the text, longest first where terms of one feature overlap."""
    words = [text[a:b] for a, b in toks]
    lowered = [_mended(w.lower(), index) for w in words]
    # A word of no phrase cannot be part of a hit: one stand-in for all of them keeps the vocabulary as large as the
    # lexicon, however many listings are read.
    doc = doc_of([w if w in index.known else _OTHER for w in lowered])
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
    if len(word) < 7 or not word.isascii() or not word.isalpha() or word in index.known or not index.long_words:
        return word
    if word not in index.cache:
        from rapidfuzz import process
        from rapidfuzz.distance import OSA

        if len(index.cache) > 50_000:
            index.cache.clear()
        near = process.extract(word, index.long_words, scorer=OSA.distance, score_cutoff=1, limit=2)
        index.cache[word] = near[0][0] if len(near) == 1 and near[0][0][0] == word[0] else word
    return index.cache[word]


__all__ = ["Hit", "Index", "find", "index_of", "spans"]
