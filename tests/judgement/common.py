"""An invented record for the tests of the judgement, and short ways to say what a seller says of it.

Marrowfield's works stamped a small thistle beside the number until 1964; later copies come from the same metal without
it, half of them with the first labels left over.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

from sayso.judgement import Judgement, Offer, judge
from sayso.judgement.dossier import take
from sayso.judgement.hear import Heard, hear
from sayso.lexicon import load_lexicon
from sayso.model import Claim, Cue, Deferral, Listing

LEXICON = load_lexicon(user=False)

DOSSIER: dict[str, Any] = {
    "label": "Marrowfield",
    "record": "Ines Dovecote Trio - Salt Road",
    "number": "MF 31",
    "parts": {
        "label": {
            "old": {"label.design": "green and gold", "label.address": "4 Tenter Row"},
            "new": {"label.design": "white", "label.address": "900 Corn Quay"},
        },
        "plant": {"works": {"deadwax.plant_mark": "thistle"}, "other": {"deadwax.plant_mark": "none"}},
        "metal": {"one": {"deadwax.matrix": "MF31-A/MF31-B", "deadwax.mastering_mark": "OLW"}},
        "jacket": {
            "old": {"jacket.construction": "flip-back"},
            "new": {"jacket.construction": "plain"},
        },
    },
    "pressings": [
        {
            "id": "first",
            "name": "first pressing",
            "years": [1961, 1963],
            "copies": 800,
            "uses": {
                "label": {"old": 1.0},
                "plant": {"works": 1.0},
                "metal": {"one": 1.0},
                "jacket": {"old": 0.9, "new": 0.1},
            },
        },
        {
            "id": "later",
            "name": "later pressing",
            "years": [1966, 1970],
            "copies": 1200,
            "uses": {
                "label": {"old": 0.5, "new": 0.5},
                "plant": {"other": 1.0},
                "metal": {"one": 1.0},
                "jacket": {"old": 0.4, "new": 0.6},
            },
        },
    ],
    "decides": [{"feature": "deadwax.plant_mark", "value": "thistle", "pressing": "first"}],
    "counts_as_first": ["first"],
}
WORTH = {"first": Decimal(300), "later": Decimal(60)}
HEDGE = (Cue(kind="hedge", rule="test", start=0, end=0, quote=""),)

MARK = "deadwax.plant_mark"
LABEL = {"label.design": "green and gold", "label.address": "4 Tenter Row"}
WAX = {"deadwax.matrix": "MF31-A/MF31-B", "deadwax.mastering_mark": "OLW"}
EXPERT = {**LABEL, **WAX, "condition.vinyl_grade": "VG+", "identity.catalogue_number": "MF 31"}
NAIVE = "From my grandad's loft. Plays."


def claim(feature: str, value: Any = None, **more: Any) -> Claim:
    return Claim(feature=feature, value=value, quote="", start=0, end=0, **more)


def say(
    said: Mapping[str, Any] | None = None,
    *claims: Claim,
    text: str = "",
    price: float | None = None,
    dossier: Any = DOSSIER,
    worth: Mapping[str, Decimal] | None = WORTH,
    deferred: tuple[str, ...] = (),
    evaded: tuple[str, ...] = (),
    knows: bool | None = None,
    **offer: Any,
) -> Judgement:
    """The judgement of an offer in which `said` is stated firmly and `claims` besides."""
    every = [claim(f, v) for f, v in (said or {}).items()] + list(claims)
    deferrals = [Deferral(feature=f, start=0, end=0, quote="") for f in deferred]
    listing = Listing(text=text)
    heard: Heard | None = None
    if knows is not None:
        heard = hear(every, deferrals, listing, take(dossier), LEXICON, evaded=evaded)
        heard = replace(heard, trade_words=knows, layman_words=not knows)
    money = Offer(
        price=None if price is None else Decimal(str(price)), currency="USD", worth=dict(worth or {}), **offer
    )
    return judge(every, deferrals, listing, dossier, money, LEXICON, evaded=evaded, heard=heard)


def p(*args: Any, **kwargs: Any) -> float:
    """P(first) of the same."""
    found = say(*args, **kwargs)
    assert found.odds is not None, found.why_no_odds
    return found.odds.p_first


def changed(**parts: Any) -> dict[str, Any]:
    """The dossier with other entries."""
    return {**DOSSIER, **parts}
