"""The state of each feature from the claims and deferrals about it.

The rules are those of the annotation guide (tests/corpus/README.md, 'Coverage of a feature'): conflicting, else stated,
else denied, else hedged, else unknown, else deferred, else silent; a doubt about the very same thing governs a firm
word; different sides, different records of a lot and different meanings of a year do not contradict each other.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from sayso.audit.coverage import Standing
from sayso.model import ASPECT, Claim, Deferral, State

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

Numbered = tuple[int, Claim]
SILENT = Standing()


def standing_of(claims: Sequence[Claim], deferrals: Sequence[Deferral], lexicon: Lexicon) -> dict[str, Standing]:
    """The standing of every feature of the lexicon. Pure."""
    by: dict[str, list[Numbered]] = {}
    for i, claim in enumerate(claims):
        by.setdefault(claim.feature, []).append((i, claim))
    out = dict.fromkeys(lexicon.features, SILENT)
    for deferral in deferrals:
        out[deferral.feature] = Standing("deferred")
    for feature, said in by.items():
        row = lexicon.features.get(feature)
        single, manner, against = (row.single, row.manner, row.against) if row else (False, False, ())
        if single:
            said = [(i, _by_symbol(c, lexicon)) for i, c in said]
        rivals = [c for other in against for _, c in by.get(other, ()) if _firm(c) and c.polarity == "present"]
        out[feature] = Standing(_state([c for _, c in said], rivals, single, manner), tuple(i for i, _ in said))
    return out


def _by_symbol(claim: Claim, lexicon: Lexicon) -> Claim:
    """The claim with its grade as a symbol, so that 'Very Good Plus' and 'VG+' are one grade."""
    symbol = _symbols(lexicon).get(_words(claim.value))
    return claim if symbol is None else claim.model_copy(update={"value": symbol})


@lru_cache(maxsize=8)
def _symbols(lexicon: Lexicon) -> dict[str, str]:
    return {_plain(form): str(w.value) for w in lexicon.words if w.kind == "grade_name" for form in w.forms}


def _state(said: Sequence[Claim], rivals: Sequence[Claim], single: bool, manner: bool) -> State:
    if len(said) == 1 and not rivals:  # nothing to compare it with
        one = said[0]
        if _firm(one):
            return "stated" if one.polarity == "present" else "denied"
        return "unknown" if one.certainty == "unknown" else "hedged"
    # What is said again in the same way changes nothing: work stays linear in the paste.
    said = list(
        {
            (c.polarity, c.certainty, c.attribution, c.side, c.item, c.role, c.value, _aspects(c)): c for c in said
        }.values()
    )
    firm = [c for c in said if _firm(c)]
    firm = [c for c in firm if not _told_nearer(c, firm)]
    if any(_clash(a, b, single, manner) for n, a in enumerate(firm) for b in firm[n + 1 :]):
        return "conflicting"
    if any(c.polarity == "present" and r.item == c.item for c in firm for r in rivals):
        return "conflicting"
    unknown = [c for c in said if c.certainty == "unknown"]
    if any(_same_place(a, b) and _same_value(a, b) for a in firm for b in unknown):
        return "conflicting"
    doubts = [c for c in said if c.certainty == "hedged" and c.attribution == "seller"]
    standing = [c for c in firm if not any(_same_thing(c, d) for d in doubts)]
    if any(c.polarity == "present" for c in standing):
        return "stated"
    if firm and len(standing) == len(firm) and not doubts:
        return "denied"
    if firm or any(c.certainty == "hedged" or c.attribution == "third_party" for c in said if c not in unknown):
        return "hedged"
    return "unknown"


def _told_nearer(claim: Claim, firm: Sequence[Claim]) -> bool:
    """Whether other words say on which side there is what this claim leaves open ('… with bell', 'bell on A only')."""
    return (
        claim.side is None
        and claim.polarity == "present"
        and any(
            o.side in ("a", "b")
            and o.polarity == "present"
            and o.item == claim.item
            and o.role == claim.role
            and _aspects(o) == _aspects(claim)
            and _same_value(o, claim)
            for o in firm
        )
    )


def _firm(claim: Claim) -> bool:
    return claim.certainty == "certain" and claim.attribution == "seller"


def _same_place(a: Claim, b: Claim) -> bool:
    """Whether both speak of the same side of the same record, and of years in the same meaning."""
    sides = {a.side, b.side}
    apart = sides == {"a", "b"} or _aspects(a) != _aspects(b)
    return not apart and a.item == b.item and a.role == b.role


def _aspects(claim: Claim) -> frozenset[str]:
    """What of the thing alone the claim is of ('plays EX', 'front cover VG')."""
    return frozenset(c.rule for c in claim.cues if c.kind == ASPECT)


def _same_value(a: Claim, b: Claim) -> bool:
    """Whether the values agree, one being left out or holding the other."""
    x, y = _words(a.value), _words(b.value)
    return not x or not y or x == y or x in y or y in x or _in_decade(x, y) or _in_decade(y, x)


def _in_decade(year: str, decade: str) -> bool:
    """'1984' is of the '1980s'."""
    return len(year) == 4 and year.isdigit() and decade == f"{year[:3]}0s"


def _same_thing(firm: Claim, doubt: Claim) -> bool:
    return _same_place(firm, doubt) and _words(doubt.value) in ("", _words(firm.value))


def _clash(a: Claim, b: Claim, single: bool, manner: bool) -> bool:
    """Whether two firm statements cannot both hold of one copy."""
    if not _same_place(a, b):
        return False
    if a.polarity != b.polarity:
        present, absent = (a, b) if a.polarity == "present" else (b, a)
        # 'X, not Y' is X present and Y absent; 'none' against any X, and 'X' against 'not X', do clash.
        return manner or not _words(absent.value) or not _words(present.value) or _same_value(present, absent)
    if not single or a.polarity == "absent":
        return False
    return bool(_words(a.value)) and bool(_words(b.value)) and not _same_value(a, b)


def _words(value: object) -> str:
    return "" if value is None else _plain(str(value))


@lru_cache(maxsize=4096)
def _plain(value: str) -> str:
    return re.sub(r"[^\w+-]+", " ", value.casefold()).strip()
