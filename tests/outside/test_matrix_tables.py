"""Tables and codes of the run-out against what others published. Each source is named beside its check."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

import sayso
from sayso.claims.gtin import check_digit, is_gtin
from sayso.claims.runout_codes import decode, encode
from sayso.lexicon import load_lexicon
from sayso.lexicon.geometry import MM_PER_INCH, US, blank_ring, music_end

LEXICON = load_lexicon(user=False)
TABLES = LEXICON.tables

# J. E. Knox, 78-L mailing list, 2001 and again 2010: first letter of the prefix and year of mastering, whole row.
KNOX = "F55 G56 H57 J58 K59 L60 M61 N62 P63 R64 S65 T66 U67 W68 X69 Z70 A71 B72"


@pytest.mark.parametrize("pair", KNOX.split())
def test_rca_year_letters(pair: str) -> None:
    letter, year = pair[0], 1900 + int(pair[1:])
    assert TABLES["rca_year_letter"].entries[letter] == year
    prefix = f"{letter}2PP" if letter not in "AB" else f"{letter}PRS"
    assert sayso.read_runout(f"{prefix}-1234-1S", "RCA Victor", LEXICON).sides[0]["year"] == year


def test_rca_skipped_letters() -> None:
    # The same lists: I, O, Q, V and Y are not used.
    assert not set("IOQVY") & set(TABLES["rca_year_letter"].entries)


def test_rca_examples_of_a_discographer() -> None:
    # M. Biel, 78-L mailing list, 5 December 2008: N09P-3072 and N09Y-3074, 1962, mono and stereo LP, outside lacquer.
    mono = sayso.read_runout("N09P-3072", "RCA Victor", LEXICON).sides[0]
    stereo = sayso.read_runout("N09Y-3074", "RCA Victor", LEXICON).sides[0]
    assert (mono["year"], mono["channels"], mono.get("cut")) == (1962, "mono", None)
    assert (stereo["year"], stereo["channels"]) == (1962, "stereo")


# Worked codes from collectors' pages on EMI metal (theanalogdept.com; beatles-shootouts.de, 'EMI UK Matrices Guide';
# mootzproductions.com): GRAMOPHLTD, G = 1 to T = 9. Codes with D are left out: a university page (surrey.ac.uk, 16
# April 2025) counts D as ten, others as nought.
EMI = [("G", 1), ("R", 2), ("GT", 19), ("GRM", 124), ("PGH", 617), ("RG", 21), ("GR", 12)]
# Decca: monoandstereo.com, 'The Decca dead wax markings'; milestomozart.blogspot.com (2014): BUCKINGHAM, B = 1 to
# A = 9, M = 0.
DECCA = [("B", 1), ("UI", 25), ("BB", 11), ("BU", 12), ("BK", 14)]


@pytest.mark.parametrize(
    ("table", "letters", "number"), [("emi_stamper", *x) for x in EMI] + [("decca_stamper", *x) for x in DECCA]
)
def test_stamper_codes(table: str, letters: str, number: int) -> None:
    assert decode(TABLES[table], letters) == number
    assert encode(TABLES[table], number) == letters


def test_code_words_have_ten_letters_in_order() -> None:
    # The words themselves are in all of the sources above.
    for table, word in (("emi_stamper", "GRAMOPHLTD"), ("decca_stamper", "BUCKINGHAM")):
        entries = TABLES[table].entries
        assert "".join(sorted(entries, key=lambda k: entries[k] or 10)) == word


def test_contested_letters_give_no_number() -> None:
    # PDP is worked out as 696 on one page, 606 by the digit rule, 706 by the university page.
    assert decode(TABLES["emi_stamper"], "PDP") is None


@given(st.integers(1, 9999).filter(lambda n: "0" not in str(n)))
def test_codes_round_trip(number: int) -> None:
    for table in ("emi_stamper", "decca_stamper"):
        letters = encode(TABLES[table], number)
        assert len(letters) == len(str(number))
        assert decode(TABLES[table], letters) == number


# AnalogPlanet, 'Cracking the Columbia Records Code', and London Jazz Collector: A to L without I, then AA, AB ...
@pytest.mark.parametrize(
    ("letters", "place"),
    [("A", 1), ("L", 11), ("AA", 12), ("AB", 13), ("AE", 16), ("AL", 22), ("BA", 23), ("CA", 34), ("CL", 44)],
)
def test_columbia_lacquer_count(letters: str, place: int) -> None:
    assert decode(TABLES["columbia_lacquer"], letters) == place
    assert encode(TABLES["columbia_lacquer"], place) == letters


@pytest.mark.parametrize(
    ("code", "day", "source"),
    [
        ("T", "1940-10-21", "78rpm.nz"),
        ("DT", "1942-04-15", "78rpm.nz"),
        ("TT", "1943-04-14", "78rpm.nz"),
        ("ST", "1946-04-10", "78rpm.nz"),
        ("LT", "1947-11-13", "78rpm.nz"),
        ("AT", "1950-12-30", "78rpm.nz"),
        ("NT", "1953-04-16", "78rpm.nz"),
        ("RT", "1955-10-28", "78rpm.nz"),
        ("XT", "1957-06-01", "78rpm.nz"),
        ("OT", "1961-07-26", "peterice.com"),
        ("ZT", "1962-04-10", "peterice.com; sladestory.blogspot.com"),
        ("PT", "1962-11-26", "peterice.com; sladestory.blogspot.com"),
        ("MT", "1963-01-01", "sladestory.blogspot.com"),
        ("KT", "1963-07-01", "sladestory.blogspot.com; wurzelmania.co.uk"),
        ("JT", "1968-11-23", "wurzelmania.co.uk"),
    ],
)
def test_uk_tax_letters(code: str, day: str, source: str) -> None:
    assert str(TABLES["uk_tax_code"].entries[code]) == day, source


def test_uk_tax_letters_in_order_of_time() -> None:
    days = list(map(str, TABLES["uk_tax_code"].entries.values()))
    assert days == sorted(days)


# JIS S8502-1973, dimension table: music ends outside 115.2 (12- and 10-inch) and 106 mm (7-inch), closing groove 106.4
# and 97, label under 102 and 93 mm. So (115.2 - 102) / 2 = 6.6 with 2.2 inside the closing groove; (106 - 93) / 2 = 6.5
# with 2.0.
@pytest.mark.parametrize(("size", "width", "inner"), [(12, 6.6, 2.2), (10, 6.6, 2.2), (7, 6.5, 2.0)])
def test_blank_ring_of_the_japanese_standard(size: int, width: float, inner: float) -> None:
    ring = blank_ring(size, LEXICON)
    assert ring.width == pytest.approx(width)
    assert ring.inner == pytest.approx(inner)
    assert ring.outer + ring.inner == pytest.approx(ring.width)


def test_blank_ring_of_the_us_standard() -> None:
    # RIAA 1963 in the 'Comparative Table of Standards for 30 cm LP': music to 4 3/4 in, closing groove 4 3/16 in; label
    # 4 in (common practice). 3/8 in = 9.5 mm, and 7.1 mm from the last groove to the closing groove.
    ring = blank_ring(12, LEXICON, US)
    assert ring.width == pytest.approx(9.5, abs=0.05)
    assert ring.outer == pytest.approx(7.1, abs=0.05)


def test_closing_groove_agrees_across_standards() -> None:
    # IEC 60098:1987 gives 106.4 +/- 0.8 mm for the 12-inch, as JIS does; RIAA 1963 4 3/16 +/- 1/32 in.
    assert TABLES["disc_dimensions"].entries["12"]["closing_groove"] == 106.4
    assert TABLES[US].entries["12"]["closing_groove"] == pytest.approx(4.1875 * MM_PER_INCH)
    assert abs(4.1875 * MM_PER_INCH - 106.4) < 0.8


def test_where_the_music_ends() -> None:
    # history.acusd.edu/gen/recording/speeds.html, quoted at perplexus.info problem 2943: 23 minutes at 300 to the inch
    # from 11 1/2 in end at 6.394 in; exact arithmetic gives 6.389 in.
    assert music_end(23, 300, 11.5 * MM_PER_INCH) / MM_PER_INCH == pytest.approx(6.389, abs=0.001)
    assert music_end(18, 225, 11.5 * MM_PER_INCH) == pytest.approx(156.6, abs=0.05)


def test_no_ring_for_a_size_without_dimensions() -> None:
    with pytest.raises(ValueError, match="12, 10, 7"):
        blank_ring(16, LEXICON)


# Worked examples of GS1 UK ('How to calculate your check digit'), GS1 Sweden ('Så beräknas kontrollsiffran'), GS1 India
# and IBM Support ('How to calculate a check digit manually').
@pytest.mark.parametrize(
    "number", ["5012345678900", "5012345674216", "7300011000017", "8904000210037", "6291041500213"]
)
def test_gtin_check_digits(number: str) -> None:
    assert check_digit(number[:-1]) == int(number[-1])
    assert is_gtin(number)
    assert is_gtin(f"{number[0]} {number[1:7]} {number[7:]}")


@given(st.text("0123456789", min_size=11, max_size=13).filter(lambda s: len(s) in (11, 12, 13)), st.data())
def test_one_wrong_figure_is_always_seen(body: str, data: st.DataObject) -> None:
    number = body + str(check_digit(body))
    at = data.draw(st.integers(0, len(number) - 1))
    other = data.draw(st.sampled_from([c for c in "0123456789" if c != number[at]]))
    assert is_gtin(number)
    assert not is_gtin(number[:at] + other + number[at + 1 :])


@pytest.mark.parametrize("wrong", ["", "12345", "501234567890X", "５０１２３４５６７８９００", "50123456789001234"])
def test_what_is_no_gtin(wrong: str) -> None:
    assert not is_gtin(wrong)
