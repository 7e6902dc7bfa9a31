"""Prices as people write them, grouped by what they mean. Invented unless a source stands beside them.

Developed on the lists below; nothing is held out. What is ambiguous must stay open.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sayso.intake import read_any, read_record
from sayso.intake.money import asking_price, decimal_mark, parse_price

MEANS = {
    ("45", "GBP"): ["£45", "45 GBP", "GBP45", "£ 45", "45 pounds", "£45 ono", "£45.00", "£45 + £4 p&p", "Price: £45"],
    ("45.5", "EUR"): ["45,50 €", "€45.50", "EUR 45,50 VB", "45,5 euro", "ca. 45,50 €"],
    ("1200", "EUR"): ["1.200,00 €", "€1,200.00", "1 200,00 EUR", "1 200 €", "1.2k €"],
    ("1200", "CHF"): ["CHF 1'200.-", "1’200.00 CHF", "Fr. 1200.–"],
    ("1299.99", "USD"): ["$1,299.99", "US$ 1299.99", "USD 1,299.99"],
    ("3350", "USD"): ["$3,350", "USD 3,350"],
    ("3350", "JPY"): ["¥3,350", "3,350円", "JPY 3350", "３３５０円"],
    ("1234567", "JPY"): ["1.234.567 円", "¥1,234,567"],
    ("1234.5", "BRL"): ["R$ 1.234,50"],
    ("100000", "INR"): ["₹1,00,000.00"],
    ("45", None): ["45", "45,-", "45.00", "45 kr"],
}
OPEN = ["3.350", "3,350", "€3.350", "€ 3,350", "$3.350", "£20-30", "£20/£30", "1.234,5678", "1234567.891", "1,2,3"]
NONE = ["", "free", "NM", "VG+", "sold", "-45", "on request", "12th", "45cm", "ask for the price"]


@pytest.mark.parametrize(("means", "text"), [(m, t) for m, texts in MEANS.items() for t in texts])
def test_one_meaning(means: tuple[str, str | None], text: str) -> None:
    price = parse_price(text)
    assert price is not None
    assert (price.amount, price.currency) == (Decimal(means[0]), means[1])


@pytest.mark.parametrize("text", OPEN)
def test_two_meanings_stay_open_and_the_doubt_is_said(text: str) -> None:
    price = parse_price(text)
    assert price is not None
    assert price.amount is None
    assert price.doubt


@pytest.mark.parametrize("text", NONE)
def test_no_price(text: str) -> None:
    assert parse_price(text) is None


def test_evidence_decides_what_is_open() -> None:
    for text, mark, amount in (("3.350", ",", 3350), ("3,350", ".", 3350), ("€3.350", ",", 3350)):
        price = parse_price(text, decimal=mark)
        assert price is not None
        assert price.amount == amount
    assert parse_price("3,350", currency="USD").amount == 3350  # type: ignore[union-attr]
    assert parse_price("3.350", currency="SEK").amount == 3350  # type: ignore[union-attr]
    assert parse_price("3.350", currency="EUR").amount is None  # type: ignore[union-attr]


def test_the_mark_of_a_column_is_learnt_only_without_contradiction() -> None:
    assert decimal_mark(["12,50", "3.350", "8"]) == ","
    assert decimal_mark(["12.50", "1,200.00"]) == "."
    assert decimal_mark(["12.50", "12,50"]) is None
    assert decimal_mark(["3.350", "8"]) is None
    assert decimal_mark(["1.234.567"]) == ","


def test_the_dollar_sign_is_read_as_usual_and_said() -> None:
    price = parse_price("$45")
    assert price is not None
    assert price.currency == "USD"
    assert "other currencies" in price.doubt
    crowns = parse_price("45 kr")
    assert crowns is not None
    assert "SEK" in crowns.doubt


ASKED = [
    ("LP, plays well.\nPrice: £45 + £4 p&p", "45", "GBP", "4", False),
    ("LP, plays well\n\n£45", "45", "GBP", None, False),
    ("Preis 45,- VB, Versand 6 EUR", "45", None, None, False),
    ("送料 500円\n価格 3,350円", "3350", "JPY", "500", False),
    ("Starting bid: £9.99", "9.99", "GBP", None, True),
    ("I paid £200 for it and it is worth 300 €.", None, None, None, False),
    ("Original price sticker $4.98 on the cover", None, None, None, False),
    ("Price: £45\nPrice: £60", None, None, None, False),
    ('12" 33⅓ rpm, 180 g, 1961, 2 records, side 1', None, None, None, False),
]


@pytest.mark.parametrize(("text", "price", "currency", "shipping", "auction"), ASKED)
def test_only_what_the_listing_asks(
    text: str, price: str | None, currency: str | None, shipping: str | None, auction: bool
) -> None:
    asked = asking_price(text)
    assert asked.price == (Decimal(price) if price else None)
    assert asked.currency == currency
    assert asked.shipping == (Decimal(shipping) if shipping else None)
    assert asked.auction is auction


def test_the_price_of_a_paste_and_of_a_record() -> None:
    assert str(read_any("Low Tide LP\n\nPlays well.\nPrice: €30").price) == "30"
    listing = read_record({"title": "Low Tide", "price": "€3.350"})
    assert listing.price is None
    assert "3.350" in listing.notes[0]


@given(st.integers(1, 9_999_999), st.sampled_from([".", ","]))
def test_grouped_and_plain_notation_agree(cents: int, mark: str) -> None:
    whole, part = divmod(cents, 100)
    grouped = f"{whole:,}.{part:02d}"
    if mark == ",":
        grouped = grouped.translate(str.maketrans(".,", ",."))
    price = parse_price(f"{grouped} EUR")
    assert price is not None
    assert price.amount == Decimal(cents) / 100


@given(st.text(max_size=80))
def test_any_text_is_read_without_failing(text: str) -> None:
    parse_price(text)
    asking_price(text)


@pytest.mark.parametrize(
    ("text", "price"),
    [
        ("Marlow Teague - Night Ferry - £85 ono", "85"),
        ("Night Ferry LP (€25)", "25"),
        ("I paid 40 pounds for it, looking for £65 posted", "65"),
        ("LP, mono, 35 euros, envío incluido", "35"),
        ("He paid £40", None),
        ("Bought it for £12 delivered from a shop", None),
        ("The guide says £300", None),
        ("£12/£15 with the book", None),
    ],
)
def test_a_price_in_running_words_is_the_one_asked(text: str, price: str | None) -> None:
    # Common practice, no source: how sellers put a price into a title or a sentence.
    found = asking_price(text).price
    assert (None if found is None else str(found)) == price
