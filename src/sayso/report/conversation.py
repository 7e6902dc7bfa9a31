"""The conversation for a terminal: what a reply changed, what a listing changed, what to check, what came of it.

Every quote passes through `safe`: a seller's words are shown, never obeyed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from sayso.answer import percent
from sayso.report.safe import safe
from sayso.report.words import Words, and_list

if TYPE_CHECKING:
    from sayso.casebook.arrival import Arrival, Check, Promise
    from sayso.casebook.book import Case, Event, Summary
    from sayso.casebook.changed import ListingChange
    from sayso.casebook.outcomes import Proposal, Record
    from sayso.lexicon import Lexicon
    from sayso.model import Audit
    from sayso.replies.nouns import Change, Reply

WIDTH = 80
SIGN = {"answered": "+", "partly": "~", "dodged": "!", "unanswered": "-"}
KIND = {"settled": "+", "new": "*", "weakened": "~", "contradicted": "!", "still silent": "-"}
TURN = {"appeared": "+", "strengthened": "+", "vanished": "-", "weakened": "~", "turned": "!", "reworded": "*"}
FOUND = {"as described": "=", "better": "+", "not as described": "!", "not checked": "?"}


def flat(text: str) -> str:
    """Words of others on one line, made safe to print."""
    return " ".join(safe(text).split())


def _fold(line: str) -> list[str]:
    """A line wrapped to the width, its indent kept."""
    indent = line[: len(line) - len(line.lstrip())]
    return wrap(line, WIDTH, subsequent_indent=indent + "  ", break_long_words=True, break_on_hyphens=False) or [""]


def _page(lines: Iterable[str]) -> str:
    return "\n".join(part for line in lines for part in line.split("\n") for part in _fold(part)).strip("\n")


def _quotes(quotes: Sequence[str], none: str) -> str:
    return " / ".join(f"'{flat(q)}'" for q in quotes) if quotes else none


def _head(text: str) -> list[str]:
    return ["", text, "-" * len(text)]


def reply_text(reply: Reply, lexicon: Lexicon, *, asked: bool = True) -> str:
    """What a reply changed: the answer first, then question by question, feature by feature, and what to ask next."""
    say = Words(lexicon)
    lines = _summary(reply, say, asked)
    if reply.per_question:
        lines += _head(say.say("reply.head.questions"))
        for q in reply.per_question:
            what = and_list([say.feature(f) for f in q.features])
            outcome = say.say(f"outcome.{q.outcome}")
            lines.append(say.say("reply.question", sign=SIGN[q.outcome], n=q.n, what=what, outcome=outcome))
            if q.evidence:
                lines.append(say.say("reply.evidence", quote=flat(q.evidence)))
    shown = told_changes(reply)
    if shown:
        lines += _head(say.say("reply.head.changes"))
        for c in shown:
            kind = say.say(f"reply.kind.{c.kind}")
            what = say.feature(c.feature)
            before, after = (_state(s, what, say) for s in (c.before, c.after))
            lines.append(say.say("reply.change", sign=KIND[c.kind], what=what, before=before, after=after, kind=kind))
            if c.said_before:
                lines.append(say.say("reply.said_before", quotes=_quotes(c.said_before, "")))
            if c.said_now:
                lines.append(say.say("reply.said_now", quotes=_quotes(c.said_now, "")))
    if reply.superseded:
        lines += _head(say.say("reply.head.superseded"))
        for s in reply.superseded:
            why = say.say(f"reply.because.{s.because}")
            lines.append(f"  '{flat(s.claim.quote)}': {why}")
    lines += _head(say.say("reply.head.after"))
    lines.append(flat(reply.audit.answer))
    lines.append(odds_sentence(reply, say))
    page = _page(lines)
    if reply.audit.message:
        # As it is to be pasted: not wrapped.
        done = reply.audit.advice is not None and reply.audit.advice.do != "ask"
        head = say.say("reply.head.optional" if done else "reply.head.next")
        page += "\n" + "\n".join([*_head(head), safe(reply.audit.message)])
    return page


def _state(state: str, what: str, say: Words) -> str:
    """A state in words; of 'whether the copy was played' one does not say that it is absent."""
    return say.say("state.denied.whether") if state == "denied" and what.startswith("whether ") else say.state(state)


def told_changes(reply: Reply) -> list[Change]:
    """The changes worth a line: not what stays silent, and not what the seller only says again in the same words."""
    return [c for c in reply.changes if c.kind != "still silent" and not (c.before == c.after and _again(c))]


def _again(change: Change) -> bool:
    before, now = ({flat(q).casefold() for q in said} for said in (change.said_before, change.said_now))
    return now <= before


def _summary(reply: Reply, say: Words, asked: bool) -> list[str]:
    if not asked:
        return [say.say("reply.no_questions")]
    told = [q.outcome for q in reply.per_question]
    rest = [f"{told.count(o)} {say.say(f'outcome.{o}')}" for o in ("partly", "dodged", "unanswered") if o in told]
    lines = [
        say.say(
            "reply.summary",
            answered=told.count("answered"),
            count=len(told),
            rest="; " + ", ".join(rest) if rest else "",
        )
    ]
    for kind in ("contradicted", "weakened"):
        what = [say.feature(c.feature) for c in reply.changes if c.kind == kind]
        if what:
            lines.append(say.say(f"reply.summary.{kind}", what=and_list(what)))
    return lines


def odds_sentence(reply: Reply, say: Words) -> str:
    """The chance before and after the reply, in one sentence; empty where there are no odds."""
    odds = reply.audit.odds
    if odds is None:
        return ""
    now = {"after": percent(odds.p_first), "low": percent(odds.p_first_low), "high": percent(odds.p_first_high)}
    now["range"] = say.say("reply.odds_range" if now["low"] != now["high"] else "reply.odds_sure", **now)
    if reply.odds_before is None:
        return say.say("reply.odds_new", **now)
    return say.say("reply.odds", before=percent(reply.odds_before), **now)


def _percent(p: float) -> str:
    return f"{100 * p:.0f} %"


def cases_text(cases: Sequence[Summary], lexicon: Lexicon) -> str:
    """The list of cases, a line each."""
    say = Words(lexicon)
    if not cases:
        return say.say("cases.empty")
    return "\n".join(
        say.say(
            "cases.line",
            id=c.id,
            last=flat(c.last)[:10],
            name=flat(c.name),
            decision=f"  [{flat(c.decision)}]" if c.decision else "",
        )
        for c in cases
    )


def case_text(case: Case, lexicon: Lexicon) -> str:
    """A case with all that happened in it, in order."""
    say = Words(lexicon)
    lines = [f"{case.id}  {flat(case.name)}", ""]
    for event in case.events:
        lines.append(f"{flat(event.at)}  {say.say(f'cases.event.{event.kind}')}")
        lines += [f"    {line}" for line in _event(event, say)]
    return _page(lines)


def _event(event: Event, say: Words) -> list[str]:
    body = event.body
    if event.kind == "listing":
        return [flat(body["audit"].get("answer") or body["audit"]["listing"]["title"])]
    if event.kind == "questions":
        return [f"{q['n']}. {flat(q['text'])}" for q in body["questions"]]
    if event.kind == "reply":
        told = [f"{q['n']}. {say.say('outcome.' + q['outcome'])}" for q in body["reply"].get("per_question", ())]
        return [*safe(body["text"]).split("\n"), *(["; ".join(told)] if told else [])]
    if event.kind == "note":
        return safe(body["text"]).split("\n")
    if event.kind == "decision":
        price = f" {body['price']:g} {flat(body.get('currency') or '')}" if body.get("price") is not None else ""
        why = f": {flat(body['why'])}" if body.get("why") else ""
        return [f"{flat(body['do'])}{price}{why}"]
    judged = body.get("judged", ())
    return [say.say(f"arrive.result.{body['verdict']}")] + [
        f"{FOUND[j['result']]} {_check_name(j['check'], say)}{': ' if j['seen'] else ''}{flat(j['seen'])}"
        for j in judged
        if j["result"] in ("better", "not as described")
    ]


def _check_name(check: Mapping[str, Any], say: Words) -> str:
    """The name of what was looked at: of a feature, or of the parcel's part; else its id."""
    feature = check.get("feature")
    if feature and f"{feature}" in say.lexicon.features:
        return say.feature(feature)
    return say.lexicon.phrases.get(f"arrive.name.{check['id']}") or flat(str(feature or check["id"]))


def changed_text(
    found: Sequence[ListingChange], lexicon: Lexicon, *, prices: tuple[str, str] | None = None, now: Audit | None = None
) -> str:
    """What the listing says differently now, with the words of both versions; a changed price; how it stands now."""
    say = Words(lexicon)
    after = [*_head(say.say("reply.head.after")), flat(now.answer)] if now is not None and now.answer else []
    if not found and prices is None:
        return _page([say.say("changed.none"), *after])
    lines = _head(say.say("changed.head"))
    if prices is not None:
        lines.append(say.say("changed.price", before=prices[0], now=prices[1]))
    none = say.say("changed.nothing")
    for c in found:
        asked = say.say("changed.asked") if c.asked else ""
        what = say.say(f"changed.{c.what}")
        lines.append(say.say("changed.line", sign=TURN[c.what], feature=say.feature(c.feature), what=what, asked=asked))
        lines.append(say.say("changed.before", quotes=_quotes(c.words_before, none)))
        lines.append(say.say("changed.now", quotes=_quotes(c.words_now, none)))
    return _page([*lines, *after])


def check_lines(check: Check, lexicon: Lexicon, number: int) -> list[str]:
    """One thing to look at, with what was promised."""
    say = Words(lexicon)
    name = f"{say.feature(check.feature)}: " if check.feature else ""
    lines = [f"{number}. {name}{check.look}  [{check.id}]"]
    return lines + [_promise(p, say) for p in check.promises]


def _promise(p: Promise, say: Words) -> str:
    side = say.say(f"arrive.side.{p.side}") if p.side else ""
    source = say.say(f"arrive.from.{p.source}")
    fallen = "" if p.stands else say.say("arrive.fallen")
    return say.say("arrive.promise", quote=flat(p.quote), side=side, source=source, date=p.date, fallen=fallen)


def zone_head(zone: str, lexicon: Lexicon) -> str:
    """The heading of one stage of the inspection."""
    say = Words(lexicon)
    return say.say(f"arrive.zone.{zone}") if zone in ("parcel", "edition") else say.zone(zone)


def stage(check: Check) -> str:
    """The stage of the inspection: the part of the record, or the edition, which all parts together show."""
    return "edition" if check.id.startswith("edition.") else check.zone


def checklist_text(checks: Sequence[Check], lexicon: Lexicon) -> str:
    """The whole checklist, by the parts of an inspection."""
    lines = [Words(lexicon).say("arrive.head")]
    zone = ""
    for n, check in enumerate(checks, 1):
        if stage(check) != zone:
            zone = stage(check)
            lines += _head(zone_head(zone, lexicon))
        lines += check_lines(check, lexicon, n)
    return _page(lines)


def arrival_text(arrival: Arrival, lexicon: Lexicon, *, may_tell: Sequence[str] = ()) -> str:
    """What came of the inspection, the message to the seller, and what to mind.

    `may_tell` are the ids of the pressings it can be, where which one it is has not been told yet.
    """
    say = Words(lexicon)
    counts = {r: sum(j.result == r for j in arrival.judged) for r in FOUND}
    lines = [
        say.say(
            f"arrive.verdict.{arrival.verdict}",
            checked=len(arrival.judged) - counts["not checked"],
            count=len(arrival.judged),
            bad=counts["not as described"],
        ),
        "",
    ]
    for j in arrival.judged:
        if j.result == "not checked":
            continue
        name = _check_name(j.check.model_dump(), say)
        seen = f" ({flat(j.seen)})" if j.seen else ""
        lines.append(f"{FOUND[j.result]} {name}: {say.say(f'arrive.result.{j.result}')}{seen}")
        lines += [_promise(p, say) for p in j.check.promises]
    page = _page(lines)
    if arrival.message:
        page += "\n" + "\n".join([*_head(say.say("arrive.head.message")), safe(arrival.message)])
    if may_tell:
        page += "\n\n" + _page([say.say("arrive.tell_pressing", choices=", ".join(may_tell))])
    if arrival.verdict == "not as described":
        page += "\n\n" + _page([say.say("arrive.caution")])
    return page


def outcomes_text(record: Record, proposals: Sequence[Proposal], lexicon: Lexicon, *, few: int, path: str) -> str:
    """What was predicted against what arrived; how few cases there are is said first."""
    say = Words(lexicon)
    lines: list[str] = []
    if record.count == 0:
        lines.append(say.say("outcomes.none"))
    else:
        if record.few:
            lines += [say.say("outcomes.few", count=record.count, few=few), ""]
        between = ""
        if record.brier_low is not None and record.brier_high is not None:
            between = say.say("outcomes.range", low=f"{record.brier_low:.2f}", high=f"{record.brier_high:.2f}")
        share = sum(o.first for o in record.outcomes) / record.count
        lines.append(
            say.say(
                "outcomes.brier",
                brier=f"{record.brier:.3f}",
                count=record.count,
                range=between,
                share=_percent(share),
                base=f"{record.base:.3f}",
            )
        )
        for b in record.bins:
            lines.append(
                say.say(
                    "outcomes.bin",
                    low=_percent(b.low),
                    high=_percent(b.high),
                    predicted=_percent(b.predicted),
                    hits=round(b.came * b.count),
                    count=b.count,
                    came=_percent(b.came),
                    came_low=_percent(b.came_low),
                    came_high=_percent(b.came_high),
                )
            )
    if proposals:
        lines += _head(say.say("outcomes.head.proposals"))
        for p in proposals:
            lines.append(
                say.say(
                    "outcomes.proposal",
                    id=p.id,
                    what=p.what,
                    now=f"{p.now:g}",
                    low=f"{p.low:g}",
                    high=f"{p.high:g}",
                    hits=p.hits,
                    trials=p.trials,
                    proposed=f"{p.proposed:.3f}",
                    proposed_low=f"{p.proposed_low:.3f}",
                    proposed_high=f"{p.proposed_high:.3f}",
                    few="" if p.enough else say.say("outcomes.proposal_few"),
                )
            )
        lines += ["", say.say("outcomes.apply_hint", path=path)]
    return _page(lines)
