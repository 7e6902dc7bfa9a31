"""Every part in every way in which its places may have been looked at, in arrays of one size.

Parts that share a place hang together on whether it was looked at; parts that share none are independent, given the
pressing and the seller. So the sum over all that may have been looked at is taken group by group, and what is said of a
part is worked out once for each way of looking at that part, however many ways there are of looking at its group.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from sayso.judgement.network import Part

Array = NDArray[np.float64]
Rows = slice | NDArray[np.intp]


@dataclass(frozen=True)
class Looks:
    """`part × way of looking at it` is one row, a *look*; what fills up to the most variants is never used.

    The first `live` rows are those in which something was looked at. In the others nothing of the part is heard.
    A *view* is one way of looking at all places of a group.
    """

    live: int
    width: int
    """The most variants of any part."""
    cells: NDArray[np.intp]
    """Feature of the part × look × variant: index of the value shown in a place looked at, else one past the last."""
    whole: NDArray[np.intp]
    """The same as if every place had been looked at."""
    uses: Array
    """Look × pressing × variant."""
    pool: Array
    """Look × variant: the shares over all copies."""
    movable: Array
    """Look: 1 for jackets and inner sleeves."""
    filled: Array | None
    """Look × variant: 0, or a log-weight of never for what only fills up; null where nothing does."""
    groups: tuple[tuple[tuple[int, ...], slice], ...]
    """The places of each group, and its views."""
    views: tuple[Rows, ...]
    """The looks of each view."""
    live_views: tuple[Rows | None, ...]
    """Those of them in which something was looked at; null where there are none."""
    made_of: Array
    """View × look: 1 where the view has the look."""
    unseen: Array
    """View × feature: in how many parts it stands in a place that was not looked at."""
    shows: Array
    """(Look, variant) × feature-value: its share of the value, among all parts that carry the feature."""


def looks(parts: Sequence[Part], features: Sequence[str], values: int, copies: Array, carriers: Array) -> Looks:
    """The arrays of a dossier. Pure. `carriers`: for each value, how many parts carry its feature."""
    grouped = _groups(parts)
    rows = [
        (m, seen)
        for some in (True, False)
        for members, _ in grouped
        for m in members
        for seen in _ways(sorted(set(parts[m].zones)))
        if bool(seen) is some
    ]
    at = {row: i for i, row in enumerate(rows)}
    live = sum(bool(seen) for _, seen in rows)
    wide = max((len(p.variants) for p in parts), default=1)
    deep = max((len(p.features) for p in parts), default=0)
    cells, whole = np.full((2, deep, len(rows), wide), values, dtype=np.intp)
    shows = np.zeros((len(rows), wide, values))
    uses, pool = np.zeros((len(rows), len(copies), wide)), np.zeros((len(rows), wide))
    filled = np.full((len(rows), wide), -1e9)
    for i, (m, seen) in enumerate(rows):
        part = parts[m]
        for v, j in np.ndindex(*part.cells.shape):
            c = int(part.cells[v, j])
            if c >= 0:
                shows[i, v, c] += 1 / carriers[c]
                whole[j, i, v] = c
                if part.zones[j] in seen:
                    cells[j, i, v] = c
        n = len(part.variants)
        uses[i, :, :n] = part.uses
        pool[i, :n] = copies @ part.uses
        filled[i, :n] = 0.0
    groups: list[tuple[tuple[int, ...], slice]] = []
    views: list[list[int]] = []
    unseen: list[Array] = []
    for members, places in grouped:
        groups.append((places, slice(len(views), len(views) + 2 ** len(places))))
        for way in _ways(places):
            views.append([at[m, way & frozenset(parts[m].zones)] for m in members])
            missed = np.zeros(len(features))
            for m in members:
                for f, z in zip(parts[m].features, parts[m].zones, strict=True):
                    missed[features.index(f)] += z not in way
            unseen.append(missed)
    made_of = np.zeros((len(views), len(rows)))
    for view, mine in enumerate(views):
        made_of[view, mine] = 1
    return Looks(
        live=live,
        width=wide,
        cells=cells,
        whole=whole,
        uses=uses,
        pool=pool,
        movable=np.array([float(parts[m].movable) for m, _ in rows]),
        filled=filled if filled.any() else None,
        groups=tuple(groups),
        views=tuple(_rows(mine) for mine in views),
        live_views=tuple(_rows(some) if (some := [i for i in mine if i < live]) else None for mine in views),
        made_of=made_of,
        unseen=np.array(unseen).reshape(len(views), len(features)),
        shows=shows.reshape(len(rows) * wide, values),
    )


def _ways(places: Sequence[int]) -> list[frozenset[int]]:
    """All sets of the places, none of them first, in the order of `network.looked`."""
    return [frozenset(z for i, z in enumerate(places) if c >> i & 1) for c in range(2 ** len(places))]


def _rows(indices: Sequence[int]) -> Rows:
    """As a slice where they follow one another: it needs no copy."""
    first = indices[0]
    if list(indices) == list(range(first, first + len(indices))):
        return slice(first, first + len(indices))
    return np.array(indices, dtype=np.intp)


def _groups(parts: Sequence[Part]) -> list[tuple[tuple[int, ...], tuple[int, ...]]]:
    """Parts joined by the places they share: (members, places)."""
    left = {i: set(p.zones) for i, p in enumerate(parts)}
    out: list[tuple[tuple[int, ...], tuple[int, ...]]] = []
    while left:
        start, places = next(iter(left.items()))
        mine = {start}
        grown = True
        while grown:
            more = {i for i, z in left.items() if i not in mine and z & places}
            grown = bool(more)
            mine |= more
            places = places.union(*(left[i] for i in more)) if more else places
        out.append((tuple(sorted(mine)), tuple(sorted(places))))
        for i in mine:
            del left[i]
    return out
