"""The local web application. It keeps nothing but what its user saves in the casebook."""

from __future__ import annotations

import tempfile
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from sayso.page import views
from sayso.page.cases import case_routes
from sayso.page.casework import Casework
from sayso.page.form import FormFault, read_form
from sayso.page.guard import MOST_BYTES, Guard
from sayso.report.html import TEMPLATES, audit_html
from sayso.report.html_build import Html
from sayso.report.html_parts import sections
from sayso.report.html_wishlist import Ranked, ranking
from sayso.report.words import Words

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.model import Audit
    from sayso.report.compared import Compared

STATIC = Path(__file__).parent / "static"
FILES = {
    # address: (file, type); nothing of an address is ever made into a path
    "/report.css": (TEMPLATES / "report.css", "text/css"),
    "/report.js": (TEMPLATES / "report.js", "text/javascript"),
    "/page.css": (STATIC / "page.css", "text/css"),
    "/page.js": (STATIC / "page.js", "text/javascript"),
    "/icon.svg": (STATIC / "icon.svg", "image/svg+xml"),
}
MOST_LISTINGS = 500
SUFFIXES = (".csv", ".tsv", ".jsonl", ".txt", ".html")


def make_app(lexicon: Lexicon, port: int, casebook: Path | None = None) -> Any:
    """The application as it is served at 127.0.0.1:`port`; `casebook` is its file, in the usual place where null."""
    work = Casework(lexicon, casebook)

    async def start(request: Request) -> Response:
        return HTMLResponse(views.reading({}, Html(), lexicon))

    def result(audit: Audit) -> Html:
        return sections(audit, lexicon, after_message=views.after_message(Words(lexicon)))

    async def read(request: Request) -> Response:
        form, upload = await _form(request)
        try:
            audit = await run_in_threadpool(_audit, form, upload, lexicon)
        except FormFault as fault:
            return HTMLResponse(views.reading(form, Html(), lexicon, fault=str(fault)), 422)
        if not form.get("words", "").strip():
            form["words"] = audit.listing.text
        return HTMLResponse(views.reading(form, result(audit), lexicon))

    async def live(request: Request) -> Response:
        form, upload = await _form(request)
        try:
            audit = await run_in_threadpool(_audit, form, upload, lexicon)
        except FormFault as fault:
            return HTMLResponse(views.fault_line(str(fault)), 422)
        return HTMLResponse(result(audit))

    async def report(request: Request) -> Response:
        form, upload = await _form(request)
        try:
            audit = await run_in_threadpool(_audit, form, upload, lexicon)
        except FormFault as fault:
            return HTMLResponse(views.reading(form, Html(), lexicon, fault=str(fault)), 422)
        page = audit_html(audit, lexicon).encode("utf-8", "replace")
        return Response(
            page, media_type="text/html", headers={"content-disposition": 'attachment; filename="sayso.html"'}
        )

    async def save(request: Request) -> Response:
        form, upload = await _form(request)
        try:
            audit = await run_in_threadpool(_audit, form, upload, lexicon)
            number = await run_in_threadpool(work.save, audit)
        except FormFault as fault:
            return HTMLResponse(views.reading(form, Html(), lexicon, fault=str(fault)), 422)
        kept = {k: form[k] for k in ("language", "wording") if form.get(k) not in (None, "", "open")}
        return RedirectResponse(f"/cases/{number}{'?' + urlencode(kept) if kept else ''}", 303)

    async def wishlist(request: Request) -> Response:
        if request.method != "POST":
            return HTMLResponse(views.wishlist(Html(), lexicon))
        async with request.form(max_files=200, max_fields=20, max_part_size=MOST_BYTES) as form:
            files = [(f.filename or "", await f.read()) for f in form.getlist("table") if not isinstance(f, str)]
        try:
            audits, ranks, copies, problems = await run_in_threadpool(_rank, files, lexicon)
        except FormFault as fault:
            return HTMLResponse(views.wishlist(Html(), lexicon, fault=str(fault)), 422)
        shown = ranking(audits, lexicon, ranks, copies, extra=partial(views.alone, lexicon=lexicon))
        return HTMLResponse(views.wishlist(shown, lexicon, problems=problems))

    async def file(request: Request) -> Response:
        path, kind = FILES[request.url.path]
        return Response(path.read_bytes(), media_type=kind)

    def refuse(status: int, phrase: str) -> Response:
        return HTMLResponse(views.fault_page(phrase, lexicon), status)

    async def missing(request: Request, error: Exception) -> Response:
        return refuse(getattr(error, "status_code", 404), "page.fault.missing")

    async def broken(request: Request, error: Exception) -> Response:
        return refuse(500, "page.fault.inside")

    routes = [
        Route("/", start, methods=["GET"]),
        Route("/", read, methods=["POST"]),
        Route("/live", live, methods=["POST"]),
        Route("/report", report, methods=["POST"]),
        Route("/save", save, methods=["POST"]),
        *case_routes(work, lexicon, _form),
        Route("/wishlist", wishlist, methods=["GET", "POST"]),
        *(Route(address, file, methods=["GET"]) for address in FILES),
    ]
    app = Starlette(routes=routes, exception_handlers={400: missing, 404: missing, 405: missing, 500: broken})
    return Guard(app, port=port, refuse=refuse)


async def _form(request: Request, *, fields: int = 20) -> tuple[dict[str, str], bytes]:
    async with request.form(max_files=1, max_fields=fields, max_part_size=MOST_BYTES) as form:
        words = {k: v for k, v in form.items() if isinstance(v, str)}
        file = form.get("file")
        return words, await file.read() if file is not None and not isinstance(file, str) else b""


def _audit(form: dict[str, str], upload: bytes, lexicon: Lexicon) -> Audit:
    from sayso.engine import audit_listing

    listing, options = read_form(form, upload, lexicon)
    return audit_listing(listing, lexicon, **options)


def _rank(
    files: list[tuple[str, bytes]], lexicon: Lexicon
) -> tuple[list[Audit], list[Ranked], list[Compared], tuple[str, ...]]:
    """Audit the uploaded tables and texts, best first. Their names never reach the file system."""
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
    if not any(data.strip() for _, data in files):
        raise FormFault(say.say("page.fault.empty"))
    audits: list[Audit] = []
    problems: list[str] = []
    spool = Spool()
    try:
        with tempfile.TemporaryDirectory(prefix="sayso-") as folder:
            paths, names = [], {}
            for n, (name, data) in enumerate(files, 1):
                suffix = next((s for s in SUFFIXES if name.lower().endswith(s)), ".txt")
                paths.append(Path(folder, f"{n}{suffix}"))
                paths[-1].write_bytes(data)
                names[str(paths[-1])] = name or paths[-1].name

            def plain(words: object) -> str:
                """Without the folder it was put in for the moment, by the name the buyer knows."""
                line = " ".join(str(words).split())
                for path, name in names.items():
                    line = line.replace(path, name)
                return line.replace(folder, "")

            settings = Settings()
            try:
                for raw in read_rows([str(p) for p in paths], Reading()):
                    if len(audits) == MOST_LISTINGS:
                        problems.insert(0, say.say("page.wishlist_most", most=MOST_LISTINGS))
                        break
                    source = names.get(raw.source, raw.source)
                    where = f"{source}, {say.say('review.row', row=raw.number)}" if raw.number else source
                    try:
                        if raw.problem:
                            raise IntakeError(raw.problem)
                        audits.append(audit_listing(read_row(raw, settings, lexicon), lexicon))
                    except IntakeError as error:
                        problems.append(f"{where}: {plain(error)}"[:300])
                        continue
                    spool.add(Done(source, raw.number, summary=summarise(audits[-1], lexicon)))
            except IntakeError as error:
                raise FormFault(plain(error)) from None
        if not audits and problems:
            raise FormFault(problems[0])
        spool.settle()
        order = [row.n - 1 for row in spool.ranked()]
        ranks, copies = shown(spool, lexicon, most=MOST_LISTINGS)
    finally:
        spool.close()
    return [audits[n] for n in order], ranks, copies, tuple(problems[:20])
