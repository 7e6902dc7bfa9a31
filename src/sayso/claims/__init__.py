"""Listing → claims: tokenizer, sections, terms, assertion, values."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sayso.claims.analysis import Analysis, Assertion
    from sayso.claims.reader import Reading
    from sayso.lexicon import Lexicon
    from sayso.model import Claim, Deferral, Listing


def read_claims(listing: Listing, lexicon: Lexicon) -> Reading:
    """What the listing claims of the copy on offer, with the cues that decided. Pure."""
    from sayso.claims.reader import read

    return read(listing, lexicon)


def analyse(listing: Listing, lexicon: Lexicon) -> Analysis:
    """Sections, sentences and cues of a listing, ready to be asked about any stretch of it."""
    from sayso.claims.analysis import Analysis

    return Analysis(listing, lexicon)


def assess(text: str, start: int, end: int, lexicon: Lexicon | None = None) -> Assertion:
    """The assertion status (affirmed, negated, possible) of `text[start:end]`, from the same code as the audit."""
    from sayso.claims.analysis import Analysis
    from sayso.lexicon import load_lexicon
    from sayso.model import Listing

    return Analysis(Listing(text=text), lexicon or load_lexicon()).assertion(start, end)


def read_answer(
    listing: Listing, start: int, end: int, features: tuple[str, ...], question: str, lexicon: Lexicon
) -> tuple[list[Claim], list[Deferral]]:
    """What `listing.text[start:end]` says as the answer to `question`, which asked about `features`. Pure."""
    from sayso.claims.reader import read_reply_answer

    return read_reply_answer(listing, start, end, features, question, lexicon)
