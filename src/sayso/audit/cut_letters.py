"""The cutter's letter inside a matrix number, for labels whose numbers end in one: no seller need name it twice."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Literal

from sayso.model import Claim, Cue

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.lexicon.labels import Label

RULE = "matrix"
"""The rule of a claim that was read out of a number."""


def cut_letters(claims: Sequence[Claim], label: Label | None, lexicon: Lexicon) -> tuple[Claim, ...]:
    """Claims of the cutter's mark that follow from the numbers told, where the label's grammar has one. Pure."""
    if label is None or any(c.feature == "deadwax.mastering_mark" for c in claims):
        return ()
    return tuple(made for claim in claims for made in _of(claim, label, lexicon))


def _of(claim: Claim, label: Label, lexicon: Lexicon) -> Iterator[Claim]:
    if claim.feature != "deadwax.matrix" or claim.polarity != "present" or not claim.value:
        return
    from sayso.claims.runout import read_runout

    got = read_runout(claim.quote, label.name, lexicon)
    if got["system"] is None:
        return
    letters: dict[str, list[Literal["a", "b"] | None]] = {}
    for side in got.sides:
        if side.get("engineer") and "engineer" not in side.get("soft", ()):
            letters.setdefault(side["engineer"], []).append(side["side"])
    for letter, sides in letters.items():
        yield claim.model_copy(
            update={
                "feature": "deadwax.mastering_mark",
                "value": letter,
                "side": "both" if {"a", "b"} <= set(sides) else (sides[0] or claim.side),
                "cues": (Cue(kind="term", quote=claim.quote, start=claim.start, end=claim.end, rule=RULE),),
            }
        )
