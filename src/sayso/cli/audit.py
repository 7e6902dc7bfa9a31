"""`sayso audit`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from sayso.cli import Fault
from sayso.cli.options import (
    Bidders,
    Casebook,
    Currency,
    Encoding,
    KeepContacts,
    Language,
    MaxBytes,
    MaxChars,
    MaxQuestions,
    MaxRegret,
    Overlays,
    Pointed,
    Price,
    Record,
    Sold,
    Tax,
    Worth,
)

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.model import Audit

app = typer.Typer(add_completion=False, rich_markup_mode=None)

FAIL_ON = ("decisive-silence", "conflict")


@app.command()
def audit(
    file: Annotated[str, typer.Argument(metavar="[FILE|-]", help="Text or saved page; - or nothing: paste it.")] = "-",
    as_json: Annotated[bool, typer.Option("--json", help="Print the audit as sayso.audit/1.")] = False,
    html: Annotated[Path | None, typer.Option(metavar="OUT", help="Write the report as a web page to OUT.")] = None,
    price: Price = None,
    currency: Currency = None,
    shipping: Annotated[str | None, typer.Option(metavar="AMOUNT", help="Postage.")] = None,
    worth: Worth = None,
    sold: Sold = None,
    fees: Annotated[str | None, typer.Option(metavar="AMOUNT", help="Other costs of buying, such as payment.")] = None,
    tax: Tax = None,
    max_regret: MaxRegret = None,
    auction: Annotated[bool, typer.Option("--auction", help="It is an auction.")] = False,
    bidders: Bidders = None,
    lexicon: Overlays = None,
    record: Record = None,
    why: Annotated[
        str | None,
        typer.Option(metavar="FEATURE", help="Show what decided one feature (deadwax.plant_mark …)."),
    ] = None,
    pointed: Pointed = False,
    language: Language = None,
    max_questions: MaxQuestions = 5,
    max_chars: MaxChars = None,
    fail_on: Annotated[
        list[str] | None,
        typer.Option(metavar="|".join(FAIL_ON), help="Exit with 1 if this is found (repeatable)."),
    ] = None,
    save: Annotated[bool, typer.Option("--save", help="Keep the audit in the casebook.")] = False,
    casebook: Casebook = None,
    keep_contacts: KeepContacts = False,
    max_bytes: MaxBytes = None,
    encoding: Encoding = None,
) -> None:
    """One listing: what is said, what is unsaid, what to ask, how much to pay."""
    from sayso.cli import shared

    _check(as_json, html, why, fail_on, max_questions, max_chars, max_bytes)
    judging = shared.judging(worth=worth, sold=sold, max_regret=max_regret, bidders=bidders, fees=fees, tax=tax)
    data = shared.load(lexicon)
    if why is not None and why not in data.features:
        raise Fault(f"--why: there is no feature {why!r}; there are {', '.join(data.features)}")
    wanted = shared.language(language, data)
    listing = shared.read(file, data, max_bytes=max_bytes, encoding=encoding)
    listing = shared.priced(listing, price=price, currency=currency, shipping=shipping, auction=auction)
    from sayso.engine import audit_listing
    from sayso.questions import TooShort

    with shared.plain_faults():
        try:
            result = audit_listing(
                listing,
                data,
                pointed=pointed,
                language=wanted,
                max_questions=max_questions,
                max_chars=max_chars,
                record=record,
                **judging,
            )
        except TooShort as error:
            raise Fault(f"--max-chars: {error}; allow more, or leave it out") from None
    if html is not None:
        from sayso.report.html import audit_html

        shared.write(html, audit_html(result, data), "--html")
    if save or casebook is not None:
        _save(result, casebook, keep_contacts, data)
    if as_json:
        from sayso.report.jsonform import to_json

        shared.emit(to_json(result))
    elif why is not None:
        from sayso.report.why import explain

        shared.emit(explain(result, why, data))
    elif html is None:
        from sayso.report.terminal import render

        shared.emit(render(result, data))
    if _found(result, fail_on or ()):
        raise typer.Exit(1)


def _check(
    as_json: bool,
    html: Path | None,
    why: str | None,
    fail_on: list[str] | None,
    max_questions: int,
    max_chars: int | None,
    max_bytes: int | None,
) -> None:
    if as_json and why is not None:
        raise Fault("--json and --why exclude each other; the JSON form holds the cues of every claim")
    if max_questions < 0:
        raise Fault("--max-questions must be 0 or more")
    if max_chars is not None and max_chars < 1:
        raise Fault("--max-chars must be 1 or more")
    if max_bytes is not None and max_bytes < 1:
        raise Fault("--max-bytes must be 1 or more")
    for name in fail_on or ():
        if name not in FAIL_ON:
            raise Fault(f"--fail-on: {name!r} is unknown; it takes {' or '.join(FAIL_ON)}")


def _found(result: Audit, fail_on: list[str] | tuple[str, ...]) -> bool:
    silent = any(f.need == "decisive" and f.state == "silent" for f in result.findings)
    clash = any(c.kind != "jacket" for c in result.conflicts) or any(f.state == "conflicting" for f in result.findings)
    return ("decisive-silence" in fail_on and silent) or ("conflict" in fail_on and clash)


def _save(result: Audit, casebook: Path | None, keep_contacts: bool, data: Lexicon) -> None:
    import sys

    from sayso.casebook import open_casebook
    from sayso.cli.casebook_words import casebook_faults

    with casebook_faults(), open_casebook(casebook) as book:
        number = book.save_audit(result, keep_contacts=keep_contacts, lexicon=data)
    print(data.phrases["cases.kept"].format(case=number), file=sys.stderr)
