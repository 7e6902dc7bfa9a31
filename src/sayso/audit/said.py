"""A claim as one would quote it: with the words beside it that say what it is said of."""

from __future__ import annotations

import re

from sayso.model import Claim

_CUT = re.compile(r"[,;:!?()\n\u3001\u3002]|\.(?=\s|$)|\s[-–—]\s")
_STOP = re.compile(r"[!?\n\u3002]|\.(?=\s|$)")
LONGEST = 60
"""A longer stretch is no quotation but a paragraph; then the claim's own words stand alone."""


def spoken(text: str, claim: Claim) -> str:
    """The clause that holds the claim ('deep groove both sides' for 'deep groove'); of a clause of one word, the
    sentence ('Yes, both'). The claim's own quote where that would be long. Pure.
    """
    if text[claim.start : claim.end] != claim.quote:
        return claim.quote
    clause = _between(text, claim, _CUT)
    if len(re.findall(r"\w+", clause)) < 2:
        clause = _between(text, claim, _STOP)
    return clause if len(clause) <= LONGEST and claim.quote in clause else claim.quote


def _between(text: str, claim: Claim, cut: re.Pattern[str]) -> str:
    lo, hi = max(0, claim.start - 2 * LONGEST), min(len(text), claim.end + 2 * LONGEST)
    start = max((m.end() for m in cut.finditer(text, lo, claim.start)), default=lo)
    end = next((m.start() for m in cut.finditer(text, claim.end, hi)), hi)
    return text[start:end].strip(" \t\"'“”*•>-–—.")
