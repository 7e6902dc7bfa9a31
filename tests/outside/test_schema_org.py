"""Page intake against the examples that schema.org publishes.

Source: https://schema.org/Product, example 1 (a microwave oven: name, description, price 55.00 USD, rating 3.5 of 11
reviews), as microdata and as JSON-LD; properties and values are those of the example, the markup is shortened.
https://schema.org/Offer and https://schema.org/AggregateOffer for property names; https://ogp.me/ for Open Graph.
The values of https://schema.org/AggregateOffer's second example (low price, high price) are from memory.
"""

from __future__ import annotations

import json
from decimal import Decimal

from sayso.intake import read_html

NAME = 'Kenmore White 17" Microwave'
DESCRIPTION = (
    "0.7 cubic feet countertop microwave. Has six preset cooking categories and convenience features like "
    "Add-A-Minute and Child Lock."
)
REVIEW = "The lamp burned out and now I have to replace it."
EXAMPLE = {
    "@context": "https://schema.org",
    "@type": "Product",
    "aggregateRating": {"@type": "AggregateRating", "ratingValue": "3.5", "reviewCount": "11"},
    "description": DESCRIPTION,
    "name": NAME,
    "offers": {
        "@type": "Offer",
        "availability": "https://schema.org/InStock",
        "price": "55.00",
        "priceCurrency": "USD",
    },
    "review": [{"@type": "Review", "name": "Not a happy camper", "reviewBody": REVIEW}],
}
MICRODATA = f"""<div itemscope itemtype="https://schema.org/Product">
  <span itemprop="name">{NAME}</span>
  <div itemprop="aggregateRating" itemscope itemtype="https://schema.org/AggregateRating">
   Rated <span itemprop="ratingValue">3.5</span>/5 based on <span itemprop="reviewCount">11</span> customer reviews
  </div>
  <div itemprop="offers" itemscope itemtype="https://schema.org/Offer">
    <span itemprop="priceCurrency" content="USD">$</span><span itemprop="price" content="55.00">55.00</span>
    <link itemprop="availability" href="https://schema.org/InStock" />In stock
  </div>
  Product description: <span itemprop="description">{DESCRIPTION}</span>
  <div itemprop="review" itemscope itemtype="https://schema.org/Review">
    <span itemprop="name">Not a happy camper</span> <span itemprop="reviewBody">{REVIEW}</span>
  </div>
</div>"""


def island(data: object) -> str:
    return f'<script type="application/ld+json">{json.dumps(data)}</script>'


def test_microdata_gives_price_and_currency_and_the_visible_words_are_the_text() -> None:
    listing = read_html(MICRODATA)
    assert (listing.price, listing.currency) == (Decimal("55.00"), "USD")
    assert "Rated 3.5/5 based on 11 customer reviews" in listing.text
    assert DESCRIPTION in listing.text


def test_json_ld_feeds_what_the_visible_page_lacks() -> None:
    listing = read_html(f"<!doctype html><html><head>{island(EXAMPLE)}</head><body></body></html>")
    assert listing.title == NAME
    assert DESCRIPTION in listing.text
    assert (listing.price, listing.currency) == (Decimal("55.00"), "USD")
    assert any("data" in note for note in listing.notes)


def test_json_ld_is_no_word_of_the_seller_where_the_page_has_words() -> None:
    listing = read_html(f"<html>{island(EXAMPLE)}<body><h1>Oven</h1><p>It works.</p></body></html>")
    assert listing.text == "Oven\n\nIt works."
    assert (listing.price, listing.currency) == (Decimal("55.00"), "USD")


def test_a_graph_and_a_list_of_types_are_searched() -> None:
    graph = {"@graph": [{"@type": "WebPage", "name": "Shop"}, {**EXAMPLE, "@type": ["Thing", "Product"]}]}
    listing = read_html(f"<html>{island(graph)}<body></body></html>")
    assert listing.title == NAME


def test_an_aggregate_offer_has_no_one_price() -> None:
    offers = {"@type": "AggregateOffer", "highPrice": "1495", "lowPrice": "1250", "priceCurrency": "USD"}
    listing = read_html(f"<html>{island({**EXAMPLE, 'offers': offers})}<body><p>Words.</p></body></html>")
    assert listing.price is None
    assert any("1250" in note for note in listing.notes)


def test_the_condition_is_a_note_and_no_claim() -> None:
    offer = {**EXAMPLE["offers"], "itemCondition": "https://schema.org/UsedCondition"}  # type: ignore[dict-item]
    listing = read_html(island({**EXAMPLE, "offers": offer}) + "<p>Words of the seller.</p>")
    assert "Used" in " ".join(listing.notes)
    assert "Used" not in listing.text


def test_open_graph_where_nothing_else_is_said() -> None:
    # https://ogp.me/ names og:title and og:description; product:price:* is its product namespace.
    head = "".join(
        f'<meta property="{k}" content="{v}">'
        for k, v in {
            "og:title": "Low Tide",
            "og:description": "Plays well.",
            "product:price:amount": "30.00",
            "product:price:currency": "EUR",
        }.items()
    )
    listing = read_html(f"<html><head>{head}</head><body></body></html>")
    assert listing.text == "Low Tide\n\nPlays well."
    assert (listing.price, listing.currency) == (Decimal("30.00"), "EUR")


def test_a_faulty_island_is_passed_over() -> None:
    broken = '<script type="application/ld+json">{"@type": "Product", "name": </script>'
    assert read_html(broken + "<p>Plays well.</p>", title="x").text == "x\n\nPlays well."
