"""`sayso ask`."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from sayso.cli import Fault
from sayso.cli.options import Casebook, Language, MaxBytes, MaxChars, MaxQuestions, Overlays, Pointed

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.model import Question

app = typer.Typer(add_completion=False, rich_markup_mode=None)


@app.command()
def ask(
    file: Annotated[
        str | None, typer.Argument(metavar="[FILE|-|CASE]", help="A listing, or a case of the casebook.")
    ] = None,
    label: Annotated[
        str | None, typer.Option(metavar="NAME", help="Without a listing: for a record on this label.")
    ] = None,
    kind: Annotated[
        str | None, typer.Option(metavar="KIND", help="Without a listing: for this kind of offer, such as original.")
    ] = None,
    language: Language = None,
    pointed: Pointed = False,
    max_questions: MaxQuestions = 5,
    max_chars: MaxChars = None,
    lexicon: Overlays = None,
    casebook: Casebook = None,
    as_json: Annotated[bool, typer.Option("--json", help="The questions as JSON, for `sayso reply`.")] = False,
    sent: Annotated[bool, typer.Option("--sent", help="Of a case: keep that you send this message now.")] = False,
    max_bytes: MaxBytes = None,
) -> None:
    """Just the message to send to the seller. Without a listing: for a label, a kind of offer or any record."""
    from sayso.cli import shared

    if file is not None and (label is not None or kind is not None):
        raise Fault("--label and --kind are for a message without a listing; leave them out, or the listing")
    of_case = file is not None and file.isascii() and file.isdigit() and not Path(file).exists()
    if sent and not of_case:
        raise Fault("--sent is for a case of the casebook: sayso ask 3 --sent")
    if max_questions < 1:
        raise Fault("--max-questions must be 1 or more")
    if max_chars is not None and max_chars < 1:
        raise Fault("--max-chars must be 1 or more")
    data = shared.load(lexicon)
    wanted = shared.language(language, data)
    from sayso.questions import TooShort

    try:
        if file is None:
            from sayso.engine import ask_without_listing

            if kind is not None and kind not in data.profiles:
                raise Fault(f"--kind: {kind!r} is unknown; there are {', '.join(data.profiles)}")
            questions, message = ask_without_listing(
                data,
                label=label or "",
                kind=kind,
                language=wanted or "en",
                pointed=pointed,
                max_questions=max_questions,
                max_chars=max_chars,
            )
        elif of_case:
            questions, message = _of_case(
                int(file),
                data,
                casebook,
                sent=sent,
                language=wanted,
                pointed=pointed,
                max_questions=max_questions,
                max_chars=max_chars,
            )
        else:
            from sayso.engine import audit_listing

            listing = shared.read(file, data, max_bytes=max_bytes)
            with shared.plain_faults():
                audit = audit_listing(
                    listing,
                    data,
                    language=wanted,
                    pointed=pointed,
                    max_questions=max_questions,
                    max_chars=max_chars,
                )
            questions, message = audit.questions, audit.message
    except TooShort as error:
        raise Fault(f"--max-chars: {error}; allow more, or leave it out") from None
    if as_json:
        import json

        rows = [{"n": n, "features": list(q.features), "text": q.text} for n, q in enumerate(questions, 1)]
        shared.emit(json.dumps(rows, ensure_ascii=False, indent=2))
    else:
        from sayso.report.safe import safe

        shared.emit(safe(message) or data.phrases["report.nothing_to_ask"])


def _of_case(
    number: int, data: Lexicon, casebook: Path | None, *, sent: bool, **options: Any
) -> tuple[tuple[Question, ...], str]:
    """What is left to ask in a case; what was asked before is not asked again."""
    from sayso.casebook import open_casebook
    from sayso.casebook.book import now
    from sayso.cli.casebook_words import casebook_faults
    from sayso.engine import conclude

    with casebook_faults(), open_casebook(casebook, create=False) as book:
        known = book.load_case(number).audit
        asked = book.asked_features(number)
        audit = conclude(
            known.listing, known.claims, known.deferrals, data, asked=asked, record=known.dossier, **options
        )
        if sent and audit.questions:
            language = options.get("language") or known.listing.language
            book.record_questions(number, audit.questions, message=audit.message, language=language)
            count = len(audit.questions)
            print(data.phrases["ask.kept"].format(case=number, count=count, date=now()[:10]), file=sys.stderr)
    return audit.questions, audit.message
