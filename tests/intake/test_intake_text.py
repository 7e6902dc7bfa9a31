"""Plain text, bytes and records: what becomes of them, and what is refused. Every listing here is invented."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sayso.intake import IntakeError, read_any, read_file, read_record, read_text
from sayso.model import Listing


def tiled(listing: Listing) -> None:
    """Segments lie in the text, in order, and what lies between them is white space."""
    at = 0
    for segment in listing.segments:
        assert at <= segment.start < segment.end <= len(listing.text)
        assert not listing.text[at : segment.start].strip()
        at = segment.end
    assert not listing.text[at:].strip()


def kinds(listing: Listing) -> list[tuple[str, str]]:
    return [(s.kind, listing.text[s.start : s.end]) for s in listing.segments]


def test_a_short_first_line_is_the_title() -> None:
    listing = read_text("Wanda Pell - Low Tide LP\nPlays well. Cover VG.")
    assert listing.text == "Wanda Pell - Low Tide LP\n\nPlays well. Cover VG."
    assert kinds(listing) == [("title", "Wanda Pell - Low Tide LP"), ("description", "Plays well. Cover VG.")]


@pytest.mark.parametrize(
    "text",
    [
        "I am selling my late uncle's jazz records. This one plays well.",
        "Hello,\nthis record is in good shape.",
        "> does it have a groove?\nYes.",
        "x" * 200 + "\nmore",
    ],
)
def test_prose_has_no_title(text: str) -> None:
    assert read_text(text).title == ""


def test_line_ends_of_every_kind_become_one_and_mojibake_stays() -> None:
    listing = read_text("a b c\r\n\r\nVG+\u2028cafÃ©\rend", title=None)
    assert listing.text == "a b c\n\nVG+\ncafÃ©\nend"


def test_a_record_keeps_title_and_text_as_they_stand() -> None:
    record = {"id": 7, "title": "Low  Tide –  LP", "text": "Plays  well .\n\nCover VG.", "price": 30, "currency": "gbp"}
    listing = read_record(record)
    assert listing.text == record["title"] + "\n\n" + record["text"]
    assert (listing.id, str(listing.price), listing.currency) == ("7", "30", "GBP")


def test_specifics_of_a_record_are_lines_of_their_own() -> None:
    listing = read_record({"title": "Low Tide", "text": "Plays.", "specifics": {"Year": 1961, "Grade:": "VG"}})
    assert kinds(listing)[-1] == ("specifics", "Year: 1961\nGrade: VG")
    tiled(listing)


def test_a_reply_is_one_segment_under_its_subject() -> None:
    listing = read_record({"title": "Re: Low Tide", "text": "No groove.\nNo marks.", "format": "reply"})
    assert kinds(listing) == [("title", "Re: Low Tide"), ("reply", "No groove.\nNo marks.")]


@pytest.mark.parametrize("record", [{}, {"title": " ", "text": ""}, {"text": []}, {"text": "x", "format": "pdf"}, [1]])
def test_a_faulty_record_is_refused_with_its_number(record: object) -> None:
    with pytest.raises(IntakeError, match="record 12"):
        read_record(record, number=12)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "data", [b"", b"  \n", b"\xef\xbb\xbf", b"%PDF-1.4 x", b"\x89PNG\r\n", b"PK\x03\x04abc", bytes(range(256)) * 9]
)
def test_what_is_no_text_is_refused_in_one_line(data: bytes) -> None:
    with pytest.raises(IntakeError) as caught:
        read_any(data, "record.txt")
    assert "\n" not in str(caught.value)


def test_too_large_is_refused_and_the_limit_can_be_raised() -> None:
    big = b"Plays well. " * 200_000
    with pytest.raises(IntakeError, match="--max-bytes"):
        read_any(big)
    assert len(read_any(big, max_bytes=3_000_000).text) > 2_000_000


def test_missing_files_and_folders(tmp_path) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(IntakeError, match="no file"):
        read_file(tmp_path / "gone.txt")
    with pytest.raises(IntakeError, match="sayso review"):
        read_file(tmp_path)


SENTENCES = {
    "cp1252": "Pochette laminée, très bon état, prix 30 €. Disque joué à l’endroit, aucun défaut visible.",
    "cp932": "再発盤です。ラベルに溝はありません。盤面はきれいですが、ジャケットにシミがあります。送料は別です。",
    "utf-16": "Erstpressung, Hülle laminiert, Platte spielt sauber. Keine Kratzer.",
    "utf-8-sig": "Città, perché, così: 12″ 33⅓ £30",
}


@pytest.mark.parametrize("encoding", sorted(SENTENCES))
def test_the_encoding_is_found(encoding: str) -> None:
    text = SENTENCES[encoding]
    assert read_any(text.encode(encoding)).text == text


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=400), st.one_of(st.none(), st.text(max_size=60)))
def test_any_text_is_read_alike_twice_or_refused(text: str, title: str | None) -> None:
    try:
        first = read_text(text, title=title)
    except IntakeError:
        return
    assert first == read_text(text, title=title)
    tiled(first)
    first.model_dump_json()


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    try:
        listing = read_any(data, "x.txt")
    except IntakeError:
        return
    tiled(listing)
    assert listing == read_any(data, "x.txt")


values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=30),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=5,
)
fields = st.sampled_from(
    ["id", "title", "text", "format", "price", "currency", "shipping", "url", "specifics", "seller", "auction"]
)


@settings(max_examples=200, deadline=None)
@given(st.dictionaries(fields, values, max_size=8))
def test_any_record_is_read_or_refused(record: dict[str, object]) -> None:
    try:
        listing = read_record(record, number=1)
    except IntakeError:
        return
    tiled(listing)
    listing.model_dump_json()
