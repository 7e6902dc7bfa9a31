"""The conversation as markup: what a reply changed, what a listing changed, what was promised and what arrived.

The words are those of the terminal (`sayso.report.conversation`); only their dress is another.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from sayso.report.conversation import FOUND, KIND, SIGN, TURN, odds_sentence, told_changes
from sayso.report.html_build import Html, el, join, unbroken
from sayso.report.html_parts import letter
from sayso.report.words import Words, and_list

if TYPE_CHECKING:
    from sayso.casebook.arrival import Arrival, Check, Promise
    from sayso.casebook.changed import ListingChange
    from sayso.lexicon import Lexicon
    from sayso.replies.nouns import Reply

ALARMING = frozenset({"dodged", "contradicted", "weakened", "turned", "vanished", "not as described"})


def _sign(sign: str, kind: str = "") -> Html:
    return el("span", sign, class_="sign denied" if kind in ALARMING else "sign", aria_hidden="true")


def _quotes(quotes: Sequence[str]) -> list[Html]:
    return [el("q", " ".join(q.split()), dir="auto", class_="said") for q in quotes]


def _part(name: str, heading: str, *body: object) -> Html:
    return el("section", el("h2", heading, id=f"c-{name}"), *body, aria_labelledby=f"c-{name}", class_=f"s-{name}")


def reply_summary(reply: Reply, say: Words) -> list[str]:
    """In a sentence or two: how many questions were answered, and what to mind."""
    if not reply.per_question:
        return [say.say("reply.no_questions")]
    told = [q.outcome for q in reply.per_question]
    rest = [f"{told.count(o)} {say.say(f'outcome.{o}')}" for o in ("partly", "dodged", "unanswered") if o in told]
    count, more = len(told), f"; {', '.join(rest)}" if rest else ""
    lines = [say.say("reply.summary", answered=told.count("answered"), count=count, rest=more)]
    for kind in ("contradicted", "weakened"):
        what = [say.feature(c.feature) for c in reply.changes if c.kind == kind]
        if what:
            lines.append(say.say(f"reply.summary.{kind}", what=and_list(what)))
    return lines


def reply_parts(reply: Reply, lexicon: Lexicon, *, questions: Sequence[str] = ()) -> Html:
    """What a reply changed. `questions` are the words of those that were sent, in the order of `per_question`."""
    say = Words(lexicon)
    summary = reply_summary(reply, say)
    return join(
        el("p", summary[0], class_="answer"),
        [el("p", line, class_="mind") for line in summary[1:]],
        _part("after", say.say("reply.head.after"), el("p", unbroken(reply.audit.answer)), _odds(reply, say)),
        _outcomes(reply, say, questions),
        _before_after(reply, say),
        _superseded(reply, say),
    )


def _odds(reply: Reply, say: Words) -> Html | None:
    sentence = odds_sentence(reply, say)
    return el("p", unbroken(sentence)) if sentence else None


def _outcomes(reply: Reply, say: Words, questions: Sequence[str]) -> Html | None:
    if not reply.per_question:
        return None
    rows = []
    for i, q in enumerate(reply.per_question):
        asked = questions[i] if i < len(questions) else ""
        rows.append(
            el(
                "li",
                _sign(SIGN[q.outcome], q.outcome),
                el(
                    "div",
                    el("b", f"{and_list([say.feature(f) for f in q.features])}: "),
                    el("span", say.say(f"outcome.{q.outcome}"), class_="state"),
                    el("span", asked, class_="why") if asked else None,
                    _quotes([q.evidence]) if q.evidence else None,
                ),
                class_="alarm" if q.outcome in ALARMING else None,
            )
        )
    return _part("questions", say.say("reply.head.questions"), el("ol", rows, class_="findings", role="list"))


def _before_after(reply: Reply, say: Words) -> Html | None:
    shown = told_changes(reply)
    if not shown:
        return None
    rows = [
        el(
            "tr",
            el("th", say.feature(c.feature), scope="row"),
            el("td", _label(say.say("page.before")), say.state(c.before), _quotes(c.said_before)),
            el("td", _label(say.say("page.after")), say.state(c.after), _quotes(c.said_now)),
            el("td", _sign(KIND[c.kind], c.kind), " ", el("span", say.say(f"reply.kind.{c.kind}"), class_="state")),
            class_="alarm" if c.kind in ALARMING else None,
        )
        for c in shown
    ]
    table = _table(["page.col.what", "page.before", "page.after", "page.col.means"], rows, say)
    return _part("changes", say.say("reply.head.changes"), table)


def _label(words: str) -> Html:
    """The heading of a column, said again where a narrow screen stacks the cells."""
    return el("span", f"{words}: ", class_="stacked")


def _table(heads: Sequence[str], rows: Sequence[Html], say: Words) -> Html:
    head = el("tr", [el("th", say.say(h), scope="col") for h in heads])
    return el("table", el("thead", head), el("tbody", rows), class_="turns")


def _superseded(reply: Reply, say: Words) -> Html | None:
    rows = [el("li", _quotes([s.claim.quote]), f" {say.say(f'reply.because.{s.because}')}") for s in reply.superseded]
    return _part("superseded", say.say("reply.head.superseded"), el("ul", rows)) if rows else None


def changed_parts(found: Sequence[ListingChange], lexicon: Lexicon) -> Html:
    """What the seller says differently now, with the words of both versions."""
    say = Words(lexicon)
    if not found:
        return el("p", say.say("changed.none"), class_="answer")
    none = say.say("changed.nothing")
    rows = [
        el(
            "tr",
            el("th", say.feature(c.feature), scope="row"),
            el("td", _label(say.say("page.before")), _quotes(c.words_before) or none),
            el("td", _label(say.say("page.after")), _quotes(c.words_now) or none),
            el(
                "td",
                _sign(TURN[c.what], c.what),
                " ",
                el("span", say.say(f"changed.{c.what}"), class_="state"),
                say.say("changed.asked") if c.asked else None,
            ),
            class_="alarm" if c.what in ALARMING else None,
        )
        for c in found
    ]
    table = _table(["page.col.what", "page.before", "page.after", "page.col.means"], rows, say)
    return _part("changed", say.say("changed.head"), table)


def promise(p: Promise, say: Words) -> Html:
    """What was promised: his words, when and where."""
    side = say.say(f"arrive.side.{p.side}") if p.side else ""
    fallen = "" if p.stands else say.say("arrive.fallen")
    where = f"{side} ({say.say(f'arrive.from.{p.source}')}, {p.date}){fallen}"
    return el("span", el("q", " ".join(p.quote.split()), dir="auto"), where, class_="said")


def check_name(check: Check, say: Words) -> str:
    """What is looked at, in a word where there is one."""
    name = say.feature(check.feature) if check.feature else check.look
    return name[:1].upper() + name[1:]


def arrival_parts(arrival: Arrival, lexicon: Lexicon, *, pressing: str = "") -> Html:
    """What came of the inspection, the message to the seller, and what to mind."""
    say = Words(lexicon)
    counts = {r: sum(j.result == r for j in arrival.judged) for r in FOUND}
    checked = len(arrival.judged) - counts["not checked"]
    verdict = say.say(
        f"arrive.verdict.{arrival.verdict}",
        checked=checked,
        count=len(arrival.judged),
        bad=counts["not as described"],
    )
    order = ("not as described", "better", "as described")
    rows = [
        el(
            "li",
            _sign(FOUND[j.result], j.result),
            el(
                "div",
                el("b", f"{check_name(j.check, say).rstrip('.')}: "),
                el("span", say.say(f"arrive.result.{j.result}"), class_="state"),
                f" ({j.seen})" if j.seen else None,
                [promise(p, say) for p in j.check.promises],
            ),
            class_="alarm" if j.result in ALARMING else None,
        )
        for j in sorted((j for j in arrival.judged if j.result in order), key=lambda j: order.index(j.result))
    ]
    bad = arrival.verdict == "not as described"
    head = say.say("arrive.head.message")
    return join(
        el("p", verdict, class_="answer"),
        el("p", say.say("page.turned_out", what=pressing)) if pressing else None,
        el("p", say.say("arrive.caution"), class_="mind") if bad else None,
        _part("message", head, letter(arrival.message, say, key="c-text", heading=head)) if arrival.message else None,
        _part("found", say.say("page.head.found"), el("ol", rows, class_="findings", role="list")) if rows else None,
    )
