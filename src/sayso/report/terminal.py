"""The report for a terminal, a pipe or a file: the answer first, then what it rests on.

Meaning never hangs on colour: every mark is also a character, every state also a word.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import TYPE_CHECKING

from sayso.model import Audit, Bound, Conflict, Finding, Span
from sayso.report.known import Known, of_label, of_mark
from sayso.report.marked import pieces
from sayso.report.safe import safe
from sayso.report.timeline import timeline
from sayso.report.words import Words, and_list, says_itself

if TYPE_CHECKING:
    from rich.console import Console

    from sayso.lexicon import Lexicon

WIDTH = 80
COLOUR = {
    "stated": "green",
    "denied": "red",
    "hedged": "yellow",
    "unknown": "magenta",
    "deferred": "magenta",
    "silent": "default",
    "conflicting": "bold red",
}
BAR = 12
"""Width of the bar of a chance, in characters."""
SIGNS = 8
"""At most this many dated signs are told one by one; the JSON form has all of them."""
FELT = 0.095
"""Evidence that moves the odds by less than a tenth is left out of the report; the JSON form has all of it."""
QUOTED = 3
"""So many quotes stand behind a finding; how many more there are is said."""
WEIGHT = ("decisive", "supporting", "helpful", "none")


def render(audit: Audit, lexicon: Lexicon, *, colour: bool | None = None) -> str:
    """The report as text; with colours only where standard output is a terminal that has them, or `colour` says so."""
    import os
    import sys
    from io import StringIO

    from rich.console import Console

    live = bool(getattr(sys.stdout, "isatty", lambda: False)())
    if colour is None:
        colour = live and "NO_COLOR" not in os.environ and os.environ.get("TERM") != "dumb"
    width = WIDTH
    if live:
        import shutil

        width = max(40, min(100, shutil.get_terminal_size((WIDTH, 24)).columns))
    out = Console(
        file=StringIO(),
        width=width,
        force_terminal=colour,
        no_color=not colour,
        color_system="standard" if colour else None,
        highlight=False,
        markup=False,
        emoji=False,
        legacy_windows=False,
    )
    print_audit(audit, lexicon, out)
    assert isinstance(out.file, StringIO)
    return "\n".join(line.rstrip() for line in out.file.getvalue().rstrip("\n").split("\n"))


def print_audit(audit: Audit, lexicon: Lexicon, out: Console) -> None:
    """The whole report."""
    say = Words(lexicon)
    _answer(audit, out)
    _listing(audit, say, out)
    _record(audit, say, out)
    if audit.silence:
        _head(say.heading("silence"), out)
        for sentence in audit.silence:
            _text(sentence, out)
    if audit.conflicts:
        _head(say.heading("conflicts"), out)
        for conflict in audit.conflicts:
            _conflict(conflict, say, out)
    _dating(audit, say, out)
    _label(audit, say, out)
    _odds(audit, say, out)
    _message(audit, say, out)
    _head(say.heading("cautions"), out)
    for caution in audit.cautions:
        _text(caution, out)


def _answer(audit: Audit, out: Console) -> None:
    from rich.padding import Padding
    from rich.text import Text

    out.print(Padding(Text(safe(audit.answer), style="bold"), (0, 0)))


def _head(words: str, out: Console) -> None:
    from rich.text import Text

    out.print()
    out.print(Text(words.upper(), style="bold cyan"))


def _text(words: str, out: Console, *, indent: int = 2, hang: int = 0, style: str = "") -> None:
    """A paragraph, indented; further lines hang by `hang`."""
    from rich.text import Text

    body = Text(safe(words), style=style)
    for n, line in enumerate(body.wrap(out, max(20, out.width - indent - hang))):
        line.rstrip()
        out.print(Text(" " * (indent + (hang if n else 0))) + line)


def _listing(audit: Audit, say: Words, out: Console) -> None:
    from rich.text import Text

    _head(say.heading("listing"), out)
    body = Text()
    for piece in pieces(audit):
        words = safe(audit.listing.text[piece.start : piece.end])
        if piece.skipped:
            count = len(words.split())
            if count > 12:
                kind = say.say(f"segment.{piece.skipped}")
                words = say.say("report.skipped", words=count, kind=kind)
            body.append(words, style="dim")
        elif piece.state:
            body.append(f"[{say.sign(piece.state)}{words}]", style=COLOUR[piece.state])
        else:
            body.append(words)
    blank = False
    for line in body.split("\n", allow_blank=True):
        if not line.plain.strip():
            blank = True
            continue
        if blank:
            out.print()
        blank = False
        for part in line.wrap(out, out.width - 2):
            part.rstrip()
            out.print(Text("  ") + part)
    if audit.claims:
        out.print()
        _text(say.say("report.key"), out, style="dim")
    if audit.listing.notes:
        _text(say.say("report.notes", what=" ".join(audit.listing.notes)), out, style="dim")


def _record(audit: Audit, say: Words, out: Console) -> None:
    from rich.text import Text

    _head(say.heading("record"), out)
    lesser: list[str] = []
    for zone, findings in say.by_zone(audit.findings):
        silent = [f for f in findings if f.state == "silent" and f.need != "decisive"]
        missing = [say.feature(f.feature) for f in silent if f.need == "supporting"]
        lesser += [say.feature(f.feature) for f in silent if f.need == "helpful"]
        shown = [f for f in findings if f not in silent]
        if not shown and not missing:
            continue
        out.print(Text(f"  {say.zone(zone)}", style="bold"))
        for finding in sorted(shown, key=lambda f: WEIGHT.index(f.need)):
            _finding(finding, audit, say, out)
        if missing:
            _text(f"{say.sign('silent')} {say.state('silent')}: {'; '.join(missing)}", out, indent=4, hang=2)
    if lesser:
        _text(say.say("report.lesser", what="; ".join(lesser)), out, style="dim")


def _finding(finding: Finding, audit: Audit, say: Words, out: Console) -> None:
    cited = [audit.claims[i] for i in say.quoted(finding, audit.claims)]
    quotes = list(dict.fromkeys(f'"{_line(c.quote)}"{say.aside(finding, c)}' for c in cited))
    words = f"{say.sign(finding.state)} {say.feature(finding.feature)}: {say.finding(finding, audit.claims)}"
    if quotes:
        words += " " + "; ".join(quotes[:QUOTED])
        if len(quotes) > QUOTED:
            words += " " + say.say("report.more", count=len(quotes) - QUOTED)
    if finding.need == "decisive":
        words += f" ({say.need(finding.need)})"
    _text(words, out, indent=4, hang=2, style=COLOUR[finding.state])
    if finding.need == "decisive" and finding.state not in ("stated", "denied"):
        _text(finding.why, out, indent=6, style="dim")
    for proof in audit.proofs:
        if proof.claim in finding.claims:
            _known(of_mark(proof, say), out, indent=6)


def _known(known: Known, out: Console, *, indent: int = 2) -> None:
    words = f"{known.sign} {known.line}" if known.sign else known.line
    _text(words, out, indent=indent, hang=2, style="bold" if known.heads else "yellow" if known.look else "")
    for line in known.below:
        _text(line, out, indent=indent + 2, style="dim")


def _label(audit: Audit, say: Words, out: Console) -> None:
    lines = of_label(audit, say)
    if not lines:
        return
    _head(say.heading("label"), out)
    for known in lines:
        _known(known, out, indent=4 if known.sign else 2)


def _conflict(conflict: Conflict, say: Words, out: Console) -> None:
    quotes = [f'"{_line(x.quote)}"' for x in conflict.between if isinstance(x, Span)]
    head = say.say(f"conflict.{conflict.kind}") + (": " + " / ".join(quotes) if quotes else "")
    _text(f"! {head}", out, hang=2, style="bold red" if conflict.kind == "age" else "yellow")
    _text(conflict.why, out, indent=4)
    if conflict.source:
        _text(say.say("report.source", source=conflict.source), out, indent=4, style="dim")
    if conflict.innocent:
        _text(say.say("report.innocent", what=" ".join(conflict.innocent)), out, indent=4)


def _dating(audit: Audit, say: Words, out: Console) -> None:
    bounds = [b for b in audit.dating.bounds if b.claim is not None or b.span is not None]
    if not bounds:
        return
    _head(say.heading("dating"), out)
    whole = audit.dating
    for key, year, side in (("from", whole.not_before, "not_before"), ("to", whole.not_after, "not_after")):
        if year is None:
            continue
        means = next((b.statement for b in bounds if getattr(b, side) == year), "")
        _text(
            say.say(f"report.window_{key}", year=say.date(year.removesuffix("-01-01")), what=means.rstrip(".") or "…"),
            out,
        )
    if whole.not_before is None and whole.not_after is None:
        _text(say.say("report.window_open"), out)
    claimed = [str(c.value) for c in audit.claims if c.feature == "edition.year" and c.polarity == "present"]
    for row in timeline(audit.dating, say, claimed):
        if len(row) > out.width - 2:
            _text(row, out)
        else:
            out.print(f"  {safe(row)}")
    for doubt in whole.doubts:
        _text(doubt.why, out, hang=2, style="yellow")
    # What the eras of the label prove is told with the label.
    told = [b for b in bounds if not (audit.history and b.fact.startswith("label."))]
    # A sign that both opens and closes a span stands in two bounds; what proves more is told first.
    shown: dict[str, list[Bound]] = {}
    for bound in sorted(told, key=lambda b: (not b.hard, b.carrier in ("jacket", "inner"))):
        shown.setdefault(bound.fact, []).append(bound)
    for rows in list(shown.values())[:SIGNS]:
        bound = rows[0]
        until = next((b.not_after for b in rows if b.not_after), None)
        since = say.date(bound.not_before) if bound.not_before else "…"
        years = since if not until else f"{since}–{say.date(until)}"
        quote = _line(bound.span.quote) if bound.span else bound.fact
        words = say.say(
            "dating.sign",
            part=say.carrier(bound.carrier),
            quote=quote,
            what=bound.statement.rstrip("."),
            years=years + ("" if bound.hard else "; " + say.say("html.soft")),
            basis=bound.basis,
            source=bound.source.rstrip("."),
        )
        _text(words[:1].upper() + words[1:], out, hang=2, style="dim")
        if bound.caution:
            _text(bound.caution, out, indent=4, style="dim")


def _odds(audit: Audit, say: Words, out: Console) -> None:
    from sayso.answer import percent

    odds = audit.odds
    if odds is None:
        if audit.why_no_odds:
            _head(say.heading("odds"), out)
            _text(say.say("report.no_odds", why=audit.why_no_odds), out)
            if audit.why_no_odds == say.say("report.no_dossier"):
                _text(say.say("report.no_dossier_how"), out)
    else:
        _head(say.heading("odds"), out)
        if audit.dossier is None:
            _text(f"{say.say('report.general')} {say.say('report.general_how')}", out)
        for p in odds.pressings:
            # name, bar, chance and range in one line of at most 80 columns
            room = out.width - 2 - 2 - BAR - 1 - 9 - 1 - 22
            name = p.name if len(p.name) <= room else p.name[: room - 1] + "…"
            low, high = percent(p.low), percent(p.high)
            span = f"({low} to {high})" if low != high else ""
            out.print(f"  {safe(name):<{room}}  {'#' * round(p.p * BAR):<{BAR}} {percent(p.p):>9} {span}")
        moves = [m for m in odds.moved_by if abs(m.log_odds) >= FELT]
        if moves:
            out.print()
            _text(say.say("report.moved"), out)
            for move in sorted(moves, key=lambda m: -abs(m.log_odds))[:6]:
                sign = "+" if move.log_odds > 0 else "-"
                _text(f"{sign} {move.sentence}", out, indent=4, hang=2)
        if odds.most_sensitive:
            _text(say.say("report.sensitive", what=odds.most_sensitive), out)
    if audit.worth or audit.advice:
        _head(say.heading("advice"), out)
    if audit.advice:
        a = audit.advice
        _text(a.why if says_itself(audit) else f"{say.say(f'do.{a.do}')}: {a.why}", out, style="bold")
        if a.ceiling is not None:
            _text(say.say("report.ceiling", amount=money(a.ceiling, a.currency)), out)
        if a.cautious_ceiling is not None:
            _text(say.say("report.cautious", amount=money(a.cautious_ceiling, a.currency)), out)
        if a.bargain:
            _text(say.say("report.bargain"), out)
        for note in a.notes:
            _text(note, out)
    if audit.worth:
        w = audit.worth
        amounts = {k: money(getattr(w, k), w.currency) for k in ("expected", "low", "high")}
        _text(say.say("report.worth", **amounts), out)
        for note in w.notes:
            _text(note, out)


def _message(audit: Audit, say: Words, out: Console) -> None:
    from rich.text import Text

    _head(say.heading("message"), out)
    if not audit.questions:
        _text(say.say("report.nothing_to_ask"), out)
        return
    for row in audit.message.splitlines():
        hang = 3 if re.match(r"\d+\. ", row) else 0
        if row:
            for n, line in enumerate(Text(safe(row)).wrap(out, out.width - 4 - hang)):
                line.rstrip()
                out.print(Text("  | " + " " * (hang if n else 0)) + line)
        else:
            out.print("  |")
    worths = [
        say.say("report.value_money", n=n, amount=money(Decimal(str(q.value)), _currency(audit)))
        for n, q in enumerate(audit.questions, 1)
        if q.value and q.unit == "money" and q.value >= 0.5
    ]
    if worths:
        _text(and_list(worths)[0].upper() + and_list(worths)[1:] + ".", out)


def _currency(audit: Audit) -> str | None:
    return audit.worth.currency if audit.worth else audit.listing.currency


def money(amount: Decimal, currency: str | None) -> str:
    """An amount with its currency: 'USD 120' or 'USD 12.50'."""
    words = f"{amount:,.0f}" if amount == amount.to_integral_value() or abs(amount) >= 100 else f"{amount:,.2f}"
    return f"{currency} {words}" if currency else words


def _line(quote: str, longest: int = 80) -> str:
    line = " ".join(quote.split())
    return line if len(line) <= longest else line[:longest].rsplit(" ", 1)[0] + " …"
