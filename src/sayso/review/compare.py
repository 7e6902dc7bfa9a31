"""The ranking and its comparisons in the form that reports show: which listings say the same, and who says what."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from sayso.report.compared import Compared, Copy
from sayso.report.words import Words

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from sayso.lexicon import Lexicon
    from sayso.report import html_wishlist as html
    from sayso.review.rows import Summary
    from sayso.review.spool import Ranked, Spool

LETTERS = "ABCDEFGHIJKL"


COMPARISONS = 40
"""Most records of which the copies are set side by side on a page."""


def shown(spool: Spool, lexicon: Lexicon, *, most: int) -> tuple[list[html.Ranked], list[Compared]]:
    """The first `most` rows of the ranking as a page shows them, and the comparisons that belong to it."""
    from sayso.report.html_wishlist import Ranked as Row

    say = Words(lexicon)
    rows = list(spool.ranked(most))
    ranks = [
        Row(
            row.summary.verdict,
            row.summary.reason,
            row.summary.question,
            Decimal(row.summary.ceiling) if row.summary.ceiling else None,
            same(row, say),
            row.summary.seller,
        )
        for row in rows
    ]
    return ranks, comparisons(spool, lexicon, most=COMPARISONS, places={row.n: row.rank for row in rows})


def comparisons(
    spool: Spool, lexicon: Lexicon, *, most: int, places: Mapping[int, int] | None = None
) -> list[Compared]:
    """Records of which several copies are on the list; those of which no seller says anything are left out.

    `places` has the number in the ranking of each row of the spool.
    """
    groups = (g for g in spool.groups(most) if any(state != "silent" for row in g for _, state, _ in row.summary.says))
    return [compare(group, lexicon, places or {}) for group in groups]


def compare(group: Sequence[Ranked], lexicon: Lexicon, places: Mapping[int, int]) -> Compared:
    """Copies of one record side by side. Pure."""
    say = Words(lexicon)
    said = [{f: (state, value) for f, state, value in row.summary.says} for row in group]
    features = {f for one in said for f, (state, _) in one.items() if state != "silent"}
    return Compared(
        title=group[0].summary.title,
        copies=tuple(
            Copy(
                letter,
                places.get(row.n, 0),
                row.summary.id,
                row.summary.seller,
                money(row.summary) or say.say("review.price_unknown"),
                say.say(f"html.verdict.{row.summary.verdict}"),
            )
            for letter, row in zip(LETTERS, group, strict=False)
        ),
        more=group[0].copies + 1 - len(group),
        rows=tuple(
            (_sign(feature, say), tuple(_cell(*one.get(feature, ("silent", "")), say) for one in said))
            for feature in lexicon.features
            if feature in features
        ),
    )


def same(row: Ranked, say: Words) -> str:
    """A sentence where the listing says the same as an earlier one; else nothing."""
    return say.say("review.same", other=row.same_as) if row.same_as else ""


def money(summary: Summary) -> str:
    """The price as it is shown everywhere."""
    from decimal import Decimal

    from sayso.report.terminal import money as written

    return written(Decimal(summary.price), summary.currency) if summary.price else ""


def _sign(feature: str, say: Words) -> str:
    name = say.feature(feature)
    for lead in say.lexicon.phrases["review.sign_leads"].split("|"):
        name = name.removeprefix(lead)
    return name


def _cell(state: str, value: str, say: Words) -> str:
    if value and state in ("stated", "denied"):
        return value
    if value and state == "hedged":
        return say.say("review.cell.hedged.value", what=value)
    return say.say(f"review.cell.{state}")
