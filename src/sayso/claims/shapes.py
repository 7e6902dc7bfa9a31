"""Words of several classes near each other that speak of a feature as a term would ('a ridge in the paper')."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

from sayso.claims.index import CLASS, Hit
from sayso.lexicon.made import of_lexicon
from sayso.lexicon.terms import Shape, Term, Word, WordClass

if TYPE_CHECKING:
    from sayso.claims.analysis import Analysis
    from sayso.lexicon import Lexicon

_COMMA = frozenset(",;:()、")
_STRONG = frozenset(";()")
_STOPS = frozenset(",;:().!?|")
BESIDE = 3
"""So near a word that forbids a shape may stand, outside its words."""


class Span(Protocol):
    """What `parts_near` needs to know of a shape, or of what is put together like one."""

    @property
    def within(self) -> int: ...
    @property
    def ordered(self) -> bool: ...


class Ready(Protocol):
    """A shape made ready, or what is put together like one."""

    @property
    def shape(self) -> Span: ...
    @property
    def parts(self) -> tuple[tuple[tuple[str, str | None], ...], ...]: ...


@dataclass(frozen=True)
class _Made:
    """A shape made ready: the kinds of hits of each part (with the value, where one is asked for), and its term."""

    shape: Shape
    parts: tuple[tuple[tuple[str, str | None], ...], ...]
    unless: tuple[str, ...]
    term: Term
    needs: tuple[int, ...] = ()
    """For each part, the kinds of which the text must hold one, as bits."""
    valued: dict[str, Term] = field(default_factory=dict)
    """The same term with each value that its words can say."""

    def of(self, found: list[Hit]) -> Term:
        """The term as these words mean it."""
        wanted = self.shape.value_of
        value = next(
            (h.row.value for h in found if isinstance(h.row, WordClass) and h.row.name == wanted and h.row.value), None
        )
        if not wanted or value is None:
            return self.term
        if value not in self.valued:
            self.valued[value] = self.term.model_copy(update={"value": value})
        return self.valued[value]


@of_lexicon
def _made(lexicon: Lexicon) -> tuple[_Made, ...]:
    bits = _bits(lexicon)
    parts = [tuple(map(part_kinds, shape.parts)) for shape in lexicon.shapes]
    return tuple(
        _Made(
            shape,
            kinds,
            tuple(CLASS + name for name in shape.unless),
            needs=tuple(_any_of(bits, {kind for kind, _ in part}) for part in kinds),
            term=Term(
                feature=shape.feature,
                forms=(),
                value=shape.value,
                polarity=shape.polarity,
                said=shape.said,
                needs=shape.needs,
                apart_from=shape.apart_from,
                also=shape.also,
                kind=shape.kind,
                note=shape.id,
            ),
        )
        for shape, kinds in zip(lexicon.shapes, parts, strict=True)
    )


@of_lexicon
def _bits(lexicon: Lexicon) -> dict[str, int]:
    """A bit for each kind of hits that shapes are made of."""
    kinds = dict.fromkeys(kind for shape in lexicon.shapes for part in shape.parts for kind, _ in part_kinds(part))
    return {kind: 1 << n for n, kind in enumerate(kinds)}


def _any_of(bits: dict[str, int], kinds: Iterable[str]) -> int:
    """The bits of these kinds; of others there are none."""
    return sum(bits.get(kind, 0) for kind in kinds)


@of_lexicon
def _by_id(lexicon: Lexicon) -> dict[str, _Made]:
    return {made.shape.id: made for made in _made(lexicon)}


def parts_of(analysis: Analysis, hit: Hit) -> list[Hit]:
    """The words of a shape's own classes inside what it found."""
    made = _by_id(analysis.index.lexicon).get(shape_of(hit) or "")
    return [h for part in made.parts for h in hits_of(analysis, part, hit.i, hit.j)] if made else []


def part_kinds(part: str) -> tuple[tuple[str, str | None], ...]:
    """The kinds of hits that a part allows, each with its value where one is asked for."""
    return tuple(map(_kind, part.split("|")))


def _kind(part: str) -> tuple[str, str | None]:
    kind, _, value = part.partition("=")
    return (kind, value) if value else (CLASS + part, None)


def add_shapes(analysis: Analysis) -> None:
    """Adds what shapes find to the terms of the listing."""
    # Most texts have words of some classes alone, which rules out most shapes at a glance.
    held = _any_of(_bits(analysis.index.lexicon), analysis.found.kinds())
    likely = [made for made in _made(analysis.index.lexicon) if all(held & need for need in made.needs)]
    found = [hit for made in likely for hit in _found(analysis, made)]
    if found:
        analysis.found.add("term", _best(found))


def _best(found: list[Hit]) -> list[Hit]:
    """Of hits of one feature and value that share words, the shortest."""
    kept: list[Hit] = []
    taken: set[tuple[str, int]] = set()
    """Features and the tokens that tell of them already."""
    for hit in sorted(found, key=lambda h: (h.j - h.i, h.i)):
        own = {(hit.row.feature, n) for n in range(hit.i, hit.j)} if isinstance(hit.row, Term) else set()
        if taken.isdisjoint(own):
            kept.append(hit)
            taken |= own
    return kept


def _found(analysis: Analysis, made: _Made) -> list[Hit]:
    out = []
    for anchor in hits_of(analysis, made.parts[0]):
        found = parts_near(analysis, made, anchor)
        if not found:
            continue
        i, j = min(h.i for h in found), max(h.j for h in found)
        if j - i <= made.shape.within and _counts(analysis, made, found, i, j):
            first = min((h.i for h in _named(analysis, made.shape.feature, i, j)), default=i)
            out.append(Hit(min(i, first), j, made.of(found)))
    return out


def hits_of(
    analysis: Analysis, part: tuple[tuple[str, str | None], ...], i: int = 0, j: int | None = None
) -> list[Hit]:
    last = len(analysis.toks) if j is None else j
    return [
        h
        for kind, value in part
        for h in (analysis.all_of(kind) if j is None else analysis.of(kind, i, last))
        if value is None or (isinstance(h.row, Word) and h.row.value == value)
    ]


def parts_near(analysis: Analysis, made: Ready, anchor: Hit) -> list[Hit]:
    """The words of every part, each as near to those before it in the list as can be; empty where one is missing."""
    i, j, within, found = anchor.i, anchor.j, made.shape.within, [anchor]
    toks, begin, end = analysis.toks, -1, -1
    for part in made.parts[1:]:
        free = [
            h
            for h in hits_of(analysis, part, max(0, j - within), i + within)
            if (h.j <= i or h.i >= j) and (not made.shape.ordered or h.i >= found[-1].j)
        ]
        if free and begin < 0:
            begin, end = analysis.sentence(toks[anchor.i][0])
        # A nearer word of the sentence before would hide the one that belongs here.
        free = [h for h in free if begin <= toks[h.i][0] < end]
        if not free:
            return []
        found.append(min(free, key=lambda h: (max(h.j, j) - min(h.i, i), h.i)))
        i, j = min(i, found[-1].i), max(j, found[-1].j)
    return found


def _counts(analysis: Analysis, made: _Made, found: list[Hit], i: int, j: int) -> bool:
    """Whether the words stand in one sentence, without what forbids the shape or a term that says the same."""
    shape = made.shape
    start, end = analysis.toks[i][0], analysis.toks[j - 1][1]
    if analysis.sentence(start) != analysis.sentence(end - 1):
        return False
    stops = _STRONG if shape.commas else _COMMA
    if any(analysis.within(CLASS + name, *analysis.sentence(start)) for name in shape.apart_from):
        return False
    signs = [n for n in range(i, j) if analysis.words[n] in stops]
    if any(not any(h.i <= n < h.j for h in found) for n in signs):  # a sign may belong to a part ('country:')
        return False
    if any(beside(analysis, h, i, j) for kind in made.unless for h in analysis.of(kind, i - BESIDE - 4, j + BESIDE)):
        return False
    return not any(
        h.j > i
        and isinstance(h.row, Term)
        and h.row.feature == shape.feature
        and not _bare(h.row)
        and not (shape.prevails and i <= h.i and h.j <= j)
        for h in analysis.of("term", i - 8, j)
    )


def _named(analysis: Analysis, feature: str, i: int, j: int) -> list[Hit]:
    """Bare names of the feature that run into the words from before them ('original inner' in 'inner … missing')."""
    return [
        h
        for h in analysis.of("term", i - 8, i)
        if h.j > i and isinstance(h.row, Term) and h.row.feature == feature and h.row.kind not in _NAMING
    ]


def beside(analysis: Analysis, h: Hit, i: int, j: int) -> bool:
    """Whether a word stands between the parts, or a few words off without a sign between."""
    if analysis.sentence(analysis.toks[h.i][0]) != analysis.sentence(analysis.toks[i][0]):
        return False
    if h.j <= i:
        return i - h.j <= BESIDE and not any(w in _STOPS for w in analysis.words[h.j : i])
    return h.i < j or (h.i - j <= BESIDE and not any(w in _STOPS for w in analysis.words[j : h.i]))


def _bare(row: Term) -> bool:
    """Whether a term only names the thing, so that a shape which says more prevails ('a new anti-static inner')."""
    return row.kind in _NAMING or (row.value is None and row.polarity == "present")


_NAMING = frozenset({"topic", "mention", "under"})
"""Terms of these kinds claim nothing by themselves."""


def shape_of(hit: Hit) -> str | None:
    """The id of the shape that found it; null for what a term of the lexicon found."""
    return hit.row.note if isinstance(hit.row, Term) and not hit.row.forms else None
