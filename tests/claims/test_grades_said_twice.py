"""A grade by name and by symbol is one grade; the letters of a number are none; a country under its key is read.

The scale's names and symbols: common practice, no source.
"""

import pytest

from sayso.engine import audit_text
from sayso.lexicon import load_lexicon

LEXICON = load_lexicon()


def found(words: str, feature: str) -> tuple[str, list[str | int | None]]:
    own = audit_text(f"A jazz LP\n\n{words}", LEXICON)
    state = next(f.state for f in own.findings if f.feature == feature)
    return state, [c.value for c in own.claims if c.feature == feature]


@pytest.mark.parametrize(
    ("words", "state", "values"),
    [
        ("Sleeve Condition: Very Good Plus (VG+)", "stated", ["Very Good Plus"]),
        ("Sleeve: Near Mint (NM or M-)", "stated", ["Near Mint"]),
        ("Sleeve: Very Good Plus\nThe sleeve is VG+.", "stated", ["Very Good Plus", "VG+"]),
        ("Sleeve: Very Good Plus\nThe sleeve is EX.", "conflicting", ["Very Good Plus", "EX"]),
        ("Sleeve: VG. Matrix TB-33-107-A, catalogue TB 33-107.", "stated", ["VG"]),
    ],
)
def test_one_grade(words: str, state: str, values: list[str]) -> None:
    assert found(words, "condition.jacket_grade") == (state, values)


def test_letters_of_a_number_are_no_grade() -> None:
    assert found("Catalogue TB 33-107, matrix TB-33-107-A", "condition.vinyl_grade")[1] == []


@pytest.mark.parametrize(
    ("words", "value"),
    [
        ("Country: United States", "US"),
        ("Country of origin: UK", "UK"),
        ("Country/Region of Manufacture: Canada", "Canada"),
        ("Origin: Austria", "Austria"),
    ],
)
def test_a_country_under_its_key(words: str, value: str) -> None:
    assert found(words, "edition.country")[1] == [value]


def test_country_music_is_no_country() -> None:
    assert found("Country music from Canada, lovely voice.", "edition.country")[1] == []


@pytest.mark.parametrize(
    ("words", "feature", "state"),
    [
        ("Buyer to satisfy themselves re pressing.", "edition.reissue", "silent"),
        ("£120 the lot, no splitting.", "condition.defects", "silent"),
        ("No previous owner names on the cover. Visually NM.", "condition.jacket_grade", "silent"),
        ("Barcode on the back, NM/NM", "condition.vinyl_grade", "stated"),
        ("Matrices 3G / 2G in the run-out with stampers to the right, GO and R.", "deadwax.mastering_mark", "silent"),
    ],
)
def test_read_wrongly_once(words: str, feature: str, state: str) -> None:
    assert found(words, feature)[0] == state
