"""The cases as markup: the list, a case, one thing that happened in it, the checklist for the parcel."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any

from sayso.page.views import frame, select
from sayso.report.html_build import Html, el, join
from sayso.report.html_conversation import (
    arrival_parts,
    changed_parts,
    check_name,
    promise,
    reply_parts,
    reply_summary,
    zone_name,
)
from sayso.report.html_parts import letter, sections
from sayso.report.words import Words, and_list

if TYPE_CHECKING:
    from sayso.casebook.arrival import Check
    from sayso.casebook.book import Case, Event, Summary
    from sayso.casebook.changed import ListingChange
    from sayso.lexicon import Lexicon
    from sayso.model import Audit
    from sayso.page.casework import Shown

OWN_PAGE = ("listing", "questions", "reply", "arrival")


def _when(at: str, *, hour: bool = True) -> Html:
    """A stored time as the clock of this machine shows it."""
    try:
        local = datetime.fromisoformat(at).astimezone()
    except ValueError:
        return el("span", at[:10])
    return el("time", local.strftime("%Y-%m-%d %H:%M" if hour else "%Y-%m-%d"), datetime=at)


def case_list(cases: Sequence[Summary], lexicon: Lexicon, *, fault: str = "") -> str:
    """Every case, each with a link of its own."""
    say = Words(lexicon)
    rows = [
        el(
            "tr",
            el("td", c.id, class_="rank"),
            el("th", el("a", c.name, href=f"/cases/{c.id}", dir="auto"), scope="row"),
            el("td", say.say(f"page.stage.{_stage_of(c)}")),
            el("td", _when(c.last)),
        )
        for c in cases
    ]
    heads = [el("th", say.say(f"page.col.{h}"), scope="col") for h in ("case", "stage", "last")]
    head = el("tr", el("th", say.say("html.col.rank"), scope="col"), heads)
    body = join(
        el("p", fault, class_="fault", role="alert") if fault else None,
        el("p", say.say("page.cases.lead"), class_="lead"),
        el("table", el("thead", head), el("tbody", rows), class_="cases")
        if rows
        else el("p", say.say("page.cases.empty")),
        el("p", el("a", say.say("page.nav.read"), href="/", class_="button")) if not rows else None,
    )
    return frame(say.say("page.cases"), "cases", body, say)


def _stage_of(c: Summary) -> str:
    """How far a case is, from what is known without opening it."""
    if c.events.get("arrival"):
        return "arrival"
    if c.decision:
        return f"decision.{c.decision}"
    if c.events.get("reply", 0) and c.events.get("reply", 0) >= c.events.get("questions", 0):
        return "reply"
    return "questions" if c.events.get("questions") else "listing"


def stage(case: Case) -> str:
    """How far a case is: the last of listing, questions, reply, decision, arrival."""
    last = next((e for e in reversed(case.events) if e.kind != "note"), None)
    if last is None or last.kind == "listing":
        if case.of("reply"):
            return "reply"
        return "questions" if case.of("questions") else "listing"
    return f"decision.{last.body['do']}" if last.kind == "decision" else last.kind


def case_page(shown: Shown, lexicon: Lexicon, *, form: Mapping[str, str] | None = None, fault: str = "") -> str:
    """A case: the next step, what happened, how it stands, and what can be kept in it. `form` is what was typed."""
    say = Words(lexicon)
    case, audit, typed = shown.case, shown.audit, form or {}
    at = stage(case)
    opened = say.lexicon.phrases["page.case.opened"].format(
        id=case.id, date=_plain_date(case.opened), stage=say.say(f"page.stage.{at}")
    )
    step = "listing_none" if at == "listing" and not audit.questions else at
    body = join(
        el("p", fault, class_="fault", role="alert") if fault else None,
        el("p", opened, class_="asked-of"),
        el("p", say.say(f"page.next.{step}"), class_="answer"),
        _first(case, at, typed, say),
        el("section", el("h2", say.say("page.head.story"), id="story"), _story(case, say), aria_labelledby="story"),
        el(
            "section",
            el("h2", say.say("page.head.do"), id="do"),
            _rest(case, at, typed, say),
            aria_labelledby="do",
        ),
        el("h2", say.say("page.head.stands"), id="now", class_="turn"),
        sections(audit, lexicon, level=3, after_message=_message_forms(case, audit, typed, say)),
    )
    return frame(case.name, "cases", body, say)


def _plain_date(at: str) -> str:
    try:
        return datetime.fromisoformat(at).astimezone().strftime("%Y-%m-%d")
    except ValueError:
        return at[:10]


def _form(case: Case, action: str, *body: object, id: str | None = None) -> Html:
    return el(
        "form",
        el("input", type="hidden", name_="seen", value=len(case.events)),
        *body,
        action=f"/cases/{case.id}/{action}",
        method="post",
        enctype="multipart/form-data",
        id=id,
    )


def _box(name: str, label: str, typed: Mapping[str, str], *, rows: int, hint: str = "") -> Html:
    return el(
        "div",
        el("label", label, for_=f"f-{name}"),
        el("span", hint, class_="hint", id=f"f-{name}-h") if hint else None,
        el(
            "textarea",
            "\n" + typed.get(name, ""),
            id=f"f-{name}",
            name_=name,
            rows=rows,
            dir="auto",
            spellcheck="false",
            aria_describedby=f"f-{name}-h" if hint else None,
        ),
    )


def _line(name: str, label: str, typed: Mapping[str, str], **more: object) -> Html:
    box = el("input", type="text", id=f"f-{name}", name_=name, value=typed.get(name, ""), autocomplete="off", **more)
    return el("div", el("label", label, for_=f"f-{name}"), box)


def _go(words: str, **more: object) -> Html:
    return el("p", el("button", words, type="submit", **more))


def _reply_form(case: Case, typed: Mapping[str, str], say: Words) -> Html:
    box = _box("reply", say.say("page.reply"), typed, rows=8, hint=say.say("page.reply_hint"))
    return _form(case, "reply", box, _go(say.say("page.reply_go")), id="reply")


def _arrive_link(case: Case, say: Words) -> Html:
    return el("p", el("a", say.say("page.arrive"), href=f"/cases/{case.id}/arrive", class_="button"))


def _first(case: Case, at: str, typed: Mapping[str, str], say: Words) -> Html | None:
    """What the next step needs, at once at hand."""
    if at == "questions":
        return _reply_form(case, typed, say)
    if at in ("decision.bought", "arrival"):
        return _arrive_link(case, say)
    if at in ("listing", "reply"):
        return el("p", el("a", say.heading("message"), href="#r-message", class_="button"))
    return None


def _rest(case: Case, at: str, typed: Mapping[str, str], say: Words) -> Html:
    """Everything else that can be kept, folded away."""
    from sayso.casebook.book import DECISIONS

    choices = [(d, say.say(f"page.do.{d}")) for d in DECISIONS]
    decision = _form(
        case,
        "decide",
        el(
            "div",
            select("do", choices, typed, say),
            _line("paid", say.say("page.paid"), typed, inputmode="decimal"),
            _line("why", say.say("page.why"), typed),
            class_="row",
        ),
        _go(say.say("page.decide_go")),
    )
    update = _form(
        case,
        "update",
        _box("words", say.say("page.words"), typed, rows=8, hint=say.say("page.update_hint")),
        _go(say.say("page.update_go")),
    )
    note = _form(case, "note", _box("note", say.say("page.note"), typed, rows=3), _go(say.say("page.note_go")))
    sure = el("label", el("input", type="checkbox", name_="sure", value="yes"), " ", say.say("page.delete_sure"))
    delete = _form(case, "delete", sure, _go(say.say("page.delete_go"), class_="second"))
    folded = [
        ("reply", _reply_form(case, typed, say) if at != "questions" else None),
        ("decide", decision),
        ("arrive", _arrive_link(case, say) if at not in ("decision.bought", "arrival") else None),
        ("update", update),
        ("note", note),
        ("delete", delete),
    ]
    shut = [
        el("details", el("summary", say.say(f"page.{name}")), body, class_=f"fold k-{name}", open=_typed(name, typed))
        for name, body in folded
        if body
    ]
    return el("div", shut, class_="folds")


def _typed(name: str, typed: Mapping[str, str]) -> bool:
    """A part stays open where something typed in it was not taken."""
    fields = {"reply": ("reply",), "decide": ("paid", "why"), "update": ("words",), "note": ("note",)}
    return any(typed.get(f, "").strip() for f in fields.get(name, ()))


def _message_forms(case: Case, audit: Audit, typed: Mapping[str, str], say: Words) -> Html | None:
    from sayso.questions import languages

    if not audit.questions:
        return None
    tongues = [("", say.say("page.language_own")), *((x, x) for x in languages(say.lexicon))]
    kept = [
        el("input", type="hidden", name_=name, value=typed.get(name, ""))
        for name in ("language", "wording")
        if typed.get(name)
    ]
    sent = _form(case, "sent", kept, el("p", say.say("page.sent_hint"), class_="hint"), _go(say.say("page.sent")))
    other = el(
        "form",
        el(
            "div",
            select("language", tongues, typed, say),
            select("wording", [(w, say.say(f"page.wording.{w}")) for w in ("open", "pointed")], typed, say),
            class_="row",
        ),
        _go(say.say("page.message_go"), class_="second"),
        action=f"/cases/{case.id}#r-message",
        method="get",
    )
    return join(sent, el("details", el("summary", say.say("page.message_form")), other, class_="fold k-wording"))


def _story(case: Case, say: Words) -> Html:
    """All that happened, in order; what is long has a page of its own."""
    rows = []
    for place, event in enumerate(case.events, 1):
        what = say.say(f"cases.event.{event.kind}")
        what = what[:1].upper() + what[1:]
        link = el("a", what, href=f"/cases/{case.id}/{place}") if event.kind in OWN_PAGE else el("b", what)
        rows.append(el("li", _when(event.at), " ", el("div", link, el("span", _told(event, say), class_="why"))))
    return el("ol", rows, class_="story", role="list")


def _told(event: Event, say: Words) -> object:
    body = event.body
    if event.kind == "listing":
        return body["audit"].get("answer", "")
    if event.kind == "questions":
        features = dict.fromkeys(f for q in body["questions"] for f in q["features"])
        return say.say("page.story.questions", what=and_list([say.feature(f) for f in features])) if features else ""
    if event.kind == "reply":
        reply = _reply_of(event)
        return " ".join(reply_summary(reply, say)) if reply else body["text"][:200]
    if event.kind == "note":
        return el("span", body["text"], class_="as-typed", dir="auto")
    if event.kind == "decision":
        paid = f", {body['price']:g} {body.get('currency') or ''}".rstrip() if body.get("price") is not None else ""
        why = f". {body['why']}" if body.get("why") else ""
        return f"{say.say('page.do.' + body['do'])}{paid}{why}"
    return say.say(f"arrive.result.{body['verdict']}")


def _reply_of(event: Event) -> Any:
    """The reply as it was read then; null where it is of a form this program does not know."""
    from sayso.replies.nouns import Reply

    try:
        return Reply.model_validate(event.body["reply"])
    except ValueError:
        return None


def event_page(
    case: Case, event: Event, place: int, lexicon: Lexicon, *, changes: tuple[ListingChange, ...] | None = None
) -> str:
    """One thing that happened, whole."""
    say = Words(lexicon)
    back = el(
        "p",
        el("a", say.say("page.to_next"), href=f"/cases/{case.id}", class_="button")
        if place == len(case.events)
        else el("a", say.say("page.to_case"), href=f"/cases/{case.id}"),
    )
    title = say.say("page.event", what=case.name, date=_plain_date(event.at))
    what = say.say(f"cases.event.{event.kind}")
    body = join(_event(case, event, place, lexicon, say, changes), back)
    head = el("p", el("a", say.say("page.to_case"), href=f"/cases/{case.id}"), class_="asked-of")
    return frame(f"{what[:1].upper()}{what[1:]}: {title}", "cases", join(head, body), say)


def _event(
    case: Case,
    event: Event,
    place: int,
    lexicon: Lexicon,
    say: Words,
    changes: tuple[ListingChange, ...] | None,
) -> object:
    body = event.body
    if event.kind == "listing":
        audit = next((a for e, a in case.audits() if e is event), None)
        then = sections(audit, lexicon, level=3) if audit else None
        if changes is None:
            return then
        return join(changed_parts(changes, lexicon), el("h2", say.heading("listing")), then)
    if event.kind == "questions":
        if body.get("message"):
            return letter(body["message"], say, key="c-text", heading=say.heading("message"))
        return el("ol", [el("li", q["text"], dir="auto") for q in body["questions"]])
    if event.kind == "reply":
        reply = _reply_of(event)
        words = el(
            "section", el("h2", say.say("page.reply_words")), el("div", body["text"], class_="words", dir="auto")
        )
        if reply is None:
            return words
        asked = next((e.body["questions"] for e in reversed(case.events[: place - 1]) if e.kind == "questions"), ())
        return join(reply_parts(reply, lexicon, questions=[q["text"] for q in asked]), words)
    if event.kind == "arrival":
        return _arrival(case, event, lexicon)
    return el("p", _told(event, say))


def _arrival(case: Case, event: Event, lexicon: Lexicon) -> Html | None:
    from sayso.casebook.arrival import Arrival

    try:
        arrival = Arrival.model_validate(event.body)
    except ValueError:
        return None
    odds = case.audit.odds
    names = {p.id: p.name for p in odds.pressings} if odds else {}
    return arrival_parts(arrival, lexicon, pressing=names.get(arrival.pressing or "", arrival.pressing or ""))


def arrive_page(
    case: Case, checks: Sequence[Check], lexicon: Lexicon, *, form: Mapping[str, str] | None = None, fault: str = ""
) -> str:
    """The checklist: each point with what was said of it, three answers, and room for what is seen."""
    say = Words(lexicon)
    typed = form or {}
    zones: dict[str, list[Html]] = {}
    for n, check in enumerate(checks, 1):
        zones.setdefault(check.zone, []).append(_check(check, n, typed, say))
    parts = [
        el("section", el("h2", zone_name(zone, say), id=f"z{n}"), points, aria_labelledby=f"z{n}")
        for n, (zone, points) in enumerate(zones.items())
    ]
    odds = case.audit.odds
    pressing = None
    if odds:
        options = [("", say.say("page.arrive.unsure")), *((p.id, p.name) for p in odds.pressings)]
        pressing = select("pressing", options, typed, say, label=say.say("page.arrive.pressing"))
    body = join(
        el("p", fault, class_="fault", role="alert") if fault else None,
        el("p", el("a", case.name, href=f"/cases/{case.id}", dir="auto"), class_="asked-of"),
        el("p", say.say("page.arrive.lead"), class_="lead"),
        _form(case, "arrive", parts, pressing, _go(say.say("page.arrive.go")), id="arrive"),
    )
    return frame(say.say("page.arrive"), "cases", body, say)


def _check(check: Check, n: int, typed: Mapping[str, str], say: Words) -> Html:
    name = f"result:{check.id}"
    chosen = typed.get(name, "not checked")
    whole = check_name(check, say)
    answers = [
        el(
            "label",
            el("input", type="radio", name_=name, value=result, checked=result == chosen),
            el("span", say.say(f"arrive.result.{result}")),
        )
        for result in ("not checked", "as described", "better", "not as described")
    ]
    return el(
        "fieldset",
        el("legend", el("span", n, class_="num"), " ", el("b", whole)),
        el("p", check.look, class_="why") if check.feature else None,
        [el("p", promise(p, say)) for p in check.promises],
        el("div", answers, class_="answers"),
        el(
            "div",
            el("label", say.say("page.arrive.seen_short"), for_=f"s{n}"),
            el(
                "input",
                type="text",
                id=f"s{n}",
                name_=f"seen:{check.id}",
                value=typed.get(f"seen:{check.id}", ""),
                autocomplete="off",
                aria_label=say.say("page.arrive.seen", what=whole),
            ),
        ),
        class_="check",
    )
