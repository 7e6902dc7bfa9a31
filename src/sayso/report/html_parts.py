"""The sections of the report as markup: what an audit holds, in the words that every report uses."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from sayso.model import Audit, Claim, Conflict, Finding, Proof, Span
from sayso.report.drawing import FAULTS, draw, faults_by_place, parts, standing
from sayso.report.html_build import Html, el, join, quoted, stopped, unbroken
from sayso.report.html_charts import odds_table, percent, time_table
from sayso.report.known import Known, of_label, of_mark
from sayso.report.marked import Piece, claim_state, pieces
from sayso.report.terminal import WEIGHT, money
from sayso.report.words import Words, and_list, says_itself

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

LONG = 12
"""Words that claim nothing are folded away when there are more than this."""


def sections(
    audit: Audit,
    lexicon: Lexicon,
    *,
    key: str = "r",
    level: int = 2,
    contents: bool = True,
    message: bool = True,
    after_message: Html | None = None,
) -> Html:
    """The whole audit. `key` begins every id, `level` is that of the headings, `after_message` follows the message.

    `contents` lists the parts as links; without `message` that part is left out, because it stands elsewhere.
    """
    say = Words(lexicon)
    shown = [
        ("conflicts", say.heading("conflicts"), [_conflict(c, audit.listing.language, say) for c in audit.conflicts]),
        ("record", say.heading("record"), _record(audit, lexicon, say, key, level)),
        ("listing", say.heading("listing"), _listing(audit, say, key)),
        ("silence", say.heading("silence"), [el("p", s) for s in audit.silence]),
        ("advice", say.heading("advice"), _advice(audit, say)),
        ("message", say.heading("message"), [_message(audit, say, key), after_message] if message else None),
        ("odds", say.heading("odds"), _odds(audit, say)),
        ("dating", say.heading("dating"), _dating(audit, say)),
        ("label", say.heading("label"), _label(audit, say)),
        ("sources", say.say("html.sources"), _sources(audit, say)),
        ("cautions", say.heading("cautions"), [el("p", c) for c in audit.cautions]),
    ]
    out, links = [], []
    for name, heading, body in shown:
        inside = join(body)
        if not inside:
            continue
        # One audit of many is no landmark of the page: a reader would have to step over dozens.
        labelled = f"{key}-{name}" if level == 2 else None
        head = el(f"h{level}", heading, id=f"{key}-{name}")
        out.append(el("section", head, inside, class_=f"s-{name}", aria_labelledby=labelled))
        links.append(el("li", el("a", heading, href=f"#{key}-{name}")))
    way = el("nav", el("ul", links, role="list"), class_="contents", aria_label=say.say("html.contents"))
    return join(el("section", _answer(audit, say), class_="s-answer"), way if contents else None, out)


def _answer(audit: Audit, say: Words) -> Html:
    return join(el("p", unbroken(audit.answer), class_="answer"), figures(audit, say))


def figures(audit: Audit, say: Words) -> Html | None:
    """What the answer comes to, at one glance: the price, the most to pay, the chance."""
    listing, advice, odds = audit.listing, audit.advice, audit.odds
    sums: list[tuple[str, str, str]] = []
    if listing.price is not None:
        sums.append(("asked", money(listing.price, listing.currency), ""))
    if advice:
        limits = (("ceiling", advice.ceiling), ("cautious", advice.cautious_ceiling))
        sums += [(name, money(amount, advice.currency), "") for name, amount in limits if amount is not None]
    if odds is not None:
        low, high = percent(odds.p_first_low), percent(odds.p_first_high)
        spread = say.say("html.spread", low=low, high=high) if low != high else ""
        sums.append(("chance", percent(odds.p_first), spread))
    rows = [
        el("div", el("dt", say.say(f"html.{name}")), el("dd", figure, el("small", spread) if spread else None))
        for name, figure, spread in sums
    ]
    return el("dl", rows, class_="sums") if rows else None


def sign(state: str, say: Words) -> Html:
    """A state as its sign; the word for it always stands beside it."""
    return el("span", say.sign(state), class_=f"sign {state}", aria_hidden="true")


def _listing(audit: Audit, say: Words, key: str) -> Html:
    notes = audit.listing.notes
    return join(
        el("p", say.say("html.marks") if audit.claims else say.say("html.no_marks"), class_="hint"),
        el(
            "div",
            [_piece(p, n, audit, say, key) for n, p in enumerate(pieces(audit))],
            class_="words",
            dir="auto",
            lang=audit.listing.language,
        ),
        el("p", say.say("report.notes", what=" ".join(notes)), class_="hint") if notes else None,
        _claims(audit, say, key),
    )


def _piece(piece: Piece, n: int, audit: Audit, say: Words, key: str) -> Html:
    words = audit.listing.text[piece.start : piece.end]
    if piece.skipped:
        count = len(words.split())
        if count > LONG:
            kind = say.say(f"segment.{piece.skipped}")
            fold = say.say("report.skipped", words=count, kind=kind)
            return el("details", el("summary", fold), el("p", words), class_="skipped")
        return el("span", words, class_="skipped")
    if not piece.state:
        return join(words)
    tip = f"{key}-tip{n}"
    notes = [_note(audit.claims[i], piece.state == "conflicting", say) for i in piece.claims]
    return el(
        "span",
        el(
            "a",
            el("span", say.sign(piece.state), class_="sign", aria_hidden="true"),
            words,
            href=f"#{key}-c{piece.claims[0]}",
            aria_describedby=tip,
        ),
        el("span", notes, class_="tip", role="tooltip", id=tip),
        class_=f"mark {piece.state}",
    )


def _note(claim: Claim, clashes: bool, say: Words) -> list[Html]:
    """What a mark tells when it is pointed at: the feature, its state, and what decided that."""
    state = "conflicting" if clashes else claim_state(claim)
    cues = _cues(claim)
    return [
        el("span", f"{say.feature(claim.feature)}: {say.state(state)}"),
        *([el("span", say.say("html.decided", what=and_list(cues)), class_="decided")] if cues else []),
    ]


def _cues(claim: Claim) -> list[str]:
    return list(dict.fromkeys(f"‘{' '.join(c.quote.split())}’" for c in claim.cues if c.quote.strip()))


def _claims(audit: Audit, say: Words, key: str) -> Html | None:
    """Each claim with what decided how it was read; the marks in the listing lead here."""
    rows = []
    for n, claim in enumerate(audit.claims):
        if claim.feature.startswith("identity."):
            continue
        state = claim_state(claim)
        side = say.say(f"html.side.{claim.side}") if claim.side else None
        cues = _cues(claim)
        rows.append(
            el(
                "li",
                quoted(claim.quote, audit.listing.language),
                " ",
                sign(state, say),
                " ",
                el("b", say.feature(claim.feature)),
                f": {say.state(state)}",
                f", {side}" if side else None,
                f". {say.say('html.decided', what=and_list(cues))}" if cues else ".",
                id=f"{key}-c{n}",
                tabindex="-1",
            )
        )
    if not rows:
        return None
    return el("details", el("summary", say.say("html.readings", count=len(rows))), el("ol", rows), class_="readings")


def _record(audit: Audit, lexicon: Lexicon, say: Words, key: str, level: int) -> Html:
    drawn = {p.zone: p for p in parts(audit, say)}
    faults = faults_by_place(audit, say)
    of_faults = next((f for f in audit.findings if f.feature == FAULTS), None)
    lesser: list[str] = []
    cards = []
    for zone, findings in say.by_zone(audit.findings):
        findings = sorted(findings, key=lambda f: WEIGHT.index(f.need))
        how = drawn[zone].standing if zone in drawn else standing(findings)
        if of_faults and faults.get(zone) and of_faults not in findings:
            findings.append(of_faults)
        quiet = [f for f in findings if f.state == "silent" and f.need != "decisive"]
        missing = [say.feature(f.feature) for f in quiet if f.need == "supporting"]
        little = [say.feature(f.feature) for f in quiet if f.need == "helpful"]
        if little and not missing and len(quiet) == len(findings):
            missing, little = little, []  # a part of which nothing else is told is not left bare
        lesser += little
        rows = []
        for finding in findings:
            if finding not in quiet:
                only = faults.get(zone, []) if finding.feature == FAULTS and finding.claims else None
                if only != []:
                    rows.append(_finding(finding, audit, say, key, only=only))
        if missing:
            words = el("span", f"{say.state('silent')}: ", class_="state")
            rows.append(el("li", sign("silent", say), el("div", words, "; ".join(missing)), class_="silent"))
        part = drawn.get(zone)
        cards.append(
            el(
                "li",
                el(
                    f"h{level + 1}",
                    el("span", part.number, class_="num") if part else None,
                    el("span", say.zone(zone)),
                    el(
                        "span",
                        el("span", class_=f"swatch {how}", aria_hidden="true"),
                        part.how(say) if part else say.say(f"html.standing.{how}"),
                        class_="how",
                    ),
                ),
                el("ul", rows, class_="findings") if rows else None,
                class_=f"part-card {how}",
            )
        )
    return join(
        el(
            "figure",
            draw(audit, lexicon, key=key),
            el("figcaption", _legend(say), el("p", say.say("html.scale"), class_="hint")),
        ),
        el("ol", cards, class_="parts", role="list"),
        el("p", say.say("report.lesser", what="; ".join(lesser)), class_="hint") if lesser else None,
    )


def _legend(say: Words) -> Html:
    kinds = ("said", "partly", "silent", "clash")
    return el(
        "ul",
        [el("li", el("span", class_=f"swatch {k}", aria_hidden="true"), say.say(f"html.standing.{k}")) for k in kinds],
        class_="legend",
        role="list",
    )


def _finding(finding: Finding, audit: Audit, say: Words, key: str, *, only: list[int] | None = None) -> Html:
    """One finding; `only` these of its claims are quoted, where the others stand elsewhere."""
    shown = [i for i in say.quoted(finding, audit.claims) if only is None or i in only]
    quotes = {
        (" ".join(audit.claims[i].quote.split()), say.aside(finding, audit.claims[i])): i for i in reversed(shown)
    }
    tongue = audit.listing.language
    links: list[Html] = []
    for (quote, aside), i in list(reversed(quotes.items()))[:3]:
        links.append(el("span", el("a", quoted(quote[:90], tongue), href=f"#{key}-c{i}"), aside))
    spaced = [x for link in links for x in (" ", link)]
    open_ = finding.need == "decisive" and finding.state not in ("stated", "denied")
    return el(
        "li",
        sign(finding.state, say),
        el(
            "div",
            el("b", say.feature(finding.feature)),
            el("span", f": {say.finding(finding, audit.claims)}", class_="state"),
            *spaced,
            el("span", say.need("decisive"), class_="decides") if finding.need == "decisive" else None,
            el("span", finding.why, class_="why") if open_ and finding.why else None,
            [_proof(p, say) for p in audit.proofs if p.claim in finding.claims] or None,
        ),
        class_=finding.state,
    )


def _proof(proof: Proof, say: Words) -> Html:
    known = of_mark(proof, say)
    return el("span", known.line, *_below(known), class_="why")


def _below(known: Known) -> list[Html]:
    return [el("span", f" {stopped(line)}", class_="hint") for line in known.below]


def _dating(audit: Audit, say: Words) -> Html | list[Html] | None:
    """The years as a table, below it what hardly fits."""
    table = time_table(audit, say)
    doubts = [el("p", doubt.why, class_="doubt") for doubt in audit.dating.doubts]
    return [table, *doubts] if table is not None and doubts else table


def _label(audit: Audit, say: Words) -> Html | None:
    """What is known of the label: paragraphs, and lists below those that introduce one."""
    out: list[Html] = []
    rows: list[Html] = []
    for known in of_label(audit, say):
        if known.sign == "*":
            rows.append(el("li", known.line, *_below(known)))
            continue
        if rows:
            out.append(el("ul", rows))
            rows = []
        words = el("b", known.line) if known.heads or known.look else join(known.line)
        out.append(el("p", words, *_below(known)))
    if rows:
        out.append(el("ul", rows))
    return join(out) if out else None


def _conflict(conflict: Conflict, language: str, say: Words) -> Html:
    quotes = [quoted(x.quote, language) for x in conflict.between if isinstance(x, Span)]
    between = [x for n, q in enumerate(quotes) for x in ((" / ", q) if n else (q,))]
    return el(
        "div",
        el("p", sign("conflicting", say), " ", el("b", say.say(f"conflict.{conflict.kind}")), class_="c-head"),
        el("p", between, class_="between") if between else None,
        el("p", conflict.why),
        el("p", say.say("report.innocent", what=" ".join(conflict.innocent))) if conflict.innocent else None,
        el("p", say.say("report.source", source=conflict.source), class_="hint") if conflict.source else None,
        class_=f"conflict {conflict.kind}",
    )


def _message(audit: Audit, say: Words, key: str) -> Html:
    if not audit.questions:
        return el("p", say.say("report.nothing_to_ask"))
    currency = audit.worth.currency if audit.worth else audit.listing.currency
    worths = [
        say.say("report.value_money", n=n, amount=money(Decimal(str(q.value)), currency))
        for n, q in enumerate(audit.questions, 1)
        if q.value and q.unit == "money" and q.value >= 0.5
    ]
    told = and_list(worths)
    return join(
        letter(audit.message, say, key=f"{key}-text", heading=say.heading("message")),
        el("p", unbroken(f"{told[:1].upper()}{told[1:]}."), class_="hint") if told else None,
    )


def letter(message: str, say: Words, *, key: str, heading: str) -> Html:
    """A message to send, with a button that copies it."""
    box = el(
        "pre",
        message,
        id=key,
        tabindex="0",
        dir="auto",
        lang=message_language(message, say.lexicon),
        aria_label=heading,
        role="group",
    )
    button = el(
        "button",
        say.say("html.copy"),
        type="button",
        class_="copy",
        hidden=True,
        data_copy=key,
        data_done=say.say("html.copied"),
        data_failed=say.say("html.copy_by_hand"),
    )
    return el("div", box, el("p", button), class_="letter")


def message_language(message: str, lexicon: Lexicon) -> str | None:
    """The language of a message, by the way it begins: a screen reader must know in which to read it (WCAG 3.1.2)."""
    from sayso.questions import languages

    for language in languages(lexicon):
        letter = lexicon.letter(language)
        if letter is not None and message.startswith((letter.greeting, letter.greeting_again or letter.greeting)):
            return language
    return None


def _advice(audit: Audit, say: Words) -> Html:
    out: list[Html] = []
    if audit.advice:
        a = audit.advice
        lead = None if says_itself(audit) else join(el("b", say.say(f"do.{a.do}"), class_="do"), ": ")
        out.append(el("p", lead, unbroken(a.why), class_="do" if lead is None else None))
        for name, amount in (("ceiling", a.ceiling), ("cautious", a.cautious_ceiling)):
            if amount is not None:
                out.append(el("p", unbroken(say.say(f"report.{name}", amount=money(amount, a.currency)))))
        out += [el("p", say.say("report.bargain"))] if a.bargain else []
        out += [el("p", note) for note in a.notes]
    if audit.worth:
        w = audit.worth
        amounts = {k: money(getattr(w, k), w.currency) for k in ("expected", "low", "high")}
        out.append(el("p", unbroken(say.say("report.worth", **amounts))))
        out += [el("p", note, class_="hint") for note in w.notes]
    return join(out)


def _odds(audit: Audit, say: Words) -> Html | None:
    if audit.odds is None:
        return el("p", say.say("report.no_odds", why=audit.why_no_odds)) if audit.why_no_odds else None
    note = el("p", say.say("report.general"), class_="hint") if audit.dossier is None else None
    return join(note, odds_table(audit.odds, say))


def _sources(audit: Audit, say: Words) -> Html | None:
    rows: dict[str, Html] = {}
    for bound in audit.dating.bounds:
        if bound.source:
            words = el(
                "li",
                stopped(bound.statement),
                el("span", f" {stopped(bound.source)}", class_="hint"),
                " ",
                el("span", stopped(bound.caution), class_="hint") if bound.caution else None,
            )
            rows.setdefault(bound.fact, words)
    for conflict in audit.conflicts:
        if conflict.source:
            rows.setdefault(conflict.fact or conflict.source, el("li", stopped(conflict.source)))
    if audit.odds is not None:
        for line in audit.odds.assumes:
            rows.setdefault(line, el("li", stopped(line)))
    return el("ul", list(rows.values()), class_="sources") if rows else None
