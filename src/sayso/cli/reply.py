"""`sayso reply`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from sayso.cli import Fault
from sayso.cli.options import Casebook, Currency, KeepContacts, Overlays, Price, Record, Worth

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.model import Audit
    from sayso.replies.nouns import Asked, Reply

app = typer.Typer(add_completion=False, rich_markup_mode=None)


@app.command()
def reply(
    words: Annotated[
        list[str] | None,
        typer.Argument(metavar="[CASE] [FILE|-]", help="The case, and the seller's reply; - or nothing: paste it."),
    ] = None,
    listing: Annotated[
        str | None, typer.Option(metavar="FILE", help="Without a casebook: the listing that was asked about.")
    ] = None,
    questions: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Without a casebook: what was asked, from `sayso ask --json`.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the result as sayso.reply/1.")] = False,
    lexicon: Overlays = None,
    record: Record = None,
    price: Price = None,
    currency: Currency = None,
    worth: Worth = None,
    casebook: Casebook = None,
    keep_contacts: KeepContacts = False,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Show what changes; keep nothing.")] = False,
) -> None:
    """Fold the seller's answer in: what became of each question, what changed, what to ask next."""
    from sayso.cli import shared

    data = shared.load(lexicon)
    given = list(words or ())
    if listing is not None:
        if len(given) > 1:
            raise Fault("with --listing give only the reply's file, or - to paste it; a case is not needed")
        if questions is None:
            raise Fault("--listing needs --questions FILE, as `sayso ask --json` prints them")
        before = _audit(listing, data, record=record, price=price, currency=currency, worth=worth)
        result = _fold(before, _text(given[0] if given else "-"), _questions(questions), data, record, worth)
        _show(result, data, as_json)
        return
    if not given or len(given) > 2:
        raise Fault("give a case of the casebook and the reply's file: sayso reply 3 reply.txt; or use --listing")
    from sayso.cli.casebook_words import case_number

    _in_case(
        case_number(given[0]),
        given[1] if len(given) == 2 else "-",
        questions,
        data,
        record,
        worth,
        casebook,
        keep_contacts,
        dry_run,
        as_json,
    )


def _in_case(
    number: int,
    file: str,
    questions: Path | None,
    data: Lexicon,
    record: str | None,
    worth: list[str] | None,
    casebook: Path | None,
    keep_contacts: bool,
    dry_run: bool,
    as_json: bool,
) -> None:
    from sayso.casebook import open_casebook
    from sayso.cli.casebook_words import casebook_faults

    with casebook_faults(), open_casebook(casebook, create=False) as book:
        case = book.load_case(number)
        asked = _questions(questions) if questions is not None else case.questions
        before = book.asked_features(number)
        result = _fold(case.audit, _text(file), asked, data, record, worth, asked_before=before)
        if not dry_run:
            book.record_reply(number, result, keep_contacts=keep_contacts, lexicon=data)
    _show(result, data, as_json, case=None if dry_run else number, asked=bool(asked))


def _audit(
    file: str, data: Lexicon, *, record: str | None, price: str | None, currency: str | None, worth: Any
) -> Audit:
    from sayso.cli import shared
    from sayso.engine import audit_listing

    listing = shared.priced(shared.read(file, data), price=price, currency=currency)
    with shared.plain_faults():
        return audit_listing(listing, data, record=record, **_judging(worth))


def _judging(worth: list[str] | None) -> dict[str, Any]:
    from sayso.cli import shared

    return {"worth": shared.worths(worth)} if worth else {}


def _text(file: str) -> str:
    from sayso.cli.casebook_words import words

    return words(file, "the seller's reply")


def _questions(path: Path) -> tuple[Asked, ...]:
    import json

    from sayso.replies.answers import questions_from
    from sayso.replies.nouns import ReplyError

    try:
        return questions_from(json.loads(path.read_text(encoding="utf-8")))
    except OSError as error:
        raise Fault(f"--questions: {path} cannot be read: {error.strerror}") from None
    except ReplyError as error:
        raise Fault(f"--questions: {path}: {error}") from None
    except ValueError as error:
        raise Fault(f"--questions: {path} is not JSON ({error}); `sayso ask --json` prints the form") from None


def _fold(
    before: Audit,
    text: str,
    asked: tuple[Asked, ...],
    data: Lexicon,
    record: str | None,
    worth: list[str] | None,
    *,
    asked_before: frozenset[str] = frozenset(),
) -> Reply:
    from sayso.cli import shared
    from sayso.replies.answers import answer_reply
    from sayso.replies.nouns import ReplyError

    # The dossier the listing was judged by, so that a reply is not judged by another.
    named = record or before.dossier
    with shared.plain_faults():
        try:
            return answer_reply(before, text, asked, data, asked_before=asked_before, record=named, **_judging(worth))
        except ReplyError as error:
            raise Fault(str(error)) from None


def _show(result: Reply, data: Lexicon, as_json: bool, *, case: int | None = None, asked: bool = True) -> None:
    from sayso.cli import shared

    if as_json:
        from sayso.replies.answers import to_json

        shared.emit(to_json(result))
        return
    from sayso.report.conversation import reply_text

    shared.emit(reply_text(result, data, asked=asked))
    if case is not None:
        shared.emit("\n" + data.phrases["reply.kept"].format(case=case))
