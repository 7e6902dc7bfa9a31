"""What a seller takes back in the same breath: 'violet, sorry, beige'."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sayso.lexicon.terms import Cue

if TYPE_CHECKING:
    from sayso.claims.draft import Draft

_BEFORE, _BEHIND = 30, 60
"""Characters before the words that take it back, and behind them up to the right one."""


def read_retractions(draft: Draft) -> None:
    """Drops the value before a 'sorry' or 'I mean' where another value of the same feature follows."""
    for hit in draft.a.cues:
        if not (isinstance(hit.row, Cue) and hit.row.kind == "withdrawn"):
            continue
        at, to = draft.a.toks[hit.i][0], draft.a.toks[hit.j - 1][1]
        said = [c for c in draft.claims if 0 <= at - c.end <= _BEFORE and c.polarity == "present"]
        right = [c for c in draft.claims if 0 <= c.start - to <= _BEHIND and c.polarity == "present"]
        taken = {c.feature for c in said} & {c.feature for c in right}
        draft.drop(
            [
                c
                for c in said
                if c.feature in taken and any(r.feature == c.feature and r.value != c.value for r in right)
            ]
        )
