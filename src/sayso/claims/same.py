"""What one side shows and the other shows too: 'Side two the same but for the B, and no anchor there'."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from sayso.claims.index import Hit
from sayso.lexicon.terms import Word
from sayso.model import Claim, Cue, Side

if TYPE_CHECKING:
    from sayso.claims.draft import Draft

_CARRIED = ("deadwax.", "label.deep", "label.register")
_MATRIX = "deadwax.matrix"
_BACK = 400
"""So many characters back the side that it is compared with may be described."""
_ENDING = re.compile(r"(?<![A-Za-z])A(?=-?\d{0,2}[A-Z]?$)")
_OTHER = re.compile(r"(?<![\w-])-?B(?![\w])")
_SIGNS = frozenset({":", "=", "-", "("})
"""Signs that may stand between a side and the words that say it is the same; words are the lexicon's."""


def read_likewise(draft: Draft) -> None:
    """'DQ on the first side only. Groove likewise.': a bare name takes over how it is with the thing before."""
    for h in draft.a.all_of("likewise"):
        start, end = draft.a.toks[h.i][0], draft.a.toks[h.j - 1][1]
        bare = [
            c
            for c in draft.claims.begun(max(start - _NAME, 0), start)
            if c.feature.startswith(_CARRIED) and c.end <= start and draft.a.token(c.end - 1) + 1 >= h.i - 1
        ]
        if not bare or (h.j < len(draft.a.words) and draft.a.words[h.j][:1].isalnum()):
            continue
        if any(c.side is not None or c.polarity == "absent" or c.certainty != "certain" for c in bare):
            continue
        begin, _ = draft.a.sentence(bare[0].start)
        if not draft.a.folded[begin : bare[0].start].strip() and begin:
            begin, _ = draft.a.sentence(begin - 1)
        told = [c for c in draft.claims.begun(begin, bare[0].start) if c.feature.startswith(_CARRIED)]
        # The last thing told of, with all that is told of it.
        told = [c for c in told if c.feature == told[-1].feature and c.feature != _MATRIX]
        if not told or all(c.side is None for c in told):
            continue
        draft.drop(bare)
        own = Cue(kind="same", rule="side.likewise", start=start, end=end, quote=draft.a.text[start:end])
        for c in bare:
            for t in told:
                like = {"side": t.side, "polarity": t.polarity, "certainty": t.certainty, "attribution": t.attribution}
                text = draft.a.text[c.start : end]
                draft.claims.add(c.model_copy(update={**like, "end": end, "quote": text, "cues": (*c.cues, own)}))


_NAME = 40
"""So many characters before 'likewise' the thing may begin of which it is said."""


def read_behind_numbers(draft: Draft) -> None:
    """'LP 140 A with anchor, LP 140 B without': a sign that is there and is not is told of the side of its number.

    Only where one of the two has no side of its own and the numbers before them are of different sides.
    """
    numbers = [c for c in draft.claims if c.feature == _MATRIX and c.side in ("a", "b") and c.value is not None]
    if len(numbers) < 2:
        return
    signs = [c for c in draft.claims if c.feature in _AT_THE_NUMBER and c.value is not None]
    there = [c for c in signs if c.polarity == "present"]
    for gone in [c for c in signs if c.polarity == "absent" and c.side is None]:
        for c in there:
            if c.feature != gone.feature or c.value != gone.value or c.item != gone.item:
                continue
            one, other = _number_before(numbers, c.start), _number_before(numbers, gone.start)
            if one is None or other is None or one.side == other.side or c.side not in (None, one.side):
                continue
            draft.claims.amend(gone, side=other.side)
            if c.side is None:
                draft.claims.amend(c, side=one.side)
            break


_AT_THE_NUMBER = ("deadwax.plant_mark", "deadwax.mastering_mark", "deadwax.stamper_code", "deadwax.lettering")
_BESIDE_IT = 70
"""So many characters behind a number what is told with it may begin."""


def _number_before(numbers: list[Claim], at: int) -> Claim | None:
    """The number right before a place; null where none stands near."""
    near = [c for c in numbers if 0 <= at - c.end <= _BESIDE_IT]
    return max(near, key=lambda c: c.end, default=None)


def read_same_side(draft: Draft) -> None:
    """Each claim of the one side, for the other side too, but for what the words behind take out."""
    if not draft.a.all_of("side_same"):
        return
    for h in draft.a.all_of("side_same"):
        side = _side_told(draft, h)
        start = draft.a.toks[h.i][0]
        if side is None or not draft.claiming(start):
            continue
        _carry(draft, h, side)


def _side_told(draft: Draft, h: Hit) -> Side | None:
    """The side that the words say to be like the other one; null where they compare something else."""
    if h.j < len(draft.a.words) and draft.a.words[h.j].isalpha():
        follows = any(draft.a.of(kind, h.j, h.j + 1) for kind in ("side_tie", "side_after", "side_but"))
        if not follows:
            return None  # 'the same label'
    a, b = draft.a.sentence(draft.a.toks[h.i][0])
    behind = [s for s in draft.a.within("side", draft.a.toks[h.j - 1][1], b) if _tied(draft, h.j, s.i)]
    before = [s for s in draft.a.within("side", a, draft.a.toks[h.i][0]) if s.j <= h.i and _tied(draft, s.j, h.i)]
    for s in [*behind[:1], *before[-1:]]:
        if isinstance(s.row, Word):
            return s.row.value if s.row.value in ("a", "b") else None  # type: ignore[return-value]
    return None


def _tied(draft: Draft, i: int, j: int) -> bool:
    """Whether nothing but small words stands between the tokens."""
    return all(draft.a.words[n] in _SIGNS or draft.a.of("side_tie", n, n + 1) for n in range(i, j))


def _carry(draft: Draft, h: Hit, side: Side) -> None:
    other: Side = "a" if side == "b" else "b"
    start, end = draft.a.toks[h.i][0], draft.a.toks[h.j - 1][1]
    a, b = draft.a.sentence(start)
    told = [
        c
        for c in draft.claims.begun(max(start - _BACK, 0), start)
        if c.side == other and c.feature.startswith(_CARRIED)
    ]
    named = [s for s in draft.a.within("side", max(a, start - 30), min(b, end + 24)) if isinstance(s.row, Word)]
    spots = [draft.a.toks[s.i][0] for s in named if isinstance(s.row, Word) and s.row.value == side]
    at, to = (
        min([start, *spots[:1]]),
        max([end, *(draft.a.toks[s.j - 1][1] for s in named if draft.a.toks[s.i][0] in spots[:1])]),
    )
    anew = {c.feature for c in draft.claims.begun(at, b + 1) if c.side in (side, None)}
    own = Cue(kind="same", rule="side.same", start=start, end=end, quote=draft.a.text[start:end])
    for c in told:
        if c.feature in anew or (c.feature == _MATRIX and not _numbered(c.value, draft.a.folded[end:b])):
            continue
        value = _ENDING.sub("B", str(c.value)) if c.feature == _MATRIX and c.value is not None else c.value
        twin = c.model_copy(
            update={
                "side": side,
                "value": value,
                "start": at,
                "end": to,
                "quote": draft.a.text[at:to],
                "cues": (*c.cues, own),
            }
        )
        if not any(o.feature == c.feature and o.side == side and o.value == value for o in draft.claims):
            draft.claims.add(twin)


def _numbered(value: object, behind: str) -> bool:
    """Whether the number of the other side follows: the seller says what letter stands there instead."""
    return isinstance(value, str) and _ENDING.search(value) is not None and _OTHER.search(behind) is not None
