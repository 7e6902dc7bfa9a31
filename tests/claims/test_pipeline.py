"""The tree of words finds what spaCy's phrase matcher finds; the spaCy pipeline has the claims of the reader."""

from __future__ import annotations

import pytest

from sayso.claims import read_claims
from sayso.claims.index import SHORTEST, USED, find, index_of
from sayso.claims.pipeline import Tokenizer, pipeline
from sayso.claims.tokens import fold, small, spans, variants
from sayso.lexicon import load_lexicon
from sayso.model import Listing
from tests.evaluation.corpora import load

spacy = pytest.importorskip("spacy")


def test_the_tree_finds_what_the_phrase_matcher_of_spacy_finds() -> None:
    # Outside check: spacy.matcher.PhraseMatcher with the same forms over the same words, by their small letters.
    from spacy.matcher import PhraseMatcher
    from spacy.tokens import Doc

    lexicon = load_lexicon(user=False)
    index = index_of(lexicon)
    nlp = spacy.blank("en")
    matcher = PhraseMatcher(nlp.vocab, attr="LOWER")
    rows = [*lexicon.terms, *lexicon.cues, *(w for w in lexicon.words if w.kind in USED)]
    plain = [row for row in rows if not getattr(row, "exact", False)]  # the matcher knows no case
    forms = {w for r in plain for f in r.forms for w in variants(f)}
    matcher.add("x", [Doc(nlp.vocab, words=list(w)) for w in forms])
    # Forms are found in other spellings too ('I'm' for 'I am').
    pairs = [(w.value or "", f) for w in lexicon.words if w.kind in ("contraction", "one_or_many") for f in w.forms]
    drawn = {word for pair in pairs for side in pair for word in side.split()}
    kept = set(map(id, plain))
    found = 0
    for record in load("listings")[:40]:
        text = fold(record["text"])
        toks = spans(text)
        # Without the words that the tree would take for misspelt ones.
        words = [w if w in index.known or len(w) < SHORTEST else "-" for w in small(text, toks)]
        hits = find(index, text, toks, words)
        ours = {(h.i, h.j) for kind in list(hits.kinds()) for h in hits.get(kind)[1] if id(h.row) in kept}
        written = {(i, j) for _, i, j in matcher(Doc(nlp.vocab, words=words))}
        assert written <= ours
        assert all(not drawn.isdisjoint(words[i:j]) for i, j in ours - written)
        found += len(ours)
    assert found > 500


def test_the_pipeline_has_the_claims_of_the_reader() -> None:
    lexicon = load_lexicon(user=False)
    nlp = pipeline(lexicon)
    text = "Original pressing, deep groove on side 2 only.\n\nNo barcode.  Vinyl VG+, cover EX"
    doc = nlp(text)
    assert doc.text == text
    wanted = read_claims(Listing(text=text), lexicon).claims
    assert wanted
    assert [(s.label_, s.start_char, s.end_char) for s in doc.spans["sayso"]] == [
        (c.feature, c.start, c.end) for c in wanted
    ]
    assert doc.user_data["sayso"] == wanted


@pytest.mark.parametrize("text", ["", " ", "a  b\n\nc ", '12" 33⅓ – ‘d/g’', "両面 A面 U.S. it's"])
def test_the_tokenizer_keeps_every_sign(text: str) -> None:
    doc = Tokenizer(spacy.blank("en").vocab)(text)
    assert doc.text == text
    assert [(t.idx, t.idx + len(t)) for t in doc if not t.is_space] == spans(fold(text))
