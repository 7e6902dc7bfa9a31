"""The addresses of the casebook: the list, a case, what happened in it, and the forms that keep something.

Every form answers with a redirect (RFC 9110, 15.4.4: 303), so that reading a page again never keeps anything twice.
"""

from __future__ import annotations

import re
from collections.abc import Awaitable, Callable, Mapping
from typing import TYPE_CHECKING, Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from sayso.page import arrive_view, case_views, views
from sayso.page.casework import Casework, NoCase
from sayso.page.form import FormFault

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

MOST_FIELDS = 400
ReadForm = Callable[..., Awaitable[tuple[dict[str, str], bytes]]]


def message_options(form: Mapping[str, str], lexicon: Lexicon) -> dict[str, Any]:
    """Language and wording of a message as asked for; what is unknown is left out."""
    out: dict[str, Any] = {"pointed": form.get("wording") == "pointed"}
    language = form.get("language", "")
    if language and lexicon.letter(language) is not None:
        out["language"] = language
    return out


def _number(text: str) -> int:
    if not re.fullmatch(r"[0-9]{1,15}", text, re.ASCII):
        raise NoCase
    return int(text)


def case_routes(work: Casework, lexicon: Lexicon, read_form: ReadForm) -> list[Route]:
    """The routes of the casebook."""

    def none() -> Response:
        return HTMLResponse(views.fault_page("page.fault.missing", lexicon), 404)

    async def listed(request: Request) -> Response:
        try:
            found = await run_in_threadpool(work.cases)
        except FormFault as fault:
            return HTMLResponse(case_views.case_list((), lexicon, fault=str(fault)), 503)
        return HTMLResponse(case_views.case_list(found, lexicon))

    def case_html(number: int, form: Mapping[str, str], fault: str = "") -> str:
        return case_views.case_page(work.show(number, message_options(form, lexicon)), lexicon, form=form, fault=fault)

    async def case(request: Request) -> Response:
        form = {k: v for k, v in request.query_params.items() if k in ("language", "wording")}
        return await _answer(lambda: case_html(_number(request.path_params["case"]), form))

    async def event(request: Request) -> Response:
        def page() -> str:
            number, place = (_number(request.path_params[k]) for k in ("case", "place"))
            held, happened = work.event(number, place)
            changes = work.changes(held, place) if happened.kind == "listing" else None
            return case_views.event_page(held, happened, place, lexicon, changes=changes)

        return await _answer(page)

    async def checks(request: Request) -> Response:
        def page() -> str:
            held, points = work.checks(_number(request.path_params["case"]))
            return arrive_view.arrive_page(held, points, lexicon)

        return await _answer(page)

    async def _answer(page: Callable[[], str]) -> Response:
        try:
            return HTMLResponse(await run_in_threadpool(page))
        except NoCase:
            return none()
        except FormFault as fault:
            return HTMLResponse(views.fault_text(str(fault), lexicon), 503)

    async def keep(request: Request) -> Response:
        form, _ = await read_form(request, fields=MOST_FIELDS)

        def done() -> tuple[str, int]:
            """Where to go on, or the page with what is wrong and its status."""
            number = _number(request.path_params["case"])
            home, do = f"/cases/{number}", request.path_params["do"]
            try:
                if do == "sent":
                    work.sent(number, form, message_options(form, lexicon))
                    return home, 303
                if do in ("reply", "update", "arrive"):
                    doing = {"reply": work.reply, "update": work.update, "arrive": work.arrived}[do]
                    return f"{home}/{doing(number, form)}", 303
                if do == "delete":
                    work.delete(number, form)
                    return "/cases", 303
                {"note": work.note, "decide": work.decide}[do](number, form)
                return home, 303
            except FormFault as fault:
                if do == "arrive":
                    held, points = work.checks(number)
                    return arrive_view.arrive_page(held, points, lexicon, form=form, fault=str(fault)), 422
                return case_html(number, form, str(fault)), 422

        try:
            where, status = await run_in_threadpool(done)
        except NoCase:
            return none()
        except FormFault as fault:
            return HTMLResponse(views.fault_text(str(fault), lexicon), 503)
        return RedirectResponse(where, 303) if status == 303 else HTMLResponse(where, status)

    doings = ("sent", "reply", "update", "note", "decide", "arrive", "delete")
    return [
        Route("/cases", listed, methods=["GET"]),
        Route("/cases/{case}", case, methods=["GET"]),
        Route("/cases/{case}/arrive", checks, methods=["GET"]),
        *(Route(f"/cases/{{case}}/{do}", _named(keep, do), methods=["POST"]) for do in doings),
        Route("/cases/{case}/{place}", event, methods=["GET"]),
    ]


def _named(keep: Callable[[Request], Awaitable[Response]], do: str) -> Callable[[Request], Awaitable[Response]]:
    async def doing(request: Request) -> Response:
        request.path_params["do"] = do
        return await keep(request)

    return doing
