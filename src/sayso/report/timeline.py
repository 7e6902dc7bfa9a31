"""The dating of a copy as a drawn time line: one line a sign, plain characters, at most 80 columns."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from sayso.model import Bound, Dating

if TYPE_CHECKING:
    from sayso.report.words import Words

WIDTH = 30
NAME = 40
MARGIN = 4
"""Years shown to the left and right of the first and last date."""


def timeline(dating: Dating, say: Words, claimed: Sequence[str] = ()) -> list[str]:
    """The lines of the drawing; none where nothing is dated.

    `claimed` are the years the seller states (`YYYY`, …). `=` is where a sign allows the part that carries it, `-` the
    same for a sign that only raises a question, `^` a claimed year.
    """
    years = [int(y[:4]) for y in claimed if y[:4].isdigit()]
    bounds = [b for b in dating.bounds if b.not_before or b.not_after]
    dates = [int(d[:4]) for b in bounds for d in (b.not_before, b.not_after) if d]
    if not bounds:
        return []
    low, high = min(dates + years) - MARGIN, max(dates + years) + MARGIN
    scale = WIDTH / (high - low + 1)

    def at(year: int) -> int:
        return min(WIDTH - 1, max(0, int((year - low) * scale)))

    lines = [f"{'':{NAME}}{low:<{WIDTH - 4}}{high}"]
    for bound in bounds:
        start = at(int(bound.not_before[:4])) if bound.not_before else 0
        end = at(int(bound.not_after[:4])) if bound.not_after else WIDTH - 1
        sign = "=" if bound.hard else "-"
        lines.append(f"{_name(bound, say):<{NAME}}{' ' * start}{sign * (end - start + 1)}".rstrip())
    for year in dict.fromkeys(years):
        lines.append(f"{say.say('timeline.claimed', year=year):<{NAME}}{' ' * at(year)}^")
    if any(not b.hard for b in bounds):
        lines.append(say.say("timeline.key"))
    return lines


def _name(bound: Bound, say: Words) -> str:
    quote = " ".join(bound.span.quote.split()) if bound.span else bound.fact
    text = say.say("timeline.sign", part=say.say(f"timeline.part.{bound.carrier}"), quote=quote)
    return (text if len(text) < NAME else text[: NAME - 2] + "…") + " "
