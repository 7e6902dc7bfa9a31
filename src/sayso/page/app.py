"""The local web application. It keeps nothing but what its user saves in the casebook."""

from __future__ import annotations

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
from sayso.page.lists import Lists, list_routes
from sayso.report.html import TEMPLATES, audit_html
from sayso.report.html_build import Html, el, join
from sayso.report.html_parts import sections
from sayso.report.words import Words

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.model import Audit

STATIC = Path(__file__).parent / "static"
FILES = {
    # address: (file, type); nothing of an address is ever made into a path
    "/report.css": (TEMPLATES / "report.css", "text/css"),
    "/report.js": (TEMPLATES / "report.js", "text/javascript"),
    "/page.css": (STATIC / "page.css", "text/css"),
    "/page.js": (STATIC / "page.js", "text/javascript"),
    "/icon.svg": (STATIC / "icon.svg", "image/svg+xml"),
}


def make_app(lexicon: Lexicon, port: int, casebook: Path | None = None) -> Any:
    """The application as it is served at 127.0.0.1:`port`; `casebook` is its file, in the usual place where null."""
    work = Casework(lexicon, casebook)

    async def start(request: Request) -> Response:
        return HTMLResponse(views.reading({}, Html(), lexicon))

    def result(audit: Audit, form: dict[str, str]) -> Html:
        say = Words(lexicon)
        one_worth = bool(form.get("worth_first", "").strip()) != bool(form.get("worth_later", "").strip())
        hint = el("p", say.say("page.worth_both"), class_="mind") if one_worth and audit.advice is None else None
        return join(hint, sections(audit, lexicon, after_message=views.after_message(say)))

    async def read(request: Request) -> Response:
        form, upload = await _form(request)
        try:
            audit = await run_in_threadpool(_audit, form, upload, lexicon)
        except FormFault as fault:
            return HTMLResponse(views.reading(form, Html(), lexicon, fault=str(fault)), 422)
        if not form.get("words", "").strip():
            form["words"] = audit.listing.text
        return HTMLResponse(views.reading(form, result(audit, form), lexicon))

    async def live(request: Request) -> Response:
        form, upload = await _form(request)
        try:
            audit = await run_in_threadpool(_audit, form, upload, lexicon)
        except FormFault as fault:
            # What is half typed is no failure of the page: a browser would complain of one with every keystroke.
            return HTMLResponse(views.fault_line(str(fault)), headers={"x-fault": "yes"})
        return HTMLResponse(result(audit, form))

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
        *list_routes(Lists(), lexicon),
        *(Route(address, file, methods=["GET"]) for address in FILES),
    ]
    app = Starlette(routes=routes, exception_handlers={400: missing, 404: missing, 405: missing, 500: broken})
    return Guard(app, port=port, refuse=refuse)


async def _form(request: Request, *, fields: int = 20) -> tuple[dict[str, str], bytes]:
    async with request.form(max_files=1, max_fields=fields, max_part_size=MOST_BYTES) as form:
        words = {k: v for k, v in form.items() if isinstance(v, str)}
        file = form.get("file")
        if file is None or isinstance(file, str):
            return words, b""
        words["file_name"] = file.filename or ""
        return words, await file.read()


def _audit(form: dict[str, str], upload: bytes, lexicon: Lexicon) -> Audit:
    from sayso.engine import audit_listing

    listing, options = read_form(form, upload, lexicon)
    return audit_listing(listing, lexicon, **options)
