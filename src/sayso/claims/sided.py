"""Values told of each side for itself: 'Deep groove: A yes, B no', 'Bell: side 1 present / side 2 cannot tell'."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Literal

from sayso.lexicon.terms import Word
from sayso.model import Certainty, Side

if TYPE_CHECKING:
    from sayso.claims.draft import Draft

How = Literal["present", "absent", "search", "unknown"]
_LINE = re.compile(r"[ \t]*(?::|=|\.{2,}|[ \t]-)[ \t]*(?=\S)([^\n]{4,80})")
_PIECE = re.compile(r"[^/,;.|]+")
_BARE = re.compile(r"\s*([ab12])(?![\w+-])", re.I)
_BARE_BEHIND = re.compile(r"(?<![\w+-])([ab12])\s*$", re.I)
"""A side by its letter or figure alone; its other names are the lexicon's."""


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
        named = _named(draft, piece.start(), piece.end())
        if named is None:
            break
        side, start, end = named
        first = start - piece.start() < len(text) - (end - piece.start())
        word = text[end - piece.start() :].lstrip(" \t:=-") if first else text[: start - piece.start()]
        how = _how(draft, word.strip())
        if how is None:
            break
        at = piece.start() + len(text) - len(text.lstrip())
        out.append((side, at, piece.start() + len(text.rstrip()), how))
    return out if len({s for s, *_ in out}) == 2 else []


def _named(draft: Draft, start: int, end: int) -> tuple[Side, int, int] | None:
    """The side that a piece begins or ends with, and where it stands; null without one."""
    text = draft.a.folded[start:end]
    for h in draft.a.within("side", start, end):
        a, b = draft.a.toks[h.i][0], draft.a.toks[h.j - 1][1]
        value = h.row.value if isinstance(h.row, Word) else None
        if value in ("a", "b") and b <= end and (not text[: a - start].strip() or not text[b - start :].strip()):
            return value, a, b  # type: ignore[return-value]
    m = _BARE.match(text) or _BARE_BEHIND.search(text)
    if m is None:
        return None
    return "a" if m.group(1).lower() in ("a", "1") else "b", start + m.start(1), start + m.end(1)


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
