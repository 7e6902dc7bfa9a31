"""Values told of each side for itself: 'Deep groove: A yes, B no', 'Bell: side 1 present / side 2 cannot tell'."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Literal

from sayso.model import Certainty, Side

if TYPE_CHECKING:
    from sayso.claims.draft import Draft

How = Literal["present", "absent", "search", "unknown"]
_LINE = re.compile(r"[ \t]*(?::|=|\.{2,}|[ \t]-)[ \t]*(?=\S)([^\n]{4,80})")
_PIECE = re.compile(r"[^/,;.|]+")
_SIDE = re.compile(
    r"\s*(?:side\s+|seite\s+|face\s+|kant\s+|lato\s+|cara\s+)?(a|b|1|2|one|two)(?![\w+-])\s*[:=-]*\s*", re.I
)
_SIDE_BEHIND = re.compile(r"\s+(?:on\s+)?(?:side\s+)?(a|b|1|2|one|two)\s*$", re.I)
_FIRST = ("a", "1", "one")


def how_sure(how: How) -> Certainty:
    """How sure a seller is who says it so."""
    return "unknown" if how == "unknown" else "hedged" if how == "search" else "certain"


def sided_values(draft: Draft, end: int) -> list[tuple[Side, int, int, How]]:
    """The sides of a line 'Key: A yes, B no' behind its key, each with its place and how it is with it; else none."""
    m = _LINE.match(draft.a.folded, end)
    if not m:
        return []
    out: list[tuple[Side, int, int, How]] = []
    for piece in _PIECE.finditer(draft.a.folded, m.start(1), m.end(1)):
        text = piece.group()
        lead, tail = _SIDE.match(text), _SIDE_BEHIND.search(text)
        named = lead or tail
        if named is None:
            break
        word = text[lead.end() :] if lead else text[: tail.start()] if tail else ""
        how = _how(draft, word.strip())
        if how is None:
            break
        side: Side = "a" if named.group(1).lower() in _FIRST else "b"
        at = piece.start() + len(text) - len(text.lstrip())
        out.append((side, at, piece.start() + len(text.rstrip()), how))
    return out if len({s for s, *_ in out}) == 2 else []


def _how(draft: Draft, word: str) -> How | None:
    from sayso.claims.answers import manner

    how, behind = manner(word, draft.lexicon)
    if how in ("yes", "no", "none", "ignorant", "unlikely") and len(word) - behind <= 24:
        if how == "ignorant":
            return "unknown"
        return "present" if how == "yes" else "search" if how == "unlikely" else "absent"
    said = {w.value for w in draft.lexicon.words if w.kind == "proform" and word.lower() in w.forms}
    found = next(iter(said), None)
    return found if found in ("present", "absent", "search", "unknown") else None  # type: ignore[return-value]
