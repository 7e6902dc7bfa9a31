"""A seller who contradicts himself is asked before he is paid."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING

from sayso.model import Advice, Finding, Worth

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon


def settle_first(
    advice: Advice, findings: Sequence[Finding], worth: Worth | None, cost: Decimal | None, lexicon: Lexicon
) -> Advice:
    """The advice, turned from buying into asking where what identifies the copy is contradictory. Pure.

    A price that even the cheapest pressing is worth needs no question. Condition and terms do not tell pressings apart.
    """
    clashing = [
        lexicon.features[f.feature].name
        for f in findings
        if f.state == "conflicting" and f.feature.split(".")[0] not in ("condition", "terms")
    ]
    if advice.do != "buy" or not clashing or cost is None or worth is None:
        return advice
    if worth.by_pressing and cost <= min(worth.by_pressing.values()):
        return advice
    named = clashing[0] if len(clashing) == 1 else f"{', '.join(clashing[:-1])} and {clashing[-1]}"
    why = f"The listing contradicts itself on {named}. Settle that before paying: the chances take the words as said."
    return advice.model_copy(update={"do": "ask", "why": why, "bargain": False})
