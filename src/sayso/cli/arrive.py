"""`sayso arrive`."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Annotated, Any

import typer

from sayso.cli import Fault
from sayso.cli.options import Casebook, KeepContacts, Overlays

if TYPE_CHECKING:
    from sayso.casebook.arrival import Check, Found
    from sayso.lexicon import Lexicon
    from sayso.model import Audit

app = typer.Typer(add_completion=False, rich_markup_mode=None)


@app.command()
def arrive(
    case: Annotated[str, typer.Argument(metavar="CASE", help="The number of the case.")],
    found: Annotated[
        str | None,
        typer.Argument(metavar="[FILE]", help="What you found, as JSON or lines 'check: y|b|n|?: what you see'."),
    ] = None,
    pressing: Annotated[
        str | None, typer.Option(metavar="ID", help="Which pressing of the dossier it turned out to be.")
    ] = None,
    show: Annotated[bool, typer.Option("--list", help="Only print the checklist.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print the result (or the checklist) as JSON.")] = False,
    lexicon: Overlays = None,
    casebook: Casebook = None,
    keep_contacts: KeepContacts = False,
) -> None:
    """The record in hand against what was said: what to look at, what came of it, what to tell the seller."""
    from sayso.casebook import open_casebook
    from sayso.casebook.arrival import checklist, judge
    from sayso.casebook.book import now
    from sayso.cli import shared
    from sayso.cli.casebook_words import case_number, casebook_faults

    data = shared.load(lexicon)
    number = case_number(case)
    with casebook_faults(), open_casebook(casebook, create=False) as book:
        held = book.load_case(number)
        checks = checklist(held, data)
        audit = held.audit
        if show:
            _list(checks, data, as_json)
            return
        if found is not None:
            seen, told = _from_file(found, checks)
        elif sys.stdin.isatty():
            seen, told = _ask(checks, audit, data)
        else:
            raise Fault("name a file with what you found, or run it at a terminal; --list prints the checklist")
        chosen = _pressing(pressing or told, audit)
        result = judge(checks, seen, date=now()[:10], lexicon=data, audit=audit, pressing=chosen)
        body: dict[str, Any] = result.model_dump(mode="json")
        book.record_arrival(number, body, keep_contacts=keep_contacts, lexicon=data)
    if as_json:
        import json

        shared.emit(json.dumps(body, ensure_ascii=False))
        return
    from sayso.report.conversation import arrival_text

    open_ = [p.id for p in audit.odds.pressings] if audit.odds and result.pressing is None else []
    shared.emit(arrival_text(result, data, may_tell=open_))


def _list(checks: tuple[Check, ...], data: Lexicon, as_json: bool) -> None:
    from sayso.cli import shared

    if as_json:
        import json

        shared.emit(json.dumps([c.model_dump(mode="json") for c in checks], ensure_ascii=False))
        return
    from sayso.report.conversation import checklist_text

    shared.emit(checklist_text(checks, data) + "\n\n" + data.phrases["arrive.how"])


def _from_file(file: str, checks: tuple[Check, ...]) -> tuple[list[Found], str | None]:
    import json

    from sayso.casebook.arrival import found_from
    from sayso.cli.casebook_words import words

    text = words(file, "the list of what you found")
    try:
        if text.lstrip()[:1] in ("{", "["):
            return found_from(json.loads(text), checks)
        return found_from(_lines(text), checks)
    except ValueError as error:
        raise Fault(f"{file}: {error}; `sayso arrive CASE --list` shows the checks") from None


def _lines(text: str) -> dict[str, str]:
    """Lines 'check: result: what is seen'; empty ones and those that begin with # are passed over."""
    out: dict[str, str] = {}
    for n, line in enumerate(text.split("\n"), 1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        name, colon, rest = line.partition(":")
        if not colon:
            raise ValueError(f"line {n} must be written 'check: y', for example 'deadwax.plant_mark: n: no sign there'")
        if name.strip() in out:
            raise ValueError(f"line {n}: {name.strip()} was answered already")
        out[name.strip()] = rest.strip()
    return out


def _ask(checks: tuple[Check, ...], audit: Audit, data: Lexicon) -> tuple[list[Found], str | None]:
    """Goes through the checklist at the terminal."""
    from sayso.casebook.arrival import RESULTS, Found
    from sayso.report.conversation import check_lines, stage, zone_head

    print(data.phrases["arrive.how"], file=sys.stderr)
    out: list[Found] = []
    zone = ""
    for n, check in enumerate(checks, 1):
        if stage(check) != zone:
            zone = stage(check)
            print(f"\n{zone_head(zone, data)}", file=sys.stderr)
        print("\n".join(check_lines(check, data, n)), file=sys.stderr)
        while True:
            print("  > ", end="", file=sys.stderr, flush=True)
            line = sys.stdin.readline()
            head, _, seen = line.strip().partition(":")
            result = RESULTS.get(head.strip().casefold())
            if result is not None:
                break
            print(data.phrases["arrive.how"], file=sys.stderr)
        out.append(Found(id=check.id, result=result, seen=seen.strip()))
        if not line:  # end of input: the rest is not checked
            break
    told = None
    if audit.odds:
        choices = ", ".join(f"{p.id} ({p.name})" for p in audit.odds.pressings)
        known = {p.id for p in audit.odds.pressings}
        while True:  # a slip here must not cost all the answers above
            print(data.phrases["arrive.pressing"].format(choices=choices), end="", file=sys.stderr, flush=True)
            told = sys.stdin.readline().strip() or None
            if told is None or told in known:
                break
    return out, told


def _pressing(given: str | None, audit: Audit) -> str | None:
    if given is None:
        return None
    known = [p.id for p in audit.odds.pressings] if audit.odds else []
    if given not in known:
        there = f"there are {', '.join(known)}" if known else "this case has no dossier, so leave it out"
        raise Fault(f"--pressing: {given!r} is no pressing of this record; {there}")
    return given
