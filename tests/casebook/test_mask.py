"""Contacts are masked before anything is kept; what is printed on a record is not."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sayso.casebook.mask import contacts, masked
from sayso.replies.answers import answer_reply
from tests.casebook.sample import ASKED, LEXICON, audit, book, claim


def clean(text: str, **more: object) -> str:
    return masked(text, contacts(text, LEXICON, **more))  # type: ignore[arg-type]


# Shapes as in ITU-T E.123; the numbers are of ranges that Ofcom and NANPA keep for fiction (both from memory).
@pytest.mark.parametrize(
    "secret",
    [
        "marl@example.org",
        "m.arl+records@mail.example.co.uk",
        "+44 20 7946 0000",
        "020 7946 0991",
        "(212) 555-0142",
        "212-555-0142",
        "0049 30 901820",
        "@marlrecords",
    ],
)
def test_ways_to_reach_people_are_masked(secret: str) -> None:
    text = f"Write to {secret} if in doubt."
    assert secret not in clean(text)
    assert clean(text).startswith("Write to ")
    assert clean(text).endswith(" if in doubt.")
    assert len(clean(text)) == len(text)


@pytest.mark.parametrize(
    "text",
    [
        "Bar code 5012345678900 on the back.",  # the example number of GS1's general specifications
        "Bar code 5 012345 678900",
        "Sandglass SGL 1207, SGL 1207 A1 / B1",
        "Recorded 1957-1959, pressed 1962.",
        "£120, or 90 EUR posted",
        "180 g, 30 cm, 33 1/3",
        "matrix LP-1041-A and -B",
    ],
)
def test_numbers_of_records_stay(text: str) -> None:
    assert clean(text) == text


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("All fine.\nRegards, Marl", "Marl"),
        ("Gut.\nMfG Uwe", "Uwe"),
        ("Bien.\nCordialement,\nJeanne Marchais", "Jeanne Marchais"),
        ("Seller: Kettlewick Records\nLP", "Kettlewick Records"),
    ],
)
def test_names_below_a_letter_are_masked(text: str, name: str) -> None:
    assert name not in clean(text)


def test_a_number_that_a_claim_quotes_stays() -> None:
    text = "On the label: tel. 020 7946 0991. Ask me: tel. 020 7946 0992."
    at = text.index("020 7946 0991")
    assert clean(text, keep=[(at, at + 13)]) == text.replace("020 7946 0992", "*** **** ****")


def test_nothing_of_a_contact_is_left_in_the_file(tmp_path: Path) -> None:
    text = "Low Water\n\nOriginal pressing. Kettle in the run-out. Cover VG+. Ask Marl Tideway, marl@example.org, "
    text += "+44 20 7946 0000."
    made = audit(text, seller="Marl Tideway")
    reply = answer_reply(made, "1. yes, mail marl@example.org\nRegards, Tideway", ASKED, LEXICON)
    path = tmp_path / "b.sqlite"
    with book(path) as b:
        number = b.save_audit(made, lexicon=LEXICON)
        b.record_reply(number, reply, lexicon=LEXICON)
        b.note(number, "Marl's mail is marl@example.org", lexicon=LEXICON)
        case = b.load_case(number)
    data = path.read_bytes()
    for secret in (b"marl@", b"7946", b"Tideway"):
        assert secret not in data
    for _, kept in case.audits():
        assert len(kept.listing.text) >= len(text)
        for c in kept.claims:
            assert kept.listing.text[c.start : c.end] == c.quote


def test_with_keep_contacts_they_are_kept(tmp_path: Path) -> None:
    made = audit("Low Water\n\nOriginal pressing. Mail marl@example.org", claims=())
    with book(tmp_path / "b.sqlite") as b:
        assert b.load_case(b.save_audit(made, keep_contacts=True)).audit == made


@settings(max_examples=80, deadline=None)
@given(st.text(max_size=120), st.emails(), st.text(max_size=120))
def test_any_text_keeps_its_length_and_its_claims_their_quotes(before: str, address: str, after: str) -> None:
    text = f"T\n\n{before} VG+ {address} {after}"
    made = audit(text, claims=(claim(text, "VG+", "condition.vinyl_grade", value="VG+"),))
    from sayso.casebook.mask import mask_audit

    data = mask_audit(made.model_dump(mode="json", by_alias=True), made, LEXICON)
    kept = data["listing"]["text"]
    assert len(kept) == len(text)
    for c in data["claims"]:
        assert kept[c["start"] : c["end"]] == c["quote"]
