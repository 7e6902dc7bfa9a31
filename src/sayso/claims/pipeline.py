"""The reading of listings as a spaCy pipeline: a blank one with our tokenizer and one component; no model, no network.

For those who work with spaCy. The audit itself reads without it, from the same index: importing spaCy takes longer
than the whole of an audit.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sayso.claims.tokens import fold, spans

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

CLAIMS = "sayso"
"""The name of the component, and the key of its spans."""


class Tokenizer:
    """Our words as those of a document."""

    def __init__(self, vocab: Any) -> None:
        self.vocab = vocab

    def __call__(self, text: str) -> Any:
        from spacy.tokens import Doc
        from spacy.util import get_words_and_spaces

        words, spaces = get_words_and_spaces([text[a:b] for a, b in spans(fold(text))], text)
        return Doc(self.vocab, words=words, spaces=spaces)


def pipeline(lexicon: Lexicon | None = None) -> Any:
    """A blank English pipeline whose documents have the claims: `doc.spans['sayso']`, labelled with their features.

    The claims themselves are in `doc.user_data['sayso']`, in the same order.
    """
    import spacy
    from spacy.language import Language

    if not Language.has_factory(CLAIMS):
        Language.factory(CLAIMS, func=_component)
    nlp = spacy.blank("en")
    nlp.tokenizer = Tokenizer(nlp.vocab)
    component: Any = nlp.add_pipe(CLAIMS)
    component.lexicon = lexicon
    return nlp


class _Claims:
    def __init__(self) -> None:
        self.lexicon: Lexicon | None = None

    def __call__(self, doc: Any) -> Any:
        from sayso.claims import read_claims
        from sayso.lexicon import load_lexicon
        from sayso.model import Listing

        claims = read_claims(Listing(text=doc.text), self.lexicon or load_lexicon()).claims
        doc.spans[CLAIMS] = [doc.char_span(c.start, c.end, label=c.feature, alignment_mode="expand") for c in claims]
        doc.user_data[CLAIMS] = claims
        return doc


def _component(nlp: Any, name: str) -> _Claims:
    return _Claims()
