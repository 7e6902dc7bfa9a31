"""Folding a reply into what was said before: the later statement stands, and what it contradicts is shown.

- A firm statement in the reply supersedes the listing's hedges, unknowns, hearsay and deferrals on the same thing.
- Against a firm statement of the listing it makes a conflict: the listing still stands as printed.
- A later hedge on a firm statement makes it hedged; ignorance professed of a firm statement makes a conflict.
- In the reply itself a later message, or words that take back, supersede what they contradict.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import TYPE_CHECKING

from sayso.audit.coverage import Standing
from sayso.audit.said import spoken
from sayso.audit.standing import standing_of
from sayso.model import Claim, Deferral, State
from sayso.replies.nouns import Asked, Change, ChangeKind, Superseded

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

FIRM: frozenset[State] = frozenset({"stated", "denied"})
SPOKEN: frozenset[State] = frozenset({"stated", "denied", "hedged", "unknown", "conflicting"})
# How much a state settles; a fall is a weakening.
RANK: Mapping[State, int] = {
    "stated": 3,
    "denied": 3,
    "conflicting": 2,
    "hedged": 2,
    "unknown": 1,
    "deferred": 1,
    "silent": 0,
}


def withdraw(
    claims: Sequence[Claim], boundaries: Sequence[int], lexicon: Lexicon
) -> tuple[tuple[Claim, ...], tuple[Superseded, ...]]:
    """The claims of a reply that still stand, and those that it takes back.

    `boundaries` are offsets at which a later message or a taking back begins. A claim before one falls where a claim
    after it contradicts it, or says firmly what it had guessed; where only one of two sides is taken back, the other
    stands.
    """
    standing = sorted(claims, key=lambda c: (c.start, c.end))
    gone: list[Superseded] = []
    for at in sorted(set(boundaries)):
        later = [c for c in standing if c.start >= at]
        kept: list[Claim] = []
        for c in standing:
            against = [d for d in later if d is not c and c.start < at and _takes_back(d, c, lexicon)]
            if not against:
                kept.append(c)
                continue
            gone.append(Superseded(claim=c, because="withdrawn"))
            side = _side_left(c, against)
            if side is not None and not any(d.feature == c.feature and d.side in (side, "both") for d in later):
                kept.append(c.model_copy(update={"side": side}))
        standing = kept
    return tuple(standing), tuple(gone)


def _takes_back(later: Claim, earlier: Claim, lexicon: Lexicon) -> bool:
    if later.feature != earlier.feature or later.item != earlier.item or later.role != earlier.role:
        return False
    if {later.side, earlier.side} == {"a", "b"}:
        return False
    same = _fits(later.value, earlier.value)
    if later.certainty == "certain" and earlier.certainty != "certain":
        return True
    row = lexicon.features.get(later.feature)
    if later.polarity != earlier.polarity:
        return same or bool(row and row.manner)  # 'not played', and later 'gave it a spin'
    if later.certainty != earlier.certainty:
        return same
    if row is not None and row.single:
        return not same
    # The same said again of one side alone narrows what was said of both.
    return same and earlier.side == "both" and later.side in ("a", "b")


def _side_left(earlier: Claim, against: Sequence[Claim]) -> str | None:
    """The side of which a statement about both still holds."""
    if earlier.side != "both":
        return None
    sides = {c.side for c in against}
    return "a" if sides == {"b"} else "b" if sides == {"a"} else None


def fold(
    before: Sequence[Claim],
    deferrals_before: Sequence[Deferral],
    reply: Sequence[Claim],
    deferrals: Sequence[Deferral],
    lexicon: Lexicon,
) -> tuple[tuple[Claim, ...], tuple[Deferral, ...], tuple[Superseded, ...]]:
    """The claims and deferrals that stand with the reply folded in, in the order of the text; and what fell. Pure."""
    gone: list[Superseded] = []
    kept: list[Claim] = []
    for old in before:
        why = None
        for new in reply:
            if new.feature != old.feature or not _same_place(old, new):
                continue
            if _firm(new) and not _firm(old) and _settles(old, new):
                why = Superseded(claim=old, because="settled later")
            elif _doubts(new) and _firm(old) and _fits(old.value, new.value) and not _reaffirmed(old, reply):
                why = Superseded(claim=old, because="doubted later")
            if why:
                break
        if why is not None:
            gone.append(why)
        else:
            kept.append(old)
    claims = tuple(sorted((*kept, *reply), key=lambda c: (c.start, c.end)))
    firm = {c.feature for c in reply if _firm(c)}
    pointed = tuple(d for d in deferrals_before if d.feature not in firm) + tuple(deferrals)
    return claims, pointed, tuple(gone)


def _firm(c: Claim) -> bool:
    return c.certainty == "certain" and c.attribution == "seller"


def _doubts(c: Claim) -> bool:
    return c.certainty == "hedged" and c.attribution == "seller"


def _settles(old: Claim, new: Claim) -> bool:
    """Whether a firm statement settles a doubtful one: of all it spoke of, not only of one of its two sides."""
    return new.side is None or old.side is None or new.side == "both" or new.side == old.side or old.side == "both"


def _reaffirmed(old: Claim, reply: Sequence[Claim]) -> bool:
    return any(c.feature == old.feature and _firm(c) and _same_place(old, c) for c in reply)


def _same_place(a: Claim, b: Claim) -> bool:
    return {a.side, b.side} != {"a", "b"} and (a.item == b.item or a.item is None or b.item is None)


def _fits(a: object, b: object) -> bool:
    x, y = (str(v).casefold().strip() if v is not None else "" for v in (a, b))
    return not x or not y or x in y or y in x


def changes(
    asked: Sequence[Asked],
    before: Mapping[str, Standing],
    after: Mapping[str, Standing],
    claims_before: Sequence[Claim],
    claims_after: Sequence[Claim],
    reply: Sequence[Claim],
    gone: Collection[Superseded],
    text: str = "",
) -> tuple[Change, ...]:
    """What the reply changed: one entry for each feature asked for, and each other one on which it has news. Pure.

    `text` is the listing continued with the reply, from which the words around each claim are quoted.
    """
    wanted = list(dict.fromkeys(f for q in asked for f in q.features))
    news = [c.feature for c in reply] + [g.claim.feature for g in gone]
    out: list[Change] = []
    for feature in dict.fromkeys((*wanted, *news)):
        was, now = before.get(feature, Standing()).state, after.get(feature, Standing()).state
        said = [c for c in reply if c.feature == feature]
        news_of = bool(said) or any(g.claim.feature == feature for g in gone)
        kind = _kind(was, now, news_of, any(_firm(c) for c in said), feature in wanted)
        if kind is None:
            continue
        out.append(
            Change(
                feature=feature,
                before=was,
                after=now,
                kind=kind,
                said_before=tuple(dict.fromkeys(spoken(text, c) for c in claims_before if c.feature == feature)),
                said_now=tuple(dict.fromkeys(spoken(text, c) for c in said)),
            )
        )
    return tuple(out)


def _kind(was: State, now: State, met: bool, firm: bool, wanted: bool) -> ChangeKind | None:
    if not met:
        return "still silent" if wanted else None
    if now == "conflicting" and firm:
        return "contradicted"
    # A claim disowned is a conflict by its state, and a weakening by what happened.
    disowned = now == "conflicting" and was in FIRM
    if disowned or (was in ("stated", "denied", "conflicting", "hedged") and RANK[now] < RANK[was]):
        return "weakened"
    if now in FIRM and (wanted or was in ("hedged", "unknown", "deferred", "conflicting")):
        return "settled"
    return "new"


def states(claims: Sequence[Claim], deferrals: Sequence[Deferral], lexicon: Lexicon) -> dict[str, Standing]:
    """The standing of every feature (`sayso.audit.standing`)."""
    return standing_of(claims, deferrals, lexicon)
