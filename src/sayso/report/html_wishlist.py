"""The wishlist: a ranking that can be put in another order and narrowed without any script, each audit folded in.

Each order is a list of its own, of which one is shown: so what is read, heard and tabbed through is in the same order.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from sayso.report.html_build import Html, el, join, unbroken
from sayso.report.html_parts import sections
from sayso.report.terminal import money
from sayso.report.words import Words

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.model import Audit
    from sayso.report.compared import Compared

VERDICTS = ("strong", "ask", "clash", "pass")


@dataclass(frozen=True)
class Ranked:
    """What to do next about one listing (one of `VERDICTS`), the one reason and the one question."""

    verdict: str
    reason: str
    question: str = ""
    limit: Decimal | None = None
    """The most to pay, in the currency of the listing."""
    same: str = ""
    """A sentence where the listing says the same as an earlier one."""
    seller: str = ""


def _guess(audit: Audit) -> Ranked:
    question = audit.questions[0].text if audit.questions else ""
    if any(c.kind != "jacket" for c in audit.conflicts):
        return Ranked("clash", audit.answer, question)
    do = audit.advice.do if audit.advice else "ask"
    return Ranked({"buy": "strong", "pass": "pass"}.get(do, "ask"), audit.answer, question)


def ranking(
    audits: Sequence[Audit],
    lexicon: Lexicon,
    ranks: Sequence[Ranked] | None = None,
    copies: Sequence[Compared] = (),
    *,
    key: str = "w",
    folded: Callable[[int, Audit], Html] | None = None,
) -> Html:
    """The tables, copies of one record side by side, and the folded audits: whole, or what `folded` gives for each."""
    say = Words(lexicon)
    rows = list(zip(audits, ranks or [_guess(a) for a in audits], strict=True))
    numbers = range(len(rows))
    titles = [say.headline(a.listing) for a, _ in rows]
    orders = {
        "rank": list(numbers),
        "price": sorted(numbers, key=lambda n: (rows[n][0].listing.price is None, rows[n][0].listing.price or 0)),
        "title": sorted(numbers, key=lambda n: titles[n].casefold()),
    }
    counts = {v: sum(r.verdict == v for _, r in rows) for v in VERDICTS}
    filters = [("all", len(rows)), *((v, c) for v, c in counts.items() if c)]
    return join(
        el(
            "div",
            _choice(
                f"{key}-show", say.say("html.show"), [(v, f"{say.say(f'html.verdict.{v}')} ({c})") for v, c in filters]
            ),
            _choice(f"{key}-sort", say.say("html.sort"), [(o, say.say(f"html.sort.{o}")) for o in orders]),
            class_="choices",
        ),
        [_table(name, order, rows, titles, say, key) for name, order in orders.items()],
        _side_by_side(copies, say, key) if copies else None,
        el(
            "div",
            el("h2", say.say("html.folded")),
            [
                el(
                    "details",
                    el(
                        "summary",
                        el("span", n + 1, class_="num"),
                        " ",
                        el("span", titles[n], dir="auto"),
                        " ",
                        el("small", _in_short(a, r, say)),
                    ),
                    el(
                        "div",
                        folded(n, a) if folded else sections(a, lexicon, key=f"{key}{n}", level=3, contents=False),
                        id=f"{key}-a{n}",
                        tabindex="-1",
                    ),
                    class_=f"folded v-{r.verdict}",
                )
                for n, (a, r) in enumerate(rows)
            ],
            class_="in-full",
        ),
    )


def _in_short(audit: Audit, rank: Ranked, say: Words) -> str:
    """Price and verdict, so that a folded listing can be told from the next one of the same record."""
    price = audit.listing.price
    words = [say.say(f"html.verdict.{rank.verdict}")]
    return " · ".join([*([money(price, audit.listing.currency)] if price is not None else []), *words])


def _choice(name: str, legend: str, options: Sequence[tuple[str, str]]) -> Html:
    return el(
        "fieldset",
        el("legend", legend),
        [
            el(
                "label",
                el("input", type="radio", name_=name, value=value, checked=n == 0, class_=f"pick-{value}"),
                el("span", words),
            )
            for n, (value, words) in enumerate(options)
        ],
    )


def _table(
    name: str, order: Sequence[int], rows: Sequence[tuple[Audit, Ranked]], titles: Sequence[str], say: Words, key: str
) -> Html:
    body = []
    for n in order:
        audit, rank = rows[n]
        price = audit.listing.price
        asked = money(price, audit.listing.currency) if price is not None else ""
        most = money(rank.limit, audit.listing.currency) if rank.limit is not None else ""
        cell = el("td", asked, el("small", say.say("html.at_most", amount=most)) if most else None, class_="price")
        question = el("p", say.say("html.first_question", what=rank.question), class_="hint") if rank.question else None
        body.append(
            el(
                "tr",
                el("td", n + 1, class_="rank"),
                el(
                    "th",
                    el("a", titles[n], href=f"#{key}-a{n}", dir="auto"),
                    el("small", rank.seller, dir="auto") if rank.seller else None,
                    el("small", rank.same, class_="same") if rank.same else None,
                    scope="row",
                ),
                cell,
                el("td", el("b", say.say(f"html.verdict.{rank.verdict}")), el("p", unbroken(rank.reason)), question),
                class_=f"v-{rank.verdict}",
            )
        )
    head = [el("th", say.say(f"html.col.{c}"), scope="col") for c in ("rank", "title", "price", "verdict")]
    caption = el("caption", say.say(f"html.sorted.{name}"), class_="only-heard")
    return el("table", caption, el("thead", el("tr", head)), el("tbody", body), class_=f"ranking by-{name}")


def _side_by_side(copies: Sequence[Compared], say: Words, key: str) -> Html:
    """One table a record: a column a copy, a row a sign, in each cell what the seller says of it."""
    return el(
        "div",
        el("h2", say.say("review.copies"), id=f"{key}-copies"),
        el("p", say.say("review.copies.lead"), class_="hint"),
        [
            el(
                "details",
                el(
                    "summary",
                    el("span", one.title, dir="auto"),
                    " ",
                    el("small", say.say("review.copies.count", count=len(one.copies) + one.more)),
                ),
                _comparison(one, say, key),
                el("p", say.say("review.others", count=one.more), class_="hint") if one.more > 0 else None,
                class_="folded",
                open=n == 0,
            )
            for n, one in enumerate(copies)
        ],
        class_="beside",
    )


def _comparison(one: Compared, say: Words, key: str) -> Html:
    head = [
        el(
            "th",
            el("a", say.say("review.copy", letter=copy.letter), href=f"#{key}-a{copy.place - 1}")
            if copy.place
            else say.say("review.copy", letter=copy.letter),
            [el("small", words, dir="auto") for words in (copy.seller or copy.id, copy.price, copy.verdict) if words],
            scope="col",
        )
        for copy in one.copies
    ]
    nothing = say.say("review.cell.silent")
    body = [
        el(
            "tr",
            el("th", name, scope="row"),
            [
                el(
                    "td",
                    el("span", say.say("review.copy", letter=copy.letter), ": ", class_="narrow"),
                    el("span", words, dir="auto"),
                    class_="unsaid" if words == nothing else None,
                )
                for copy, words in zip(one.copies, words_, strict=True)
            ],
        )
        for name, words_ in one.rows
    ]
    caption = el("caption", one.title, class_="only-heard", dir="auto")
    return el(
        "table",
        caption,
        el("thead", el("tr", el("th", say.say("review.sign_column"), scope="col"), head)),
        el("tbody", body),
        class_="copies",
    )
