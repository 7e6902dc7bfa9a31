"""`sayso audit`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from sayso.cli import Fault

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
    price: Annotated[str | None, typer.Option(metavar="AMOUNT", help="The price asked, without postage.")] = None,
    currency: Annotated[str | None, typer.Option(metavar="CODE", help="Three letters, such as USD or EUR.")] = None,
    shipping: Annotated[str | None, typer.Option(metavar="AMOUNT", help="Postage.")] = None,
    worth: Annotated[
        list[str] | None,
        typer.Option(metavar="NAME=AMOUNT", help="What a pressing is worth to you (repeatable)."),
    ] = None,
    sold: Annotated[Path | None, typer.Option(metavar="CSV", help="Your list of past sales, for the worths.")] = None,
    fees: Annotated[str | None, typer.Option(metavar="AMOUNT", help="Other costs of buying, such as payment.")] = None,
    tax: Annotated[
        str | None, typer.Option(metavar="SHARE", help="Import tax on price and postage, such as 20% or 0.2.")
    ] = None,
    max_regret: Annotated[
        str | None,
        typer.Option(metavar="CHANCE", help="Accept at most this chance of overpaying: 20% or 0.2 (if left out, 20%)."),
    ] = None,
    auction: Annotated[bool, typer.Option("--auction", help="It is an auction.")] = False,
    bidders: Annotated[int | None, typer.Option(metavar="N", help="How many bid, you included.")] = None,
    lexicon: Annotated[
        list[Path] | None,
        typer.Option(metavar="PATH", help="Your own data (file or folder), laid over the shipped data (repeatable)."),
    ] = None,
    record: Annotated[
        str | None,
        typer.Option(
            metavar="NUMBER", help="Which record it is, by a dossier's number or id, where the words do not say."
        ),
    ] = None,
    why: Annotated[
        str | None,
        typer.Option(metavar="FEATURE", help="Show what decided one feature (deadwax.plant_mark …)."),
    ] = None,
    pointed: Annotated[bool, typer.Option("--pointed", help="Questions that name what you hope for.")] = False,
    language: Annotated[
        str | None, typer.Option(metavar="CODE", help="Language of the questions: en, de, fr, it, es, nl, ja.")
    ] = None,
    max_questions: Annotated[int, typer.Option(metavar="N", help="At most so many questions.")] = 5,
    max_chars: Annotated[int | None, typer.Option(metavar="N", help="The message at most so long.")] = None,
    fail_on: Annotated[
        list[str] | None,
        typer.Option(metavar="|".join(FAIL_ON), help="Exit with 1 if this is found (repeatable)."),
    ] = None,
    save: Annotated[bool, typer.Option("--save", help="Keep the audit in the casebook.")] = False,
    casebook: Annotated[
        Path | None, typer.Option(metavar="FILE", help="The casebook file; the usual place if left out.")
    ] = None,
    keep_contacts: Annotated[
        bool, typer.Option("--keep-contacts", help="Keep addresses and phone numbers in the casebook.")
    ] = False,
    max_bytes: Annotated[
        int | None, typer.Option(metavar="N", help="Read at most so many bytes (2,000,000 if left out).")
    ] = None,
    encoding: Annotated[
        str | None, typer.Option(metavar="NAME", help="Encoding of the input; guessed if left out.")
    ] = None,
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
