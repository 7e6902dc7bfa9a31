"""How well a sentence fits each question: words in common, words of the trade, and what it claims."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from typing import TYPE_CHECKING

from sayso.model import Claim
from sayso.replies.layout import words_of
from sayso.replies.nouns import Asked
from sayso.replies.runout import codes_in
from sayso.replies.words import Forms, Hit

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

CLAIM, TERM, SHAPE, WORD, ZONE = 3.0, 1.5, 1.2, 1.0, 0.6
"""What these weigh: a claim of the feature, a word of the trade, the shape of an answer, a rare word of the question,
words for the part of the record. Only their order matters: a claim outweighs words; one rare word in common will do."""
# Answers that can be told by their shape: a code of letters and numbers, letters alone, a year.
_SHAPES = (
    (
        re.compile(r"(?<!\w)(?=[\w/.-]*\d)(?=[\w/.-]*[A-Z])[A-Z0-9][A-Z0-9/.-]{2,}(?!\w)|\b[A-Z]{2,4} ?-?\d{2,}"),
        "deadwax.matrix",
    ),
    (re.compile(r"(?<![\w-])[A-Z]{2,4}(?![\w+-])|(?<!\w)(?:[A-Z] ){2,}[A-Z](?!\w)"), "deadwax.mastering_mark"),
    (re.compile(r"(?<!\d)19\d\d(?!\d)"), "edition.year"),
    (re.compile(r"(?<!\w)[Aa]n? [A-Z](?![\w'’])|(?<![\w'’-])[C-HJ-Z](?![\w.'’-])"), "deadwax.stamper_code"),
)
STEM = 5
"""Words of the question count as repeated where so many first letters agree (plurals, cases)."""
_COMMON = 4
"""Words shorter than this are too common to tell questions apart."""


@dataclass(frozen=True)
class Fit:
    """How well a sentence fits one question, and the entry that speaks for it most."""

    question: int
    score: float
    rule: str
    sure: bool = False
    """A claim or a word of the trade speaks for it, not only words in common."""
    zone: bool = False
    """The sentence speaks of the part of the record where one looks for it."""


class Topics:
    """The questions, ready to be compared with sentences."""

    def __init__(
        self, asked: Sequence[Asked], forms: Forms, lexicon: Lexicon, stems: Sequence[tuple[str, str]] = ()
    ) -> None:
        self._asked = asked
        self._stems = stems
        self._forms = forms
        self._zone = {f.id: f.zone for f in lexicon.features.values()}
        said = {q.n: _stems(q.text) for q in asked}
        self._rare = {n: {s: 1 / sum(s in other for other in said.values()) for s in mine} for n, mine in said.items()}

    def features(self, text: str) -> tuple[str, ...]:
        """The features that a text speaks of by the words of the trade."""
        hits = self._hits(text)
        return tuple(dict.fromkeys(h.value for h in hits if h.value and not h.value.startswith("zone:")))

    def _hits(self, text: str) -> list[Hit]:
        hits = list(self._forms.find("reply_topic", text))
        # A word inside a longer one of the lexicon ('ring' in 'ring wear') does not count.
        return [h for h in hits if not any(o is not h and _inside(h.start, h.end, o.start, o.end) for o in hits)]

    def fit(self, text: str, claims: Sequence[Claim] = (), *, best: bool = True) -> list[Fit]:
        """The questions this sentence fits, best first; with `best` false also those that others fit better."""
        hits = self._hits(text)
        said = _stems(text)
        shapes = {feature for shape, feature in _SHAPES if shape.search(text)} if text.upper() != text else set()
        if self._stems and codes_in(text, self._stems, loose=False):
            shapes.add("deadwax.matrix")
        out = []
        for q in self._asked:
            claimed = {c.feature for c in claims if not _of_a_part(c, hits)} & set(q.features)
            score, rule = CLAIM * len(claimed), "claim" if claimed else ""
            values: dict[str, str] = {h.value: h.rule for h in hits if h.value}
            zone = any(f"zone:{self._zone.get(f)}" in values for f in q.features)
            for feature in q.features:
                if feature in values:
                    score, rule = score + TERM, rule or values[feature]
                elif f"zone:{self._zone.get(feature)}" in values:
                    score, rule = score + ZONE / len(q.features), rule or values[f"zone:{self._zone.get(feature)}"]
            sure = score >= TERM
            if not sure and shapes & set(q.features):
                score, rule = score + SHAPE, rule or "shape of the answer"
            shared = sum(w for s, w in self._rare[q.n].items() if s in said)
            if shared:
                score, rule = score + WORD * min(shared, 2.0), rule or "words of the question"
            if score > 0:
                out.append(Fit(q.n, round(score, 3), rule, sure, zone))
        out.sort(key=lambda f: -f.score)
        return [f for f in out if f.score >= out[0].score - 0.25 or f.sure or f.zone] if best and out else out


def _of_a_part(claim: Claim, hits: Sequence[Hit]) -> bool:
    """'The inner is the original one': 'original' by itself, where the sentence speaks of the inner sleeve."""
    if claim.feature != "edition.original" or " " in claim.quote:
        return False
    return any(h.value == "inner.original" for h in hits)


def _inside(a: int, b: int, c: int, d: int) -> bool:
    return c <= a and b <= d and (d - c) > (b - a)


def _stems(text: str) -> set[str]:
    common = common_words()
    return {w.fold[:STEM] for w in words_of(text) if len(w.fold) >= _COMMON and w.fold not in common}


@cache
def common_words() -> frozenset[str]:
    """Words that tell no question from another: the stop words that spaCy has for these languages."""
    words: set[str] = set()
    for language in ("en", "de", "fr", "it", "es", "nl"):
        words |= import_module(f"spacy.lang.{language}.stop_words").STOP_WORDS
    return frozenset(words)
