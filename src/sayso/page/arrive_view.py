"""The checklist for the parcel as markup: by where one looks, each point with the seller's own words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from sayso.page.case_views import case_form, fold, go
from sayso.page.views import fault_line, frame, select
from sayso.report.html_build import Html, el, join
from sayso.report.html_conversation import check_name, promise
from sayso.report.words import Words

if TYPE_CHECKING:
    from sayso.casebook.arrival import Check
    from sayso.casebook.book import Case
    from sayso.lexicon import Lexicon

PLACES = ("parcel", "jacket", "inner", "label", "dead wax", "edge", "edition", "playing surface", "fallen")
"""The order of the inspection; what the seller took back later comes last, folded away."""
RESULTS = ("not checked", "as described", "better", "not as described")


def arrive_page(
    case: Case, checks: Sequence[Check], lexicon: Lexicon, *, form: Mapping[str, str] | None = None, fault: str = ""
) -> str:
    """The checklist: each point with what was said of it, three answers, and room for what is seen."""
    say = Words(lexicon)
    typed = form or {}
    zones: dict[str, list[Html]] = {}
    for n, check in enumerate(sorted(checks, key=lambda c: PLACES.index(_place(c))), 1):
        zones.setdefault(_place(check), []).append(_check(check, n, typed, say))
    parts = {zone: _group(zone, points, typed, say) for zone, points in zones.items()}
    odds = case.audit.odds
    pressing = None
    if odds:
        options = [("", say.say("page.arrive.unsure")), *((p.id, p.name) for p in odds.pressings)]
        pressing = select("pressing", options, typed, say, label=say.say("page.arrive.pressing"))
    body = join(
        fault_line(fault) if fault else None,
        el("p", el("a", case.name, href=f"/cases/{case.id}", dir="auto"), class_="asked-of"),
        el("p", say.say("page.arrive.lead"), class_="lead"),
        case_form(
            case,
            "arrive",
            list(parts.values()),
            el("section", el("h2", say.say("page.arrive.whole")), pressing) if pressing else None,
            go(say.say("page.arrive.go")),
            id="arrive",
        ),
        _unpromised(case, checks, lexicon, say),
    )
    return frame(say.say("page.arrive"), "cases", body, say)


def _place(check: Check) -> str:
    if check.promises and not any(p.stands for p in check.promises):
        return "fallen"
    return "edition" if (check.feature or "").startswith("edition.") else check.zone


def _place_name(place: str, say: Words) -> str:
    return say.say(f"arrive.zone.{place}") if place in ("parcel", "edition", "fallen") else say.zone(place)


def _group(place: str, points: Sequence[Html], typed: Mapping[str, str], say: Words) -> Html:
    count = say.say("page.arrive.count", count=len(points))
    if place == "fallen":
        told = any(value not in ("", "not checked") for key, value in typed.items() if key.startswith("result:"))
        return fold("fallen", f"{_place_name(place, say)} ({count})", points, told)
    return el("section", el("h2", _place_name(place, say), el("span", count, class_="how")), points)


def _unpromised(case: Case, checks: Sequence[Check], lexicon: Lexicon, say: Words) -> Html | None:
    """What was not promised but tells which pressing it is: nothing to hold the seller to, folded away."""
    held = {c.feature for c in checks}
    rows = []
    for finding in case.audit.findings:
        row = lexicon.features.get(finding.feature)
        if row is None or finding.feature in held or finding.need not in ("decisive", "supporting"):
            continue
        if row.zone != "words":
            rows.append(el("li", el("b", f"{row.name[:1].upper()}{row.name[1:]}: "), row.find))
    if not rows:
        return None
    lead = el("p", say.say("page.arrive.unpromised_lead"), class_="hint")
    return fold("unpromised", say.say("page.arrive.unpromised", count=len(rows)), [lead, el("ul", rows)], False)


def _check(check: Check, n: int, typed: Mapping[str, str], say: Words) -> Html:
    name = f"result:{check.id}"
    chosen = typed.get(name, "not checked")
    whole = check_name(check, say)
    answers = [
        el(
            "label",
            el("input", type="radio", name_=name, value=result, checked=result == chosen),
            el("span", say.say(f"arrive.result.{result}" if check.feature else f"page.arrive.parcel.{result}")),
        )
        for result in RESULTS
        if check.feature or result != "better"  # a question about the parcel is answered by yes or no
    ]
    seen = el(
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
        class_="seen",
    )
    return el(
        "fieldset",
        el("legend", el("span", n, class_="num"), " ", el("b", whole)),
        el(
            "div",
            [el("p", promise(p, say)) for p in check.promises],
            el("p", check.look, class_="why") if check.feature else None,
            class_="told",
        ),
        el("div", el("div", answers, class_="answers"), seen, class_="tell"),
        class_="check",
    )
