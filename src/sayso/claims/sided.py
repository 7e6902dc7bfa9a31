"""Values told of each side for itself: 'Deep groove: A yes, B no', 'Bell: side 1 present / side 2 cannot tell'."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Literal

from sayso.lexicon.terms import Word
from sayso.model import Certainty, Side

if TYPE_CHECKING:
    from sayso.claims.draft import Draft

_STATES = frozenset({"proform", "side_state"})
"""Kinds of words that say how it is with a thing on a side."""
How = Literal["present", "absent", "search", "unknown"]
_LINE = re.compile(r"[ \t]*(?::|=|\.{2,}[ \t]*:?|[ \t]-)[ \t]*(?=\S)([^\n]{4,80})")
_PIECE = re.compile(r"[^/,;.|]+")
_BARE = re.compile(r"\s*([ab12])(?![\w+-])", re.I)
_BARE_BEHIND = re.compile(r"(?<![\w+-])([ab12])\s*$", re.I)
"""A side by its letter or figure alone; its other names are the lexicon's."""


def how_sure(how: How) -> Certainty:
    """How sure a seller is who says it so."""
    return "unknown" if how == "unknown" else "hedged" if how == "search" else "certain"


_LONE = re.compile(r"[ \t]*(?::|=|\.{2,}[ \t]*:?|[ \t]-)[ \t]*(?=\S)([^\n.,;/]{1,24}?)[ \t.]*(?:\n|$)")
"""A line whose value is short."""
_TWO = re.compile(r"\s*([^/\n,;]{1,16}?)\s*/\s*([^/\n,;]{1,16}?)[ \t.]*(?:\n|$)")
"""'yes / no', 'JRL / none' at the end of a line."""
_BY_LABEL = ("label.deep", "label.reg")
"""What stands in the label, where a letter behind the key names the side and no sign in the wax."""


def sided_values(draft: Draft, end: int, feature: str) -> list[tuple[Side, int, int, How]]:
    """The sides of a line 'Key: A yes, B no' behind its key, each with its place and how it is with it; else none."""
    if feature.startswith(_BY_LABEL):
        lone = _LONE.match(draft.a.folded, end)
        named = _named(draft, lone.start(1), lone.end(1)) if lone else None
        if lone and named and named[1:] == lone.span(1) and lone.group(1).isalpha():
            return [(named[0], *lone.span(1), "present")]  # 'Ring in label: A'
    m = _LINE.match(draft.a.folded, end)
    if not m:
        return []
    return _in_turn(draft, m.start(1)) or each_side(draft, m.start(1), m.end(1))


def _in_turn(draft: Draft, start: int) -> list[tuple[Side, int, int, How]]:
    """'yes / no': what is said of the first side and of the second, which nobody names."""
    m = _TWO.match(draft.a.folded, start)
    hows = [_how(draft, m.group(n)) for n in (1, 2)] if m else []
    if not m or hows[0] is None or hows[1] is None:
        return []
    if hows[0] == hows[1]:
        return [("both", m.start(1), m.end(2), hows[0])]
    return [("a", *m.span(1), hows[0]), ("b", *m.span(2), hows[1])]


def read_one_and_none(draft: Draft) -> None:
    """'Cutter: JRL / none': under its key one side's sign, and none on the other."""
    for c in [c for c in draft.claims if c.feature in _SIGNS and c.side in (None, "both") and c.value is not None]:
        key = draft.a.key(c.start)
        if key is None or c.polarity != "present":
            continue
        behind = _BEHIND.match(draft.a.folded, c.end)
        before = _BEFORE.search(draft.a.folded, key[1], c.start)
        for found, own, other in ((behind, "a", "b"), (before, "b", "a")):
            if found and _how(draft, found.group(1).strip()) == "absent":
                draft.claims.amend(c, side=own)
                said = replace(draft.a.assertion(*found.span(1)), polarity="absent", certainty="certain", cues=())
                told: Side = "a" if other == "a" else "b"
                draft.add(c.feature, *found.span(1), said, "absent", None, None, side=told, rule="one and none")
                break


_SIGNS = frozenset({"deadwax.mastering_mark", "deadwax.plant_mark"})
_BEHIND = re.compile(r"[ \t]*/[ \t]*([^/\n,;]{1,16}?)[ \t.]*(?=\n|$)")
_BEFORE = re.compile(r"[:.=][ \t]*([^/\n,;:.=]{1,16}?)[ \t]*/[ \t]*$")


def each_side(draft: Draft, begin: int, end: int) -> list[tuple[Side, int, int, How]]:
    """'A yes, B no', 'On one it is, on two it isn't': how it is with each side; none where not both are told of."""
    out: list[tuple[Side, int, int, How]] = []
    for piece in _PIECE.finditer(draft.a.folded, begin, end):
        text = piece.group()
        named = _named(draft, piece.start(), piece.end())
        if named is None:
            break
        side, start, end = named
        word = text[end - piece.start() :].lstrip(" \t:=-") or text[: start - piece.start()]
        how = _how(draft, word.strip())
        if how is None:
            break
        at = piece.start() + len(text) - len(text.lstrip())
        out.append((side, at, piece.start() + len(text.rstrip()), how))
    return out if len({s for s, *_ in out}) == 2 else []


def _named(draft: Draft, start: int, end: int) -> tuple[Side, int, int] | None:
    """The side that a piece begins or ends with, and where it stands; null without one."""
    text = draft.a.folded[start:end]
    for h in (*draft.a.within("side", start, end), *draft.a.within("side_in_turn", start, end)):
        a, b = draft.a.toks[h.i][0], draft.a.toks[h.j - 1][1]
        value = h.row.value if isinstance(h.row, Word) else None
        led = text[: a - start].strip() and not all(
            any(draft.a.of(kind, n, n + 1) for kind in ("side_tie", "upon", "joiner"))
            for n in range(draft.a.token(start), h.i)
        )
        if value in ("a", "b") and b <= end and (not led or not text[b - start :].strip()):
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
    said = {w.value for w in draft.lexicon.words if w.kind in _STATES and word.lower() in w.forms}
    found = next(iter(said), None)
    return found if found in ("present", "absent", "search", "unknown") else None  # type: ignore[return-value]
