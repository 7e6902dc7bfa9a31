"""A filled-in form read into a listing and the options of an audit."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Any

from sayso.report.words import Words

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.model import Listing


class FormFault(Exception):
    """What is wrong with a form, in words for its user."""


def amount(text: str, field: str, say: Words) -> Decimal | None:
    """'120', '12.50', '12,50', '1,200' as an amount; null where left empty. Raises `FormFault`."""
    plain = re.sub(r"[\s'_\u00a0]", "", text)
    if not plain:
        return None
    if re.fullmatch(r"\d+,\d{1,2}", plain):
        plain = plain.replace(",", ".")
    plain = re.sub(r",(?=\d{3}(\D|$))", "", plain)
    try:
        number = Decimal(plain)
    except InvalidOperation:
        number = Decimal("NaN")
    if not number.is_finite() or number < 0 or number >= Decimal(10) ** 12:
        raise FormFault(say.say("page.fault.amount", field=field, value=text.strip()[:40]))
    return number


TABLES = (".csv", ".tsv", ".jsonl")
"""Endings of files that hold many listings, which the wishlist reads."""
LIMITS = ("0.1", "0.2", "0.35")
"""Chances of paying too much between which the page lets one choose; the second is the usual one."""


def read_form(form: Mapping[str, str], upload: bytes, lexicon: Lexicon) -> tuple[Listing, dict[str, Any]]:
    """The listing and the options. Raises `FormFault`."""
    from sayso.intake import read_any
    from sayso.intake.errors import IntakeError

    say = Words(lexicon)
    words = form.get("words", "").replace("\r\n", "\n")
    if not words.strip() and not upload:
        raise FormFault(say.say("page.fault.empty"))
    if not words.strip() and form.get("file_name", "").lower().endswith(TABLES):
        raise FormFault(say.say("page.fault.table"))
    try:
        listing = read_any(words if words.strip() else upload, lexicon=lexicon)
    except IntakeError as error:
        raise FormFault(" ".join(str(error).split())) from error
    change: dict[str, Any] = {}
    for name in ("price", "shipping"):
        number = amount(form.get(name, ""), say.say(f"page.{name}"), say)
        if number is not None:
            change[name] = number
    currency = read_currency(form, say)
    if currency:
        change["currency"] = currency
    if form.get("auction") == "yes":
        change["auction"] = True
    options = read_options(form, lexicon)
    if options.get("worth") and not (currency or listing.currency):
        raise FormFault(say.say("page.fault.currency_missing"))
    return (listing.model_copy(update=change) if change else listing), options


def read_currency(form: Mapping[str, str], say: Words) -> str | None:
    """Three letters, or null where left empty. Raises `FormFault`."""
    currency = form.get("currency", "").strip()
    if not currency:
        return None
    if not re.fullmatch(r"[A-Za-z]{3}", currency):
        raise FormFault(say.say("page.fault.currency"))
    return currency.upper()


def read_options(form: Mapping[str, str], lexicon: Lexicon) -> dict[str, Any]:
    """The options of an audit: how to word the message, and what pressings are worth to the buyer.

    Raises `FormFault`.
    """
    say = Words(lexicon)
    options: dict[str, Any] = {"pointed": form.get("wording") == "pointed"}
    language = form.get("language", "")
    if language and lexicon.letter(language) is not None:
        options["language"] = language
    worth: dict[str, Decimal] = {}
    for line in form.get("worth", "").splitlines():
        if not line.strip():
            continue
        name, sign, value = line.rpartition("=")
        number = amount(value, say.say("page.worth"), say)
        if not sign or not name.strip() or number is None:
            raise FormFault(say.say("page.fault.worth", value=line.strip()[:40]))
        worth[name.strip()] = number
    for name in ("first", "later"):
        number = amount(form.get(f"worth_{name}", ""), say.say(f"page.worth_{name}"), say)
        if number is not None:
            worth.setdefault(name, number)
    if worth:
        options["worth"] = worth
    if form.get("limit") in LIMITS and form["limit"] != LIMITS[1]:
        options["max_regret"] = float(form["limit"])
    bidders = form.get("bidders", "").strip()
    if bidders:
        if not re.fullmatch(r"[0-9]{1,3}", bidders, re.ASCII):
            raise FormFault(say.say("page.fault.bidders"))
        if form.get("auction") == "yes":
            options["bidders"] = int(bidders)
    return options
