"""Foreign words as sellers type them. The spellings are general knowledge of the languages, no source."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sayso.claims.analysis import Analysis
from sayso.claims.spelling import bare, spellings
from sayso.engine import audit_text
from sayso.lexicon import load_lexicon
from sayso.model import Listing

LEXICON = load_lexicon(user=False)


def told(text: str) -> set[tuple[str, str]]:
    return {(c.feature, c.polarity) for c in audit_text(text, LEXICON).claims}


@pytest.mark.parametrize(
    ("as_taught", "as_typed"),
    [
        (
            "Die Innenhülle fehlt, Rückgabe ist leider nicht möglich.",
            "Die Innenhuelle fehlt, Rueckgabe ist leider nicht moeglich.",
        ),
        ("Verkaufe eine Platte, die Hülle hat Wasserflecken.", "Verkaufe eine Platte, die Huelle hat Wasserflecken."),
        (
            "C'est une réédition, pochette pelliculée, disque écouté.",
            "C'est une reedition, pochette pelliculee, disque ecoute.",
        ),
        ("Étiquette noire, la pochette est très jaunie.", "Etiquette noire, la pochette est tres jaunie."),
        ("De plaat is visueel beoordeeld en heeft één kras.", "De plaat is visueel beoordeelt en heeft een kras."),
    ],
)
def test_a_listing_reads_the_same_without_its_accents(as_taught: str, as_typed: str) -> None:
    assert told(as_typed) == told(as_taught) != set()


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("Die Platte ist gut, der Hüllenrand ist nicht schön.", ("Hüllen", "rand")),
        ("De hoesnaad is wat los en de plaat is goed.", ("hoes", "naad")),
    ],
)
def test_compounds_are_read_in_their_parts(text: str, parts: tuple[str, str]) -> None:
    analysis = Analysis(Listing(text=text), LEXICON)
    words = [text[a:b] for a, b in analysis.toks]
    at = words.index(parts[0])
    assert words[at + 1] == parts[1]


def test_a_known_word_is_not_cut() -> None:
    text = "Die Auslaufrille ist sauber und die Platte gut."
    analysis = Analysis(Listing(text=text), LEXICON)
    assert "Auslaufrille" in [text[a:b] for a, b in analysis.toks]


def test_doubt_keeps_its_umlaut() -> None:
    """'Wurde … gepresst' is no 'würde'."""
    claims = audit_text("Die Platte wurde als Originalpressung verkauft und ist mono.", LEXICON).claims
    assert {c.certainty for c in claims if c.feature == "edition.original"} == {"certain"}
    assert ("würde",) not in spellings(("wurde",), frozenset(), stated=False)
    assert list(spellings(("würde",), frozenset({"würde"}), stated=True)) == []


@given(st.text(alphabet="abcdeéèêàçäöüßïñ ", max_size=30))
def test_a_bare_word_has_no_accents_left(word: str) -> None:
    assert bare(bare(word)) == bare(word)
    assert bare(word).isascii()
