"""One record of a JSON Lines file: {"id", "title", "text", "format"} and what else is known of the offer."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Any

from sayso.intake.draft import Draft, one_line, tidy
from sayso.intake.errors import IntakeError
from sayso.intake.money import money_words, parse_price
from sayso.intake.page import plain, read_html
from sayso.intake.text import read_text
from sayso.model import Listing

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

FORMATS = ("text", "html", "reply")


def read_record(record: Mapping[str, Any], *, number: int | None = None, lexicon: Lexicon | None = None) -> Listing:
    """A listing from one record. `number` is its place in the file, for errors and as its id where it has none.

    Canonical text: title, a blank line, text (of HTML the visible words), then the specifics as 'Key: value' lines.
    Raises `IntakeError` saying which field is wrong.
    """
    where = f"record {number}: " if number is not None else ""
    if not isinstance(record, Mapping):
        raise IntakeError(f'{where}not an object; each line must be like {{"title": …, "text": …}}')
    words = {k: _words(record.get(k), k, where) for k in ("title", "text", "url", "seller")}
    form = str(record.get("format") or "text").strip().lower()
    if form not in FORMATS:
        raise IntakeError(f"{where}format is {form[:20]!r}; it must be one of {', '.join(FORMATS)}")
    known: dict[str, Any] = {k: one_line(v) for k in ("url", "seller") if (v := words[k])}
    known |= _money(record, where, lexicon)
    name = record.get("id")
    id_ = one_line(str(name)) if isinstance(name, (str, int, float)) and str(name).strip() else str(number or "listing")
    title, text = words["title"], words["text"]
    if not title.strip() and not text.strip():
        raise IntakeError(f"{where}neither title nor text; at least one of them must hold words")
    if form == "html":
        listing = read_html(text, title=title or None, id=id_, lexicon=lexicon, **known)
    elif form == "reply":
        listing = read_text(text, title=title, id=id_, format="reply", **known)
    else:
        listing = read_text(text, title=title, id=id_, lexicon=lexicon, **known)
    return add_specifics(listing, record.get("specifics"))


def add_specifics(listing: Listing, specifics: Any) -> Listing:
    """`listing` with the details of its form written below it as 'Key: value' lines."""
    lines = list(_specific_lines(specifics))
    if not lines:
        return listing
    draft = Draft()
    draft.add("specifics", "\n".join(lines))
    body, _ = draft.finish()
    start = len(listing.text) + 2
    text = f"{listing.text}\n\n{body}"
    from sayso.model import Segment

    segment = Segment(kind="specifics", start=start, end=len(text))
    return listing.model_copy(update={"text": text, "segments": (*listing.segments, segment)})


def _specific_lines(value: Any) -> list[str]:
    if isinstance(value, Mapping):
        pairs = [(k, v) for k, v in value.items()]
    elif isinstance(value, list):
        pairs = []
        for item in value:
            if isinstance(item, Mapping) and "name" in item:
                pairs.append((item["name"], item.get("value")))
            elif isinstance(item, (list, tuple)) and len(item) == 2:
                pairs.append((item[0], item[1]))
            elif isinstance(item, str):
                pairs.append(("", item))
    elif isinstance(value, str):
        pairs = [("", line) for line in tidy(value).split("\n")]
    else:
        return []
    lines = []
    for key, item in pairs:
        if isinstance(item, (list, tuple)):
            item = ", ".join(str(x) for x in item if isinstance(x, (str, int, float)))
        if not isinstance(item, (str, int, float)) or isinstance(item, bool):
            item = {True: "yes", False: "no"}.get(item, "") if isinstance(item, bool) else ""
        left, right = one_line(str(key)), one_line(str(item))
        if left and right:
            lines.append(f"{left.rstrip(': ')}: {right}")
        elif right:
            lines.append(right)
    return [plain(line) if "&" in line and ";" in line else line for line in lines]


def _words(value: Any, key: str, where: str) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        return value
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return str(value)
    raise IntakeError(f"{where}{key} must be text, not {type(value).__name__}")


def _money(record: Mapping[str, Any], where: str, lexicon: Lexicon | None) -> dict[str, Any]:
    known: dict[str, Any] = {}
    given = record.get("notes")
    notes = [one_line(n)[:300] for n in given if isinstance(n, str)] if isinstance(given, list) else []
    currency = record.get("currency")
    code = currency_code(currency, lexicon) if isinstance(currency, str) else None
    if code:
        known["currency"] = code
    for key in ("price", "shipping"):
        amount = record.get(key)
        if isinstance(amount, bool) or amount in (None, ""):
            continue
        if isinstance(amount, (int, float, Decimal)):
            known[key] = _decimal(str(amount))
            if known[key] is None:
                notes.append(f"The {key} “{str(amount)[:40]}” is no amount.")
        elif isinstance(amount, str):
            found = parse_price(amount, currency=code, words=money_words(lexicon))
            if found is None:
                notes.append(f"The {key} “{one_line(amount)[:40]}” could not be read.")
                continue
            known[key] = found.amount
            if key == "price" and found.currency and found.currency != code:
                known["currency"] = found.currency
                if code:
                    notes.append(two_currencies(found.currency, code))
            if found.doubt:
                notes.append(f"{key.capitalize()}: {found.doubt}.")
    if isinstance(record.get("auction"), (bool, int)):
        known["auction"] = bool(record["auction"])
    if notes:
        known["notes"] = tuple(notes)
    return {k: v for k, v in known.items() if v is not None}


def two_currencies(cell: str, field: str) -> str:
    """What is said where a price names another currency than the field for it."""
    return f"The price names {cell} and the field for the currency {field}; {cell} is taken."


def currency_code(text: str, lexicon: Lexicon | None = None) -> str | None:
    """The ISO 4217 code that a field for the currency means: a code, a sign or a word."""
    words = money_words(lexicon)
    kind, value = words.codes.get(" ".join(text.split()).casefold(), ("", ""))
    if kind in ("currency", "currency_usual"):
        return value
    code = text.strip().upper()
    return code if re.fullmatch(r"[A-Z]{3}", code) else None


def _decimal(text: str) -> Decimal | None:
    try:
        number = Decimal(text)
    except InvalidOperation:
        return None
    return number if number.is_finite() and 0 <= number < Decimal(10) ** 12 else None
