"""Codes in lists, a side told by the other one, towns, in sellers' words (common practice, no source)."""

from __future__ import annotations

import pytest

from sayso.engine import audit_text
from sayso.lexicon import load_lexicon

LEXICON = load_lexicon(user=False)


def said(text: str, feature: str) -> list[tuple[str, str | None, object]]:
    return [(c.polarity, c.side, c.value) for c in audit_text(text, LEXICON).claims if c.feature == feature]


@pytest.mark.parametrize(
    ("text", "want"),
    [
        ("Stampers 3G / 1T.", [("present", "both", "3G/1T")]),
        ("Stamper letters are GO on side one and RM on side two.", [("present", "a", "GO"), ("present", "b", "RM")]),
        ("Mothers by side: 2 and 5.", [("present", "a", "mother 2"), ("present", "b", "mother 5")]),
        ("My mother is 86 and bought this new.", []),
        ("Mother's collection, 3 LPs left.", []),
        ("Dead wax: QX-1023-A, G, 2.", [("present", None, "G"), ("present", None, "2")]),
        ("Dead wax QX-1023-A, 2 small scratches.", []),
    ],
)
def test_codes_behind_a_word_for_them(text: str, want: list[tuple[str, str | None, object]]) -> None:
    assert said(text, "deadwax.stamper_code") == want


def test_a_side_told_by_the_other_one() -> None:
    text = "Side one: QX-10-A, hand etched. Side two the same but for the B."
    assert ("present", "b", "QX-10-B") in said(text, "deadwax.matrix")
    assert ("present", "b", "hand-etched") in said(text, "deadwax.lettering")


def test_a_side_that_has_the_same_label_tells_nothing_of_its_run_out() -> None:
    text = "Side one: QX-10-A, hand etched. Side two has the same label."
    assert all(side != "b" for _, side, _ in said(text, "deadwax.lettering"))


def test_the_side_that_opens_a_clause_holds_to_its_end() -> None:
    text = (
        "Side one has a pressed ring in the label, side two, as far as it goes, is flat and shows no ring in the label."
    )
    assert {(p, s) for p, s, _ in said(text, "label.deep_groove")} == {("present", "a"), ("absent", "b")}


@pytest.mark.parametrize(
    "text",
    [
        "Run-out A: QX 140 A, stamped; run-out B: QX 140 B, not stamped.",
        "Side A: QX 140 A, stamped, side B: QX 140 B, not stamped.",
        "QX 140 A and QX 140 B, with stamped letters on A but no stamped letters on B.",
    ],
)
def test_what_is_there_and_is_not_belongs_to_the_number_it_stands_behind(text: str) -> None:
    told = {(p, s) for p, s, v in said(text, "deadwax.lettering") if v == "machine-stamped"}
    assert told == {("present", "a"), ("absent", "b")}


@pytest.mark.parametrize(
    ("text", "want"),
    [
        ("Deep groove in the label, not on side 2.", {("present", "a"), ("absent", "b")}),
        ("There's a ring pressed in the label; the other has none.", {("present", None), ("absent", None)}),
        ("dg s1 only", {("present", "a"), ("absent", "b")}),
    ],
)
def test_what_one_side_lacks_the_other_has(text: str, want: set[tuple[str, str | None]]) -> None:
    assert {(p, s) for p, s, _ in said(text, "label.deep_groove")} == want


@pytest.mark.parametrize(
    ("text", "want"),
    [
        ("Label with the Dunmarsh address.", ["Dunmarsh"]),
        ("Bottom of the label says Dunmarsh, N.Y.", ["Dunmarsh, N.Y."]),
        ("Our Dunmarsh address is on the invoice.", []),
        ("Previous owner's name and address on the label.", []),
    ],
)
def test_a_town_on_the_label(text: str, want: list[str]) -> None:
    assert [v for _, _, v in said(text, "label.address")] == want
