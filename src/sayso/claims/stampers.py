"""Stamper and mother codes told behind a word for them, one for each side or several in a row."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from sayso.claims.index import Hit
from sayso.lexicon.terms import Word
from sayso.model import Side

if TYPE_CHECKING:
    from sayso.claims.draft import Draft

_SIGN = re.compile(
    r"(?:[:=\s,/&()+\"']|[a-z]+\b|[a-z]\d\b|[AB]\b(?=[ :,;)])|(?:Side|SIDE) [AB12]\b)*?(?<![\w-])"
    r"((?!I\b(?! on| for|[,/;.&]))(?:\d{1,2}-[A-Z]-\d{1,2}|\d{1,2} (?:[A-Z]{2,3}|[C-HJ-Z])"
    r"|(?![AB]\b)[A-Z]{1,3}\d{0,2}|\d{1,3}[A-Z]{0,3}"
    r"|[AB](?=[\s,/&.;]*(?:$|on\b|and\b|\()))"
    r")(?![\w-])"
)
_STAMPER = "deadwax.stamper_code"
_REACH, _MOST = 60, 4
"""Characters from one code to the next, and at most so many codes behind one word."""
_PASSED = ("linking", "side", "upon", "only", "stamper_passed", "order")
_JOINED = re.compile(r"\s*/\s*")
_STOP = re.compile(r"[,;.]")
_ALSO = re.compile(r"\s*(?:,|&|and|\+)\s*")

Found = tuple[int, int, str]


def codes_behind(draft: Draft, h: Hit) -> None:
    """'Stamper on A is 2-C-11, on B 2-C-4', 'stampers AB (s1), N (s2)', 'mothers 1 & 3', '3G / 1T': a claim each."""
    found = _found(draft, h)
    if not found or not _of_the_metal(draft, h, found):
        return
    mother = isinstance(h.row, Word) and h.row.value == "mother"
    begin = draft.a.toks[h.i][0]
    last = found[-1][1]
    draft.drop([c for c in draft.claims.begun(begin, last) if c.feature == _STAMPER])
    text = draft.a.folded
    sides = _sides(draft, h, found)
    said = draft.a.assertion(found[0][0], found[0][1])
    if len(found) == 2 and sides == [None, None] and _JOINED.fullmatch(text, found[0][1], found[1][0]):
        value = f"{found[0][2]}/{found[1][2]}"
        draft.add(_STAMPER, begin, last, said, said.polarity, value, None, side="both", rule="sign")
        return
    if len(found) == 2 and sides == [None, None] and _ALSO.fullmatch(text, found[0][1], found[1][0]):
        sides = ["a", "b"]
    for n, (start, end, sign) in enumerate(found):
        said = draft.a.assertion(start, end)
        value = f"mother {sign}" if mother else sign
        side = sides[n] if sides[n] or len(found) > 1 else draft.side(start, end)
        at = begin if n == 0 else start
        draft.add(_STAMPER, at, end, said, said.polarity, value, None, side=side, sided=False, rule="sign")


def _found(draft: Draft, h: Hit) -> list[Found]:
    """The codes behind the word, with nothing between but sides and small words."""
    at = draft.a.toks[h.j - 1][1]
    _, b = draft.a.sentence(at)
    out: list[Found] = []
    while len(out) < _MOST:
        m = _SIGN.match(draft.a.folded, at, min(b, at + _REACH))
        if m is None:
            break
        start, end = m.span(1)
        skipped = range(draft.a.token(at), draft.a.token(start))
        passed = {n for kind in _PASSED for s in draft.a.of(kind, h.j, skipped.stop) for n in range(s.i, s.j)}
        if any(draft.a.words[n].isalnum() and n not in passed for n in skipped):
            break
        if any(
            o.i <= draft.a.token(start) < o.j for o in draft.a.of("side", draft.a.token(start) - 2, skipped.stop + 1)
        ):
            break
        out.append((start, end, m.group(1).replace(" ", "")))
        at = end
    return out


def _of_the_metal(draft: Draft, h: Hit, found: list[Found]) -> bool:
    """Whether a bare figure behind 'mother' is of the metal ('my mother is 86')."""
    if not isinstance(h.row, Word) or h.row.value != "mother" or any(not f[2].isdigit() for f in found):
        return True
    a, b = draft.a.sentence(found[0][0])
    own = draft.a.of("possessive", h.i - 1, h.i)
    return not own and (bool(draft.a.within("part", a, b)) or len(found[0][2]) == 1)


def _sides(draft: Draft, h: Hit, found: list[Found]) -> list[Side | None]:
    """The side of each code: named before each of them, or behind each of them."""
    begin = draft.a.toks[h.j - 1][1]
    _, b = draft.a.sentence(begin)
    led = _named(draft, begin, found[0][0])
    out: list[Side | None] = []
    for n, (start, end, _) in enumerate(found):
        left = found[n - 1][1] if n else begin
        right = found[n + 1][0] if n + 1 < len(found) else min(b, end + 24)
        stop = _STOP.search(draft.a.folded, end, right)
        right = stop.start() if stop else right
        out.append(_named(draft, left, start) if led else _named(draft, end, right))
    return out


def _named(draft: Draft, start: int, end: int) -> Side | None:
    for s in draft.a.within("side", start, end):
        if isinstance(s.row, Word) and s.row.value in ("a", "b"):
            return s.row.value  # type: ignore[return-value]
    return None


_LISTED = re.compile(r"""\s*(?:[,;+/&]|and|then|plus)\s*"?([A-Z]{1,4}|\d{1,2})"?(?![\w"/&+%-]|[.,]\d)""")
_GOES_ON = ("upon", "sign_said", "sign_apart", "order")


def read_listed_signs(draft: Draft) -> None:
    """'Run-out reads LP-1023-A, G, 2, DQ': what stands by itself in a list that a number of the run-out opens."""
    for c in [c for c in draft.claims if c.feature == "deadwax.matrix" and c.value is not None]:
        a, b = draft.a.sentence(c.start)
        at = c.end if draft.parts(a, b, "deadwax") else b
        while m := _LISTED.match(draft.a.folded, at, b):
            at = m.end()
            start, end = m.span(1)
            i, j = draft.a.token(start), draft.a.token(end - 1) + 1
            if len(m.group(1)) != 1 or m.group(1) in "ABI" or not _ends_there(draft, i, j):
                continue
            near = draft.claims.touching(start, end)
            if any(not o.feature.startswith("condition.") for o in near):
                continue
            draft.drop([o for o in near if o.end - o.start == 1])
            said = replace(draft.a.assertion(start, end), certainty="hedged", status="possible")
            draft.add(_STAMPER, start, end, said, said.polarity, m.group(1), None, rule="listed sign")


def _ends_there(draft: Draft, i: int, j: int) -> bool:
    """Whether the sign is neither a side nor the beginning of something else ('2 small scratches')."""
    if any(o.i < j and i < o.j for kind in ("side", "clock") for o in draft.a.of(kind, i - 3, j)):
        return False
    follows = draft.a.words[j : j + 1]
    return not follows or not follows[0].isalpha() or any(draft.a.of(kind, j, j + 1) for kind in _GOES_ON)
