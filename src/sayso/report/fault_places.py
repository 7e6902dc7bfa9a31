"""Which part of the record a fault is of, by the words for it: the disc, the label or the jacket."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.model import Claim

ENDS = re.compile(r"[.;,\n()\u3000\u3001\u3002\uff08\uff09]")
NEAR = 40
"""Characters after the words for a fault in which the part it is of may be named."""


def fault_place(claim: Claim, text: str, lexicon: Lexicon) -> str | None:
    """`jacket` or `label`, where the words for the fault, or those beside them, say so; else null."""
    quote = text[claim.start : claim.end].casefold()
    behind = ENDS.split(text[claim.end : claim.end + NEAR], maxsplit=1)[0].casefold()
    before = ENDS.split(text[max(0, claim.start - NEAR) : claim.start])[-1].casefold()
    places = _words(tuple((place, tuple(forms)) for place, forms in lexicon.tables["fault_places"].entries.items()))
    around = (before if places["general"].search(quote) else "") + quote + behind
    for place in ("label", "jacket"):
        if places[place].search(quote) or places[f"on_{place}"].search(around):
            return place
    return "jacket" if places["written"].search(quote) else None


@lru_cache(maxsize=4)
def _words(places: tuple[tuple[str, tuple[str, ...]], ...]) -> dict[str, re.Pattern[str]]:
    # Words of other writings stand without spaces between them.
    return {
        place: re.compile("|".join(rf"\b{re.escape(f)}" if f.isascii() else re.escape(f) for f in forms))
        for place, forms in places
    }
