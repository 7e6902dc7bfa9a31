"""The wishlist: many listings ranked, kept in memory until the program ends, so that each has an address of its own.

A ranking answers with a redirect to its address (RFC 9110, 15.4.4: 303): going back or reading it again ranks nothing
twice. Each audit is sent when it is unfolded; a page of 67 drawings would be slow to draw and slower to read aloud.
"""

from __future__ import annotations

import re
import tempfile
import threading
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from sayso.page import views
from sayso.page.form import FormFault, read_currency, read_options
from sayso.page.guard import MOST_BYTES
from sayso.report.html_build import Html
from sayso.report.html_parts import sections
from sayso.report.html_wishlist import Ranked, ranking
from sayso.report.words import Words

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.model import Audit
    from sayso.report.compared import Compared

MOST_LISTINGS = 500
MOST_LISTS = 3
"""Rankings kept at a time; an older one is forgotten."""
SUFFIXES = (".csv", ".tsv", ".jsonl", ".txt", ".html")


@dataclass(frozen=True)
class Kept:
    """One ranking, best first: what was asked, and what came of it."""

    form: Mapping[str, str]
    audits: tuple[Audit, ...]
    ranks: tuple[Ranked, ...]
    copies: tuple[Compared, ...]
    problems: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    """How each table was understood."""


@dataclass
class Lists:
    """The last rankings by their numbers."""

    _held: OrderedDict[int, Kept] = field(default_factory=OrderedDict)
    _last: int = 0
    _turn: threading.Lock = field(default_factory=threading.Lock)

    def keep(self, kept: Kept) -> int:
        """Keep a ranking; gives its number."""
        with self._turn:
            self._last += 1
            self._held[self._last] = kept
            while len(self._held) > MOST_LISTS:
                self._held.popitem(last=False)
            return self._last

    def get(self, number: str, place: str = "1") -> tuple[Kept, int] | None:
        """A ranking and the index of the listing at `place` (from 1); null where there is none."""
        if not (_plain(number) and _plain(place)):
            return None
        kept = self._held.get(int(number))
        return (kept, int(place) - 1) if kept is not None and 1 <= int(place) <= len(kept.audits) else None


def _plain(number: str) -> bool:
    return number.isascii() and number.isdigit() and len(number) < 10


def list_routes(lists: Lists, lexicon: Lexicon) -> list[Route]:
    """The routes of the wishlist."""

    def gone() -> Response:
        return HTMLResponse(views.fault_page("page.fault.list_gone", lexicon), 404)

    async def form(request: Request) -> Response:
        return HTMLResponse(views.wishlist({}, Html(), lexicon))

    async def read(request: Request) -> Response:
        async with request.form(max_files=200, max_fields=20, max_part_size=MOST_BYTES) as sent:
            typed = {k: v for k, v in sent.items() if isinstance(v, str)}
            files = [(f.filename or "", await f.read()) for f in sent.getlist("table") if not isinstance(f, str)]
        try:
            kept = await run_in_threadpool(rank, files, typed, lexicon)
        except FormFault as fault:
            return HTMLResponse(views.wishlist(typed, Html(), lexicon, fault=str(fault)), 422)
        return RedirectResponse(f"/wishlist/{lists.keep(kept)}#list", 303)

    async def shown(request: Request) -> Response:
        found = lists.get(request.path_params["number"])
        if found is None:
            return gone()
        kept, number = found[0], int(request.path_params["number"])

        def page() -> str:
            folded = partial(views.folded, number=number, form=kept.form, lexicon=lexicon)
            table = ranking(kept.audits, lexicon, kept.ranks, kept.copies, folded=folded)
            return views.wishlist(kept.form, table, lexicon, problems=kept.problems, notes=kept.notes)

        return HTMLResponse(await run_in_threadpool(page))

    async def one(request: Request) -> Response:
        found = lists.get(request.path_params["number"], request.path_params["place"])
        if found is None:
            return gone()
        kept, n = found
        audit = kept.audits[n]
        if request.query_params.get("part") == "yes":
            part = partial(sections, audit, lexicon, key=f"w{n}", level=3, contents=False)
            return HTMLResponse(await run_in_threadpool(part))
        back = f"/wishlist/{int(request.path_params['number'])}#w-a{n}"
        return HTMLResponse(await run_in_threadpool(views.of_list, audit, kept.form, back, lexicon))

    return [
        Route("/wishlist", form, methods=["GET"]),
        Route("/wishlist", read, methods=["POST"]),
        Route("/wishlist/{number}", shown, methods=["GET"]),
        Route("/wishlist/{number}/{place}", one, methods=["GET"]),
    ]


def rank(files: list[tuple[str, bytes]], form: Mapping[str, str], lexicon: Lexicon) -> Kept:
    """Audit the uploaded tables and texts, best first. Their names never reach the file system. Raises `FormFault`."""
    from sayso.engine import audit_listing
    from sayso.intake.errors import IntakeError
    from sayso.review.compare import shown
    from sayso.review.partition import read_row
    from sayso.review.rank import summarise
    from sayso.review.rows import Done, Settings
    from sayso.review.sources import Reading
    from sayso.review.sources import rows as read_rows
    from sayso.review.spool import Spool

    say = Words(lexicon)
    currency, options = read_currency(form, say), read_options(form, lexicon)
    if not any(data.strip() for _, data in files):
        raise FormFault(say.say("page.fault.no_list"))
    if options.get("worth"):
        if currency is None:
            raise FormFault(say.say("page.fault.currency_missing"))
        options["worth_currency"] = currency
    audits: list[Audit] = []
    problems: list[str] = []
    notes: list[str] = []
    spool = Spool()
    try:
        with tempfile.TemporaryDirectory(prefix="sayso-") as folder:
            paths, names = [], {}
            for n, (name, data) in enumerate(files, 1):
                suffix = next((s for s in SUFFIXES if name.lower().endswith(s)), ".txt")
                paths.append(Path(folder, f"{n}{suffix}"))
                paths[-1].write_bytes(data)
                names[str(paths[-1])] = re.split(r"[/\\]", name)[-1][:80] or paths[-1].name

            def plain(words: object) -> str:
                """Without the folder it was put in for the moment, by the name the buyer knows."""
                line = " ".join(str(words).split())
                for path, name in names.items():
                    line = line.replace(path, name)
                return line.replace(folder, "")

            settings = Settings(currency=currency)
            reading = Reading(currency=currency, say=lambda words: notes.append(plain(words)[:500]))
            try:
                for raw in read_rows([str(p) for p in paths], reading):
                    if len(audits) == MOST_LISTINGS:
                        problems.insert(0, say.say("page.wishlist_most", most=MOST_LISTINGS))
                        break
                    source = names.get(raw.source, raw.source)
                    where = f"{source}, {say.say('review.row', row=raw.number)}" if raw.number else source
                    try:
                        if raw.problem:
                            raise IntakeError(raw.problem)
                        audits.append(audit_listing(read_row(raw, settings, lexicon), lexicon, **options))
                    except IntakeError as error:
                        problems.append(f"{where}: {plain(error)}"[:300])
                        continue
                    spool.add(Done(source, raw.number, summary=summarise(audits[-1], lexicon)))
            except IntakeError as error:
                raise FormFault(plain(error)) from None
        if not audits:
            raise FormFault(problems[0] if problems else say.say("page.fault.no_list"))
        spool.settle()
        order = [row.n - 1 for row in spool.ranked()]
        ranks, copies = shown(spool, lexicon, most=MOST_LISTINGS)
    finally:
        spool.close()
    kept = {k: v for k, v in form.items() if k in views.WISHES and v}
    return Kept(kept, tuple(audits[n] for n in order), tuple(ranks), tuple(copies), tuple(problems[:20]), tuple(notes))
