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


def read_form(form: Mapping[str, str], upload: bytes, lexicon: Lexicon) -> tuple[Listing, dict[str, Any]]:
    """The listing and the options. Raises `FormFault`."""
    from sayso.intake import read_any
    from sayso.intake.errors import IntakeError

    say = Words(lexicon)
    words = form.get("words", "").replace("\r\n", "\n")
    if not words.strip() and not upload:
        raise FormFault(say.say("page.fault.empty"))
    try:
        listing = read_any(words if words.strip() else upload, lexicon=lexicon)
    except IntakeError as error:
        raise FormFault(" ".join(str(error).split())) from error
    change: dict[str, Any] = {}
    for name in ("price", "shipping"):
        number = amount(form.get(name, ""), say.say(f"page.{name}"), say)
        if number is not None:
            change[name] = number
    currency = form.get("currency", "").strip()
    if currency:
        if not re.fullmatch(r"[A-Za-z]{3}", currency):
            raise FormFault(say.say("page.fault.currency"))
        change["currency"] = currency.upper()
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
        if not (change.get("currency") or listing.currency):
            raise FormFault(say.say("page.fault.currency_missing"))
        options["worth"] = worth
    return (listing.model_copy(update=change) if change else listing), options
