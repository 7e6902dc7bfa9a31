"""What a page says of itself in data: schema.org Product and Offer (JSON-LD, microdata) and Open Graph.

Data islands are no words of the seller: they feed the title, the price and the description only where the visible
page has none. Names of types and properties: https://schema.org/Product, https://schema.org/Offer,
https://ogp.me/ (title, description) and its product namespace (price:amount, price:currency).
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from sayso.intake.draft import one_line, tidy

if TYPE_CHECKING:
    from bs4 import BeautifulSoup, Tag

PRODUCTS = frozenset({"Product", "ProductModel", "IndividualProduct", "MusicAlbum", "MusicRelease", "Vehicle"})
OFFERS = frozenset({"Offer", "AggregateOffer", "Demand"})
DEEPEST = 12
MOST_NODES = 2_000


@dataclass
class PageData:
    """The first value found for each thing, in the order JSON-LD, microdata, Open Graph."""

    title: str = ""
    description: str = ""
    price: str = ""
    currency: str = ""
    condition: str = ""
    url: str = ""
    shipping: str = ""
    seller: str = ""
    notes: list[str] = field(default_factory=list)

    def take(self, **found: object) -> None:
        """Keep what is not yet known."""
        for key, value in found.items():
            text = tidy(str(value)).strip() if isinstance(value, (str, int, float)) else ""
            if text and not getattr(self, key):
                setattr(self, key, text)

    def money(self) -> dict[str, Any]:
        """Price, currency and shipping as fields of a `Listing`."""
        out: dict[str, Any] = {}
        code = self.currency.strip().upper()
        amount = machine_number(self.price)
        if amount is not None:
            out["price"] = amount
            if re.fullmatch(r"[A-Z]{3}", code):
                out["currency"] = code
        shipping = machine_number(self.shipping)
        if shipping is not None:
            out["shipping"] = shipping
        if self.seller:
            out["seller"] = one_line(self.seller)
        return out


def machine_number(text: str) -> Decimal | None:
    """A price in the notation schema.org asks for: digits and a full stop, no grouping; anything else is null."""
    text = text.strip()
    if re.fullmatch(r"\d{1,12}(?:\.\d{1,6})?", text):
        return Decimal(text)
    if re.fullmatch(r"\d{1,9},\d{2}", text):  # a common slip of shops: the decimal comma
        return Decimal(text.replace(",", "."))
    if re.fullmatch(r"\d{1,3}(?:,\d{3})+(?:\.\d{1,2})?", text):
        return Decimal(text.replace(",", ""))
    return None


def read_data(soup: BeautifulSoup) -> PageData:
    """What the data of the page say; faulty islands are passed over."""
    data = PageData()
    _json_ld(soup, data)
    _microdata(soup, data)
    _open_graph(soup, data)
    condition = re.sub(r"^https?://schema\.org/", "", data.condition).removesuffix("Condition")
    if condition:
        data.notes.append(f"The data of the page give the condition as “{one_line(condition)[:40]}”.")
    return data


def _type(node: dict[str, Any]) -> set[str]:
    kind = node.get("@type")
    names = kind if isinstance(kind, list) else [kind]
    return {re.split(r"[/#:]", n)[-1] for n in names if isinstance(n, str)}


def _nodes(value: Any) -> Iterator[dict[str, Any]]:
    stack: list[tuple[Any, int]] = [(value, 0)]
    count = 0
    while stack and count < MOST_NODES:
        item, depth = stack.pop()
        count += 1
        if isinstance(item, dict):
            yield item
            children = [v for v in item.values() if isinstance(v, (dict, list))]
        elif isinstance(item, list):
            children = item
        else:
            continue
        if depth < DEEPEST:
            stack.extend((child, depth + 1) for child in reversed(children))


def _text(value: Any) -> str:
    if isinstance(value, list):
        value = value[0] if value else ""
    if isinstance(value, dict):
        value = value.get("name") or value.get("@value") or value.get("@id") or ""
    return str(value) if isinstance(value, (str, int, float)) and not isinstance(value, bool) else ""


def _json_ld(soup: BeautifulSoup, data: PageData) -> None:
    for tag in soup.find_all("script", type=re.compile(r"^\s*application/ld\+json", re.I), limit=50):
        try:
            value = json.loads(str(tag.string or tag.get_text()), strict=False)
        except (ValueError, RecursionError):
            continue
        products = [n for n in _nodes(value) if PRODUCTS & _type(n)]
        if not products:
            products = [n for n in _nodes(value) if OFFERS & _type(n)]
        for product in products[:1]:
            data.take(title=_text(product.get("name")), description=_text(product.get("description")))
            data.take(condition=_text(product.get("itemCondition")), url=_text(product.get("url")))
            offers = [n for n in _nodes(product) if OFFERS & _type(n) or "price" in n or "lowPrice" in n]
            for offer in offers[:1]:
                _offer(offer, data)


def _offer(offer: dict[str, Any], data: PageData) -> None:
    detail = offer.get("priceSpecification")
    detail = detail[0] if isinstance(detail, list) and detail else detail
    detail = detail if isinstance(detail, dict) else {}
    price = _text(offer.get("price")) or _text(detail.get("price"))
    low, high = _text(offer.get("lowPrice")), _text(offer.get("highPrice"))
    if not price and low and low == high:
        price = low
    elif not price and low and not data.price:
        data.notes.append(f"The data of the page give prices from {one_line(low)[:20]}, not one price.")
    currency = _text(offer.get("priceCurrency")) or _text(detail.get("priceCurrency"))
    data.take(price=price, currency=currency, condition=_text(offer.get("itemCondition")))
    data.take(seller=_text(offer.get("seller")))
    shipping = offer.get("shippingDetails")
    shipping = shipping[0] if isinstance(shipping, list) and shipping else shipping
    rate = shipping.get("shippingRate") if isinstance(shipping, dict) else None
    if isinstance(rate, dict) and _text(rate.get("currency")) in ("", currency):
        data.take(shipping=_text(rate.get("value")))


def _microdata(soup: BeautifulSoup, data: PageData) -> None:
    """Properties by the microdata rules of the HTML standard, section 5.2.4 (the value of a property)."""
    names = {
        "name": "title",
        "description": "description",
        "price": "price",
        "priceCurrency": "currency",
        "itemCondition": "condition",
    }
    for scope in soup.find_all(itemtype=True, limit=200):
        kinds = {re.split(r"[/#]", k)[-1] for k in str(scope.get("itemtype")).split()}
        if not kinds & (PRODUCTS | OFFERS):
            continue
        for tag in scope.find_all(itemprop=True, limit=200):
            owner = tag.find_parent(itemscope=True)
            for prop in str(tag.get("itemprop")).split():
                if prop not in names or tag.has_attr("itemscope"):
                    continue
                own = owner is scope
                inner = owner is not None and bool(
                    {re.split(r"[/#]", k)[-1] for k in str(owner.get("itemtype") or "").split()} & OFFERS
                )
                if own or (inner and prop not in ("name", "description")):
                    data.take(**{names[prop]: _property(tag)})
        return


def _property(tag: Tag) -> str:
    if tag.has_attr("content"):
        return str(tag["content"])
    if tag.name in ("a", "area", "link"):
        return str(tag.get("href") or "")
    if tag.name in ("data", "meter"):
        return str(tag.get("value") or "")
    return tag.get_text(" ", strip=True)


def _open_graph(soup: BeautifulSoup, data: PageData) -> None:
    found: dict[str, str] = {}
    for tag in soup.find_all("meta", limit=500):
        name = str(tag.get("property") or tag.get("name") or "").strip().lower()
        if name and name not in found:
            found[name] = str(tag.get("content") or "")
    data.take(title=found.get("og:title", ""), url=found.get("og:url", ""))
    data.take(description=found.get("og:description", ""))
    for space in ("product:", "og:", "og:product:"):
        amount = found.get(f"{space}price:amount", "")
        if amount:
            same = data.price == ""
            data.take(price=amount)
            if same:
                data.take(currency=found.get(f"{space}price:currency", ""))
