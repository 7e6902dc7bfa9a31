"""The rules that stand over every dated fact, one by one (common practice, no source); listings invented."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from sayso.audit.dating import date_listing
from sayso.engine import audit_text
from sayso.lexicon import load_lexicon
from sayso.model import Claim, Conflict, Dating, Listing
from sayso.report.terminal import render

LEXICON = load_lexicon(user=False)


def date(text: str, title: str = "", claims: tuple[Claim, ...] = ()) -> tuple[Dating, tuple[Conflict, ...]]:
    whole = f"{title}\n{text}" if title else text
    return date_listing(SimpleNamespace(listing=Listing(text=whole, title=title), claims=claims), LEXICON)


def kinds(text: str, title: str = "") -> list[str]:
    return [c.kind for c in date(text, title)[1]]


def test_rule_1_only_what_is_said_to_be_printed_counts() -> None:
    assert kinds("1960 original pressing. Label reads Dover Lane, Utica, N.Y. 13501.") == ["age"]
    for own in ("Ships from Utica, N.Y. 13501.", "Utica, N.Y. 13501.", "I live in Utica, N.Y. 13501, label clean."):
        dating, conflicts = date(f"1960 original pressing. {own}")
        assert not conflicts
        assert dating.not_before is None


def test_rule_2_soft_bounds_never_contradict() -> None:
    dating, conflicts = date("Pressed 1974. The label says Cleveland 14, Ohio.")
    assert not conflicts
    assert [b.hard for b in dating.bounds] == [False]
    assert dating.not_after is None


@pytest.mark.parametrize(
    ("text", "later"),
    [
        ("Pressed 1974. The label says Cleveland 14, Ohio.", False),
        ("US pressing from 1975. Label: Cleveland 14, Ohio.", False),
        ("Pressed 1995. Label: Made in West Germany.", False),
        ("1976 pressing, US. Bar code on the back cover.", True),
        ("Pressed 1956. TML stamped in the dead wax.", True),
        ("Pressed 1954. AB in the dead wax.", True),
    ],
)
def test_rule_2_what_hardly_fits_is_a_question(text: str, later: bool) -> None:
    dating, conflicts = date(text)
    assert not conflicts
    [doubt] = dating.doubts
    assert doubt.later is later
    assert all(text[span.start : span.end] == span.quote for span in doubt.between)
    assert "proves nothing" in doubt.why


@pytest.mark.parametrize(
    "text",
    [
        "Pressed 1958. The label says Cleveland 14, Ohio.",
        "1974 reissue. The label says Cleveland 14, Ohio, as the old one did.",
        "Pressed about 1964. The label says Cleveland 14, Ohio.",
        "Pressed 1974. My shop is in Cleveland 14, Ohio.",
        "1976 pressing in a later jacket with a bar code.",
        "Lot of 3 records, all pressed 1974, label: Cleveland 14, Ohio.",
        "Released 1974. The label says Cleveland 14, Ohio.",
    ],
)
def test_rule_2_nor_is_anything_asked_that_fits(text: str) -> None:
    assert not date(text)[0].doubts


def test_rule_2_the_question_is_put_to_the_seller() -> None:
    audit = audit_text("Norbel NB 12 Otha Brill - Slate\n\n1976 pressing, US. Bar code on the back cover. VG+", LEXICON)
    asked = [q for q in audit.questions if "edition.reissue" in q.features]
    assert len(asked) == 1
    assert "Bar code" in asked[0].text
    assert not [c for c in audit.conflicts if c.kind == "age"]
    assert audit.dating.doubts[0].why in " ".join(render(audit, LEXICON, colour=False).split())


@pytest.mark.parametrize(("year", "wanted"), [("1958", []), ("1957", ["age"])])
def test_rule_3_the_coarser_precision_decides(year: str, wanted: list[str]) -> None:
    assert kinds(f"{year} first pressing. STEREO on the label.") == wanted


def test_rule_4_a_release_or_recording_year_is_no_pressing_year() -> None:
    assert not kinds("Recorded in 1956. The album was issued in 1957. STEREO on the label.")
    text = "1957 original LP. STEREO on the label."
    claim = Claim(feature="edition.year", value=1957, role="released", quote="1957", start=0, end=4)
    assert kinds(text) == ["age"]
    assert not date(text, claims=(claim,))[1]


def test_rule_5_a_jacket_binds_the_jacket_alone() -> None:
    dating, conflicts = date("1965 first pressing. Barcode on the back of the jacket.")
    assert [c.kind for c in conflicts] == ["jacket"]
    assert dating.not_before is None
    assert dating.by_carrier["jacket"].not_before == "1974-06-26"
    assert not kinds("1965 first pressing. Barcode sticker on the jacket.")


def test_rule_6_denials_fire_nothing() -> None:
    for said in ("No barcode on the jacket.", "Pre-zip label.", "Label without web address.", "Barcode: none."):
        dating, conflicts = date(f"1965 first pressing. {said}")
        assert not conflicts
        assert not dating.bounds


def test_rule_7_absence_is_no_charge() -> None:
    assert not date("1990 pressing. No barcode, no zip code on the label.")[1]


def test_rule_12_weak_signs_are_questions() -> None:
    for said in (
        "Label: Dover Lane, Burbank, CA",
        "Jacket says '180 gram vinyl'.",
        "Back cover prints 1-800-555-0123.",
    ):
        assert not kinds(f"1960 first pressing. {said}")


def test_a_married_jacket_is_told_from_a_later_pressing() -> None:
    assert kinds("1962 original pressing. Sleeve back: made in the EU.") == ["jacket"]
    assert kinds("1962 original pressing. Label: made in the EU. Sleeve back: made in the EU.") == ["age", "jacket"]
    assert not kinds("1962 original pressing in a later sleeve, made in the EU.")


def test_every_conflict_shows_source_and_innocent_readings() -> None:
    _, conflicts = date("1960 original pressing. Label reads Dover Lane, Utica, N.Y. 13501.")
    assert all(c.source and c.innocent and c.fact in LEXICON.facts for c in conflicts)


def test_the_same_listing_gives_the_same_answer() -> None:
    text = "1960 original pressing. Label reads Dover Lane, Utica, N.Y. 13501."
    assert date(text) == date(text)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("1st pressing! 1966 mono LP. Barcode on back cover.", True),
        ("Original first pressing, mono, 1966. The jacket has a barcode.", True),
        ("Original first pressing, recorded in 1966. The jacket has a barcode.", False),
        ("Original first pressing, perhaps 1966. The jacket has a barcode.", False),
        ("A 1966 LP. The jacket has a barcode.", False),
    ],
)
def test_the_only_year_beside_a_first_pressing_is_that_of_the_copy(text: str, found: bool) -> None:
    # A first pressing is of the year of its music, whichever of the two the seller means. Common practice, no source.
    conflicts = audit_text(f"Don Abelard - Sings\n\n{text}", LEXICON).conflicts
    assert [c.kind for c in conflicts] == (["jacket"] if found else [])
