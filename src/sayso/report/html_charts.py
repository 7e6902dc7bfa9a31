"""Time line and odds: tables whose bars are drawings, so that the same thing can be read, heard and seen."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from sayso.report.html_build import Html, el, join, quoted, stopped, unbroken
from sayso.report.terminal import FELT

if TYPE_CHECKING:
    from sayso.model import Audit, Odds
    from sayso.report.words import Words

STEPS, MOST_STEPS = (5, 10, 20, 50, 100), 5
"""Years between the marks of a time line, and how many such steps it may have."""


def percent(p: float) -> str:
    from sayso.answer import percent as words

    return words(p)


def odds_table(odds: Odds, say: Words) -> Html:
    """The candidate pressings, each with a bar and the range over the assumptions."""
    rows = [
        el(
            "tr",
            el("th", p.name, scope="row"),
            el("td", _odds_bar(p.p, p.low, p.high), class_="bar"),
            el(
                "td",
                el("b", percent(p.p)),
                " ",
                el("small", _range(p.low, p.high, say)),
            ),
        )
        for p in odds.pressings
    ]
    moves = [
        el(
            "li",
            el("span", "+" if m.log_odds > 0 else "−", class_="sign", aria_hidden="true"),
            el("span", say.say("html.up" if m.log_odds > 0 else "html.down"), class_="only-heard"),
            unbroken(m.sentence),
        )
        for m in sorted((m for m in odds.moved_by if abs(m.log_odds) >= FELT), key=lambda m: -abs(m.log_odds))[:6]
    ]
    return join(
        el("table", el("caption", say.say("html.odds_caption"), class_="hint"), el("tbody", rows), class_="odds"),
        [el("p", say.say("report.moved")), el("ul", moves, class_="moves", role="list")] if moves else None,
        el("p", stopped(unbroken(say.say("report.sensitive", what=odds.most_sensitive))))
        if odds.most_sensitive
        else None,
    )


def _range(low: float, high: float, say: Words) -> str:
    """The range, where there is any that words can tell."""
    ends = percent(low), percent(high)
    return say.say("html.range", low=ends[0], high=ends[1]) if ends[0] != ends[1] else ""


def _odds_bar(p: float, low: float, high: float) -> Html:
    return el(
        "svg",
        el("rect", x=0, y=7, width=100, height=10, class_="track"),
        el("rect", x=0, y=7, width=f"{100 * p:.2f}", height=10, class_="value"),
        el("path", d=f"M{100 * low:.2f} 12H{100 * high:.2f}", class_="spread"),
        el("path", d=f"M{100 * low:.2f} 3V21M{100 * high:.2f} 3V21", class_="spread"),
        viewBox="0 0 100 24",
        preserveAspectRatio="none",
        aria_hidden="true",
    )


def _year(date: str | None) -> float | None:
    found = re.match(r"(\d{4})(?:-(\d\d))?", date or "")
    if not found:
        return None
    return int(found[1]) + (int(found[2]) - 1) / 12 if found[2] else float(found[1])


def time_table(audit: Audit, say: Words) -> Html | None:
    """The years stated and what bounds them, one row each over a common scale of years."""
    whole = audit.dating
    bounds = [b for b in whole.bounds if b.claim is not None or b.span is not None]
    stated = []
    for claim in audit.claims:
        value = str(claim.value) if claim.value is not None else ""
        if claim.feature == "edition.year" and claim.polarity == "present" and re.fullmatch(r"\d{4}s?", value):
            stated.append((claim, float(value[:4]), 9.0 if value.endswith("s") else 0.0))
    if not bounds and not stated:
        return el("p", say.say("report.window_open"))
    years = [y for b in bounds for y in (_year(b.not_before), _year(b.not_after)) if y is not None]
    years += [year for _, year, _ in stated]
    if not years:
        return el("p", say.say("report.window_open"))
    step = next((s for s in STEPS if (max(years) - min(years)) / s <= MOST_STEPS), STEPS[-1])
    first = int((min(years) - 1) // step * step)
    last = int(-(-(max(years) + 2) // step) * step)
    rows = []
    for claim, year, more in stated:
        role = claim.role or "unspecified"
        rows.append(
            _row(
                "stated",
                quoted(claim.quote, audit.listing.language),
                say.say(f"html.role.{role}"),
                year,
                year + 1 + more,
                first,
                last,
                step,
                str(claim.value),
            )
        )
    for b in bounds:
        words = " ".join(
            say.say(f"html.{side}", year=say.date(getattr(b, side)))
            for side in ("not_before", "not_after")
            if getattr(b, side)
        )
        note = say.carrier(b.carrier) + (f"; {say.say('html.soft')}" if not b.hard else "")
        after = _year(b.not_after)
        rows.append(
            _row(
                "hard" if b.hard else "soft",
                b.statement,
                note,
                _year(b.not_before),
                after + 1 if after is not None else None,
                first,
                last,
                step,
                words,
            )
        )
    if whole.not_before or whole.not_after:
        after = _year(whole.not_after)
        words = " ".join(
            say.say(f"html.{side}", year=say.date(getattr(whole, side)))
            for side in ("not_before", "not_after")
            if getattr(whole, side)
        )
        rows.append(
            _row(
                "whole",
                say.say("html.whole"),
                "",
                _year(whole.not_before),
                after + 1 if after is not None else None,
                first,
                last,
                step,
                words,
            )
        )
    head = el(
        "tr",
        el("th", say.say("html.col.sign"), scope="col"),
        el(
            "th",
            el("div", [el("span", year) for year in range(first, last + 1, step)], class_="scale"),
            scope="col",
            class_="bar",
        ),
        el("th", say.say("html.col.means"), scope="col"),
    )
    window = [el("p", say.say("report.window_open"))] if not (whole.not_before or whole.not_after) else []
    return join(window, el("table", el("thead", head), el("tbody", rows), class_="years"))


def _row(
    kind: str,
    what: str | Html,
    note: str,
    start: float | None,
    end: float | None,
    first: int,
    last: int,
    step: int,
    words: str,
) -> Html:
    span = last - first
    left = 0.0 if start is None else 100 * (start - first) / span
    right = 100.0 if end is None else 100 * (end - first) / span
    if right < left:  # bounds that exclude each other leave nothing to draw
        left, right = right, left
        kind += " empty"
    middle = 12
    bar = el(
        "svg",
        el("path", d=f"M0 {middle}H100", class_="axis"),
        el(
            "path",
            d="".join(f"M{100 * (y - first) / span:.2f} 8V16" for y in range(first, last + 1, step)),
            class_="axis",
        ),
        el("rect", x=f"{left:.2f}", y=6, width=f"{max(right - left, 0.8):.2f}", height=12, class_="value"),
        el("path", d=f"M{left:.2f} 2V22", class_="end") if start is not None else None,
        el("path", d=f"M{right:.2f} 2V22", class_="end") if end is not None else None,
        viewBox="0 0 100 24",
        preserveAspectRatio="none",
        aria_hidden="true",
    )
    return el(
        "tr",
        el("th", what, el("small", note) if note else None, scope="row"),
        el("td", bar, class_="bar"),
        el("td", words),
        class_=f"t-{kind}",
    )
