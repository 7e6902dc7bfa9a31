"""Cues and stand-ins put together from several words: 'I could not honestly tell you', 'copies pressed in …'."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sayso.claims.index import CLASS, Hit
from sayso.claims.shapes import beside, hits_of, part_kinds, parts_near
from sayso.lexicon.made import of_lexicon
from sayso.lexicon.terms import Cue, Manner, Word

if TYPE_CHECKING:
    from sayso.claims.analysis import Analysis
    from sayso.lexicon import Lexicon

_STOPS = frozenset(",;:().!?|\u2022")


_TIES = frozenset("-/\u2013")
STAND_IN = "proform"
"""What is put together so says how it is with a thing named before ('the second side has nothing of the kind')."""


@dataclass(frozen=True)
class _Made:
    """A manner made ready: the kinds of hits of each part, and the cue that they make."""

    shape: Manner
    parts: tuple[tuple[tuple[str, str | None], ...], ...]
    unless: tuple[str, ...]
    row: Cue | Word


@of_lexicon
def _made(lexicon: Lexicon) -> tuple[_Made, ...]:
    return tuple(
        _Made(
            m,
            tuple(part_kinds(part) for part in m.parts),
            tuple(CLASS + name for name in m.unless),
            _row(m),
        )
        for m in lexicon.manners
    )


def _row(m: Manner) -> Cue | Word:
    if m.kind == STAND_IN:
        return Word(id=m.id, kind=m.kind, forms=(), value=m.value)
    return Cue(id=m.id, kind=m.kind, forms=(), direction=m.direction, certainty=m.certainty, reach=m.reach)


def manners(analysis: Analysis) -> list[Hit]:
    """All such cues of the listing, as hits."""
    out = []
    for made in _made(analysis.index.lexicon):
        anchors = hits_of(analysis, made.parts[0])
        if not anchors or not all(any(analysis.all_of(kind) for kind, _ in part) for part in made.parts[1:]):
            continue
        for anchor in anchors:
            found = parts_near(analysis, made, anchor)
            if not found:
                continue
            i, last = min(h.i for h in found), max(found, key=lambda h: h.j)
            # Of words that begin together the most are meant ('has nothing of the kind').
            more = hits_of(analysis, made.parts[found.index(last)], last.i, last.i + 1)
            j = max(h.j for h in (last, *more))
            if (
                j - i <= made.shape.within
                and _in_one_breath(analysis, i, j)
                and not _forbidden(analysis, made, i, j)
                and not (made.shape.kind == "other_copy" and analysis.of("this_copy", i + 1, j))
                and (not made.shape.alone or _ends(analysis, j))
            ):
                out.append(Hit(i, j, made.row))
    return out


def _ends(analysis: Analysis, n: int) -> bool:
    """Whether the clause ends before token n."""
    if n >= len(analysis.words) or analysis.words[n] in _STOPS or analysis.words[n] in _TIES:
        return True
    return "\n" in analysis.folded[analysis.toks[n - 1][1] : analysis.toks[n][0]]


def _in_one_breath(analysis: Analysis, i: int, j: int) -> bool:
    start, end = analysis.toks[i][0], analysis.toks[j - 1][1]
    return _STOPS.isdisjoint(analysis.words[i:j]) and "\n" not in analysis.folded[start:end]


def _forbidden(analysis: Analysis, made: _Made, i: int, j: int) -> bool:
    return any(beside(analysis, h, i, j) for kind in made.unless for h in analysis.of(kind, i - 7, j + 3))
