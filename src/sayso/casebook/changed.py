"""The listing changed: which claims appeared, vanished or weakened between two versions, with the words of both."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from sayso.audit.said import spoken
from sayso.model import Audit, Claim, Noun, State

What = Literal["appeared", "vanished", "weakened", "strengthened", "turned", "reworded"]
_STRENGTH = {"certain": 3, "hedged": 2, "unknown": 1}


class ListingChange(Noun):
    """One thing that the seller says differently now. `words` are quoted from each version."""

    feature: str
    what: What
    words_before: tuple[str, ...] = ()
    words_now: tuple[str, ...] = ()
    state_before: State
    state_now: State
    asked: bool = False
    """It was asked about before it changed, which makes it news."""


def compare(before: Audit, now: Audit, asked: Sequence[str] = ()) -> tuple[ListingChange, ...]:
    """What changed from one audit of a listing to the next, in the order of the findings. Pure.

    What weighs more comes first: vanished and weakened claims on what was asked about. Mere rewording with the same
    meaning is left out; so are changes of place in the text.
    """
    out: list[ListingChange] = []
    states = [{f.feature: f.state for f in a.findings} for a in (before, now)]
    features = dict.fromkeys(c.feature for a in (before, now) for c in a.claims)
    for feature in features:
        old = [c for c in before.claims if c.feature == feature]
        new = [c for c in now.claims if c.feature == feature]
        what = _what(old, new)
        if what is None:
            continue
        gone = [c for c in old if not any(_same(c, d) for d in new)] or old
        come = [c for c in new if not any(_same(c, d) for d in old)] or new
        out.append(
            ListingChange(
                feature=feature,
                what=what,
                words_before=tuple(dict.fromkeys(spoken(before.listing.text, c) for c in gone)),
                words_now=tuple(dict.fromkeys(spoken(now.listing.text, c) for c in come)),
                state_before=states[0].get(feature, "silent"),
                state_now=states[1].get(feature, "silent"),
                asked=feature in asked,
            )
        )
    order: tuple[What, ...] = ("turned", "vanished", "weakened", "appeared", "strengthened", "reworded")
    return tuple(sorted(out, key=lambda c: (not c.asked, order.index(c.what))))


def _what(old: Sequence[Claim], new: Sequence[Claim]) -> What | None:
    if not old:
        return "appeared"
    if not new:
        return "vanished"
    if all(any(_same(c, d) for d in new) for c in old) and all(any(_same(c, d) for d in old) for c in new):
        return None
    strength = [max(_STRENGTH[c.certainty] - (c.attribution != "seller") for c in claims) for claims in (old, new)]
    polar = [{c.polarity for c in claims if c.certainty == "certain"} for claims in (old, new)]
    if polar[0] and polar[1] and not polar[0] & polar[1]:
        return "turned"
    if strength[1] != strength[0]:
        return "weakened" if strength[1] < strength[0] else "strengthened"
    lost = [c for c in old if not any(_covers(d, c) for d in new)]
    gained = [c for c in new if not any(_covers(d, c) for d in old)]
    if lost and not gained:
        return "weakened"
    if gained and not lost:
        return "strengthened"
    return "reworded" if lost or gained else None


def _key(c: Claim) -> tuple[object, ...]:
    return c.polarity, c.certainty, c.attribution, c.side, str(c.value or "").casefold(), c.role, c.item


def _same(a: Claim, b: Claim) -> bool:
    return _key(a) == _key(b)


def _covers(now: Claim, then: Claim) -> bool:
    """Whether what is said now holds all that was said then."""
    x, y = str(now.value or "").casefold(), str(then.value or "").casefold()
    side = now.side == then.side or now.side == "both" or then.side is None
    return now.polarity == then.polarity and side and (y in x if y else True) and now.role == then.role
