"""`sayso cases`: the casebook."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from sayso.cli import Fault
from sayso.cli.options import Casebook, Currency, KeepContacts, Overlays

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.model import Listing

app = typer.Typer(
    add_completion=False, rich_markup_mode=None, no_args_is_help=True, help="The casebook: what was said when."
)
Number = Annotated[str, typer.Argument(metavar="CASE", help="The number of the case.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print as JSON.")]


@app.command("list")
def list_cases(casebook: Casebook = None, as_json: AsJson = False) -> None:
    """Every case, a line each."""
    from sayso.casebook import open_casebook
    from sayso.casebook.store import usual_path
    from sayso.cli import shared
    from sayso.cli.casebook_words import casebook_faults

    with casebook_faults():
        found = []
        # Looking into a casebook that nobody began is no fault, and begins none.
        if usual_path(casebook).exists():
            with open_casebook(casebook) as book:
                found = book.cases()
    if as_json:
        import json

        shared.emit(json.dumps([s.model_dump(mode="json") for s in found]))
        return
    from sayso.report.conversation import cases_text

    shared.emit(cases_text(found, shared.load(None)))


@app.command()
def show(case: Number, casebook: Casebook = None, as_json: AsJson = False) -> None:
    """All that happened in a case, in order."""
    from sayso.casebook import open_casebook
    from sayso.cli import shared
    from sayso.cli.casebook_words import case_number, casebook_faults

    with casebook_faults(), open_casebook(casebook, create=False) as book:
        found = book.load_case(case_number(case))
    if as_json:
        from sayso.casebook.exchange import to_line

        shared.emit(to_line(found))
        return
    from sayso.report.conversation import case_text

    shared.emit(case_text(found, shared.load(None)))


@app.command()
def note(
    case: Number,
    text: Annotated[
        list[str], typer.Argument(metavar="TEXT", help="What to remember; - reads it from standard input.")
    ],
    casebook: Casebook = None,
    keep_contacts: KeepContacts = False,
) -> None:
    """Keep a note of your own in a case."""
    from sayso.casebook import open_casebook
    from sayso.cli.casebook_words import case_number, casebook_faults, words

    said = words("-", "the note") if text == ["-"] else " ".join(text)
    if not said.strip():
        raise Fault("the note is empty; write what to remember")
    with casebook_faults(), open_casebook(casebook, create=False) as book:
        book.note(case_number(case), said, keep_contacts=keep_contacts)


@app.command()
def decide(
    case: Number,
    do: Annotated[str, typer.Argument(metavar="buy|bought|pass|lost", help="What you decided, or what became of it.")],
    price: Annotated[str | None, typer.Option(metavar="AMOUNT", help="What you paid or offered.")] = None,
    currency: Currency = None,
    why: Annotated[str, typer.Option(metavar="TEXT", help="Why.")] = "",
    casebook: Casebook = None,
    keep_contacts: KeepContacts = False,
) -> None:
    """Keep what you decided."""
    import re

    from sayso.casebook import open_casebook
    from sayso.cli import shared
    from sayso.cli.casebook_words import case_number, casebook_faults

    paid = shared.amount(price, "--price")
    if currency is not None and not re.fullmatch(r"[A-Za-z]{3}", currency):
        raise Fault(f"--currency: {currency!r} is no currency; use three letters, such as USD, EUR, GBP or JPY")
    with casebook_faults(), open_casebook(casebook, create=False) as book:
        book.decide(
            case_number(case),
            do,
            price=float(paid) if paid is not None else None,
            currency=currency.upper() if currency else None,
            why=why,
            keep_contacts=keep_contacts,
        )


@app.command()
def sent(
    case: Number,
    file: Annotated[
        str | None,
        typer.Argument(metavar="[FILE]", help="The questions, from `sayso ask --json`; else those of the case."),
    ] = None,
    casebook: Casebook = None,
) -> None:
    """Keep which questions you sent, and when: those the case proposes now, or those in FILE."""
    from sayso.casebook import open_casebook
    from sayso.cli.casebook_words import case_number, casebook_faults

    number = case_number(case)
    with casebook_faults(), open_casebook(casebook, create=False) as book:
        audit = book.load_case(number).audit
        if file is None:
            if not audit.questions:
                raise Fault(f"case {number} has nothing left to ask; name a file with the questions you sent")
            book.record_questions(number, audit.questions, message=audit.message)
            return
        from sayso.cli.reply import _questions

        book.record_questions(number, _questions(Path(file)))


@app.command()
def update(
    case: Number,
    file: Annotated[
        str, typer.Argument(metavar="[FILE|-]", help="The listing as it stands now; - or nothing: paste it.")
    ] = "-",
    lexicon: Overlays = None,
    casebook: Casebook = None,
    keep_contacts: KeepContacts = False,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Show what changed; keep nothing.")] = False,
    as_json: AsJson = False,
) -> None:
    """The listing has changed: audit it again and see which claims appeared, vanished or weakened."""
    from sayso.casebook import open_casebook
    from sayso.casebook.changed import compare
    from sayso.cli import shared
    from sayso.cli.casebook_words import case_number, casebook_faults
    from sayso.engine import audit_listing
    from sayso.replies.answers import refold

    data = shared.load(lexicon)
    number = case_number(case)
    with casebook_faults(), open_casebook(casebook, create=False) as book:
        held = book.load_case(number)
        was = held.listing_audit
        listing = shared.read(file, data)
        if listing.price is None:
            kept = {"price": was.listing.price, "currency": was.listing.currency, "shipping": was.listing.shipping}
            listing = listing.model_copy(update=kept)
        asked = book.asked_features(number)
        now = audit_listing(listing, data, asked=asked, record=was.dossier)
        # Both versions are read by the same reader: what is new must be the seller's doing, not the program's.
        before = audit_listing(was.listing, data, asked=asked, record=was.dossier)
        found = compare(before, now, sorted(asked))
        earlier = held.exchanges()
        folded = refold(now, earlier, data, asked=asked, record=was.dossier) if earlier else None
        if not dry_run:
            book.save_audit(now, case=number, folded=folded, keep_contacts=keep_contacts, lexicon=data)
    if as_json:
        import json

        shared.emit(json.dumps([c.model_dump(mode="json") for c in found]))
        return
    from sayso.report.conversation import changed_text

    prices = (_price(was.listing), _price(listing))
    shared.emit(
        changed_text(found, data, prices=prices if prices[0] != prices[1] else None, now=folded if earlier else now)
    )


def _price(listing: Listing) -> str:
    """The price asked in words, with postage where it is named."""
    if listing.price is None:
        return "-"
    postage = f" + {float(listing.shipping):g}" if listing.shipping is not None else ""
    return f"{listing.currency or ''} {float(listing.price):g}{postage}".strip()


@app.command()
def export(
    out: Annotated[
        str, typer.Argument(metavar="[FILE|-]", help="Where to write; - or nothing: standard output.")
    ] = "-",
    casebook: Casebook = None,
) -> None:
    """The whole casebook as JSON Lines, a line a case."""
    from sayso.casebook import open_casebook
    from sayso.casebook.exchange import to_line
    from sayso.cli import shared
    from sayso.cli.casebook_words import casebook_faults

    with casebook_faults(), open_casebook(casebook, create=False) as book:
        lines = "".join(to_line(case) + "\n" for case in book.load_all())
    if out == "-":
        shared.emit(lines.rstrip("\n"))
    else:
        shared.write(Path(out), lines, "export")


@app.command("import")
def import_cases(
    file: Annotated[str, typer.Argument(metavar="FILE|-", help="An export.")], casebook: Casebook = None
) -> None:
    """Take the cases of an export in: all of them, or none where one went on differently here."""
    from sayso.casebook import open_casebook
    from sayso.casebook.exchange import from_lines
    from sayso.cli import shared
    from sayso.cli.casebook_words import casebook_faults

    try:
        text = sys.stdin.read() if file == "-" else Path(file).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise Fault(f"{file} cannot be read: {getattr(error, 'strerror', None) or 'it is not UTF-8'}") from None
    with casebook_faults():
        cases = list(from_lines(text.split("\n")))
        with open_casebook(casebook) as book:
            added, known = book.restore(cases)
    shared.emit(f"{added} taken in, {known} known already.")


@app.command()
def delete(
    case: Number,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask.")] = False,
    casebook: Casebook = None,
) -> None:
    """Remove a case and all that was kept in it."""
    from sayso.casebook import open_casebook
    from sayso.cli.casebook_words import case_number, casebook_faults
    from sayso.report.conversation import flat

    number = case_number(case)
    with casebook_faults(), open_casebook(casebook, create=False) as book:
        name = flat(book.load_case(number).name)
        if not yes:
            if not sys.stdin.isatty():
                raise Fault(f"case {number} ({name}) is deleted for good; say --yes if that is meant")
            print(f"Delete case {number} ({name}) for good? [y/N] ", end="", file=sys.stderr, flush=True)
            if sys.stdin.readline().strip().casefold() not in ("y", "yes"):
                raise Fault("nothing was deleted")
        book.delete(number)


@app.command()
def outcomes(
    apply: Annotated[bool, typer.Option("--apply", help="Write the proposed assumptions as data of your own.")] = False,
    casebook: Casebook = None,
    lexicon: Overlays = None,
    as_json: AsJson = False,
) -> None:
    """What was predicted against what arrived, and what that says of the assumptions."""
    from sayso.casebook import open_casebook
    from sayso.casebook.outcomes import FEW, outcomes_of, overlay, proposals, record_of
    from sayso.cli import shared
    from sayso.cli.casebook_words import casebook_faults, folder_of_own_data

    data = shared.load(lexicon)
    target = folder_of_own_data() / "assumptions-from-outcomes.toml"
    with casebook_faults(), open_casebook(casebook, create=False) as book:
        cases = book.load_all()
    record = record_of(outcomes_of(cases))
    # The shipped values are the prior: a file written before must not be counted twice.
    shipped = _shipped()
    proposed = proposals(cases, shipped)
    if as_json:
        import json

        rows = [p.model_dump(mode="json") for p in proposed]
        shared.emit(json.dumps({"record": record.model_dump(mode="json"), "proposals": rows}))
    else:
        from sayso.report.conversation import outcomes_text

        shared.emit(outcomes_text(record, proposed, data, few=FEW, path=str(target)))
    if not apply:
        return
    enough = [p for p in proposed if p.enough]
    if not enough:
        shared.emit("\n" + data.phrases["outcomes.nothing_to_apply"])
        return
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise Fault(f"{target.parent} cannot be made: {error.strerror}") from None
    shared.write(target, overlay(enough), "--apply")
    ids = ", ".join(p.id for p in enough)
    shared.emit("\n" + data.phrases["outcomes.applied"].format(path=target, ids=ids))


def _shipped() -> Lexicon:
    from sayso.lexicon import load_lexicon

    return load_lexicon(user=False)
