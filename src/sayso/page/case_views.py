"""The cases as markup: the list, a case, one thing that happened in it, the checklist for the parcel."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any

from sayso.page.views import area, fault_line, frame, select, tongues, wordings
from sayso.report.html_build import Html, el, join, unbroken
from sayso.report.html_conversation import (
    arrival_parts,
    changed_parts,
    reply_parts,
    reply_summary,
)
from sayso.report.html_parts import figures, letter, sections
from sayso.report.words import Words, and_list

if TYPE_CHECKING:
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
        fault_line(fault) if fault else None,
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
    opened = say.say(
        "page.case.opened", id=case.id, date=say.date(_plain_date(case.opened)), stage=say.say(f"page.stage.{at}")
    )
    at_hand, step = _next_step(case, audit, at, typed, say)
    body = join(
        fault_line(fault) if fault else None,
        el("p", opened, class_="asked-of"),
        _section("next", say.say("page.head.next"), el("p", say.say(f"page.next.{step}"), class_="answer"), *at_hand),
        _section("story", say.say("page.head.story"), _story(case, say)),
        _section("do", say.say("page.head.do"), _rest(case, at, step, typed, say)),
        el("h2", say.say("page.head.stands"), id="now", class_="turn"),
        sections(audit, lexicon, level=3, message=False),
    )
    return frame(case.name, "cases", body, say)


def _section(name: str, heading: str, *body: object) -> Html:
    return el("section", el("h2", heading, id=name), *body, aria_labelledby=name, class_=f"s-{name}")


def _plain_date(at: str) -> str:
    try:
        return datetime.fromisoformat(at).astimezone().strftime("%Y-%m-%d")
    except ValueError:
        return at[:10]


def case_form(case: Case, action: str, *body: object, id: str | None = None) -> Html:
    return el(
        "form",
        el("input", type="hidden", name_="seen", value=len(case.events)),
        *body,
        action=f"/cases/{case.id}/{action}",
        method="post",
        enctype="multipart/form-data",
        id=id,
    )


def _line(name: str, label: str, typed: Mapping[str, str], **more: object) -> Html:
    box = el("input", type="text", id=f"f-{name}", name_=name, value=typed.get(name, ""), autocomplete="off", **more)
    return el("div", el("label", label, for_=f"f-{name}"), box)


def go(words: str, **more: object) -> Html:
    return el("p", el("button", words, type="submit", **more))


def _reply_form(case: Case, typed: Mapping[str, str], say: Words) -> Html:
    box = area("reply", say.say("page.reply"), typed, rows=8, hint=say.say("page.reply_hint"))
    return case_form(case, "reply", box, go(say.say("page.reply_go")), id="reply")


def _arrive_link(case: Case, say: Words, *, again: bool = False) -> Html:
    words = say.say("page.arrive_again" if again else "page.arrive")
    return el("p", el("a", words, href=f"/cases/{case.id}/arrive", class_="button second" if again else "button"))


def _decision_form(case: Case, at: str, typed: Mapping[str, str], say: Words) -> Html:
    from sayso.casebook.book import DECISIONS

    choices = [(d, say.say(f"page.do.{d}")) for d in DECISIONS]
    usual = {"do": "bought"} if at == "decision.buy" else {}
    return case_form(
        case,
        "decide",
        el(
            "div",
            select("do", choices, {**usual, **typed}, say),
            _line("paid", say.say("page.paid"), typed, inputmode="decimal"),
            _line("why", say.say("page.why"), typed),
            class_="row wide",
        ),
        go(say.say("page.decide_go")),
    )


def _next_step(case: Case, audit: Audit, at: str, typed: Mapping[str, str], say: Words) -> tuple[list[object], str]:
    """What the next step needs, at once at hand, and the name of the step."""
    so_far = [el("p", unbroken(audit.answer)), figures(audit, say)]
    if at == "listing":
        if audit.questions:
            return [_message_forms(case, audit, typed, say)], "listing"
        return [*so_far, _decision_form(case, at, typed, say)], "listing_none"
    if at == "questions":
        asked = next((n for n, e in reversed(list(enumerate(case.events, 1))) if e.kind == "questions"), None)
        link = el("p", el("a", say.say("page.what_you_asked"), href=f"/cases/{case.id}/{asked}")) if asked else None
        more = fold("more", say.say("page.ask_more"), _message_forms(case, audit, typed, say), False)
        return [link, _reply_form(case, typed, say), more if audit.questions else None], "questions"
    if at == "reply":
        place = max(n for n, e in enumerate(case.events, 1) if e.kind == "reply")
        link = el("p", el("a", say.say("page.what_it_changed"), href=f"/cases/{case.id}/{place}"))
        decide = [el("h3", say.say("page.decide")), _decision_form(case, at, typed, say)]
        if not audit.questions:
            return [*so_far, link, *decide], "reply_none"
        return [
            *so_far,
            link,
            el("h3", say.say("page.ask_on")),
            _message_forms(case, audit, typed, say),
            *decide,
        ], "reply"
    if at == "decision.buy":
        return [*so_far, _decision_form(case, at, typed, say)], at
    if at == "arrival":
        place = max(n for n, e in enumerate(case.events, 1) if e.kind == "arrival")
        found = el("p", el("a", say.say("page.what_you_found"), href=f"/cases/{case.id}/{place}", class_="button"))
        return [found, _arrive_link(case, say, again=True)], at
    return [_arrive_link(case, say)] if at == "decision.bought" else [], at


def _rest(case: Case, at: str, step: str, typed: Mapping[str, str], say: Words) -> Html:
    """Everything else that can be kept, folded away."""
    update = case_form(
        case,
        "update",
        area("words", say.say("page.words"), typed, rows=8, hint=say.say("page.update_hint")),
        go(say.say("page.update_go")),
    )
    note = case_form(case, "note", area("note", say.say("page.note"), typed, rows=3), go(say.say("page.note_go")))
    sure = el("label", el("input", type="checkbox", name_="sure", value="yes"), " ", say.say("page.delete_sure"))
    delete = case_form(case, "delete", sure, go(say.say("page.delete_go"), class_="second"))
    decides = step in ("listing_none", "reply", "reply_none", "decision.buy")
    folded = [
        ("reply", _reply_form(case, typed, say) if at != "questions" else None),
        ("decide", None if decides else _decision_form(case, at, typed, say)),
        ("arrive", _arrive_link(case, say) if at not in ("decision.bought", "arrival") else None),
        ("update", update),
        ("note", note),
        ("delete", delete),
    ]
    shut = [fold(name, say.say(f"page.{name}"), body, _typed(name, typed)) for name, body in folded if body]
    return el("div", shut, class_="folds")


def fold(name: str, heading: str, body: object, shown: bool) -> Html:
    return el("details", el("summary", heading), body, class_=f"fold k-{name}", open=shown)


def _typed(name: str, typed: Mapping[str, str]) -> bool:
    """A part stays open where something typed in it was not taken."""
    fields = {"reply": ("reply",), "decide": ("paid", "why"), "update": ("words",), "note": ("note",)}
    return any(typed.get(f, "").strip() for f in fields.get(name, ()))


def _message_forms(case: Case, audit: Audit, typed: Mapping[str, str], say: Words) -> Html | None:
    """The next message, to copy; that it was sent, to keep; and the same in other words."""
    if not audit.questions:
        return None
    kept = [
        el("input", type="hidden", name_=name, value=typed.get(name, ""))
        for name in ("language", "wording")
        if typed.get(name)
    ]
    sent = case_form(
        case, "sent", kept, go(say.say("page.sent"), class_="second"), el("p", say.say("page.sent_hint"), class_="hint")
    )
    other = el(
        "form",
        el(
            "div",
            select("language", tongues(say.lexicon, say), typed, say),
            select("wording", wordings(say), typed, say),
            class_="row wide",
        ),
        go(say.say("page.message_go"), class_="second"),
        action=f"/cases/{case.id}#r-text",
        method="get",
    )
    return el(
        "div",
        letter(audit.message, say, key="r-text", heading=say.heading("message")),
        sent,
        fold("wording", say.say("page.message_form"), other, False),
        class_="ask",
    )


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
        else el("a", say.say("page.to_case"), href=f"/cases/{case.id}", class_="button second"),
        class_="go-on",
    )
    what = say.say(f"cases.event.{event.kind}")
    heading = say.say("page.event", what=f"{what[:1].upper()}{what[1:]}", date=say.date(_plain_date(event.at)))
    body = join(_event(case, event, place, lexicon, say, changes), back)
    head = el("p", el("a", case.name, href=f"/cases/{case.id}", dir="auto"), class_="asked-of")
    return frame(f"{heading}: {case.name}", "cases", join(head, body), say, heading=heading)


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
        return join(changed_parts(changes, lexicon), el("h2", say.say("page.head.stands"), class_="turn"), then)
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
