"""The assumptions as numbers: the values themselves, and sets of them spread over their ranges.

The sets are a two-level design in which all assumptions move at once and every one is balanced against every other
(orthogonal main effects: Plackett & Burman, Biometrika 33, 1946, here from Sylvester's Hadamard matrices), so that the
assumption that moves the answer most is told apart from its neighbours. The two levels have the mean and the spread of
a number that may lie anywhere in the range. Nothing is random: the same data give the same answer.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from sayso.judgement.dossier import JudgementError

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.lexicon.assumptions import Assumption

Array = NDArray[np.float64]
KEPT = 256
"""So many results that follow from a set of assumptions are kept."""
LEVEL = 3**-0.5
"""Half the distance of the levels, in half ranges: the standard deviation of a uniform number."""


@dataclass(frozen=True)
class Assumptions:
    """`rows[i]` is one set of assumptions, in the order of `names`; row 0 holds the values themselves."""

    names: tuple[str, ...]
    rows: Array
    what: Mapping[str, str]

    def __getitem__(self, name: str) -> Array:
        """The column of one assumption, a number for each set."""
        return self.rows[:, self._index[name]]

    def at(self, name: str) -> float:
        """The value itself."""
        return float(self.rows[0, self._index[name]])

    def repeat(self, times: int) -> Assumptions:
        """`times` copies of the values themselves."""
        return Assumptions(self.names, np.repeat(self.rows[:1], times, axis=0), self.what)

    def only(self, rows: Array) -> Assumptions:
        """The same names with other rows."""
        return Assumptions(self.names, rows, self.what)

    def pair(self, knows: str, layman: str) -> Array:
        """Two assumptions side by side: set × seller. Not to be written to."""
        out: Array = self.kept(("pair", knows, layman), None, lambda: np.stack([self[knows], self[layman]], axis=1))
        return out

    def more(self, times: int) -> Assumptions:
        """These sets, and `times` copies of the values themselves behind them."""
        out: Assumptions = self.kept(
            ("more", times),
            None,
            lambda: self.only(np.concatenate([self.rows, np.repeat(self.rows[:1], times, axis=0)])),
        )
        return out

    def kept(self, name: tuple[object, ...], of: object, make: Callable[[], Any]) -> Any:
        """What follows from these sets (and from `of`) alone, worked out once for all listings."""
        key = (name, id(of))
        found = self._kept.get(key)
        if found is None or found[0] is not of:
            if len(self._kept) >= KEPT:
                self._kept.clear()
            found = self._kept[key] = (of, make())
        return found[1]

    @cached_property
    def _kept(self) -> dict[tuple[object, int], tuple[object, Any]]:
        return {}

    @cached_property
    def _index(self) -> dict[str, int]:
        return _positions(self.names)


@lru_cache(maxsize=32)
def _positions(names: tuple[str, ...]) -> dict[str, int]:
    return {n: i for i, n in enumerate(names)}


@lru_cache(maxsize=8)
def _signs(columns: int) -> Array:
    """Orthogonal columns of ±1, in the least power of two of rows that holds them."""
    size = 2
    while size - 1 < columns:
        size *= 2
    i = np.arange(size)
    parity = np.array([[bin(x & y).count("1") & 1 for y in range(1, columns + 1)] for x in i.tolist()])
    return 1.0 - 2.0 * parity


def draw(
    known: Mapping[str, Assumption],
    overrides: Mapping[str, float | tuple[float, float, float]] | None = None,
    *,
    spread: bool = True,
    general: bool = False,
) -> Assumptions:
    """The values, then (where `spread`) the sets over the ranges of those that bear on the odds.

    `general`: for a record without a dossier, where the general assumptions bear on them too.
    `overrides` come from a dossier. Raises `JudgementError`.
    """
    over = dict(overrides or {})
    unknown = [n for n in over if n not in known]
    if unknown:
        raise JudgementError(f"there is no assumption {unknown[0]!r}; see lexicon/assumptions.toml for the names")
    names = tuple(known)
    value, low, high = (np.array([getattr(known[n], k) for n in names]) for k in ("value", "low", "high"))
    for name, given in over.items():
        i = names.index(name)
        v, a, b = given if isinstance(given, tuple) else (given, min(low[i], given), max(high[i], given))
        if not 0 <= a <= v <= b or b > known[name].most:
            raise JudgementError(f"assumption {name}: {v:g} ({a:g} to {b:g}) is not within 0 to {known[name].most:g}")
        value[i], low[i], high[i] = v, a, b
    rows = value[None, :]
    moved = [i for i, n in enumerate(names) if known[n].of == "odds" or (general and known[n].of == "general")]
    if spread and moved:
        signs = _signs(len(moved))
        sets = np.repeat(rows, len(signs), axis=0)
        sets[:, moved] = (low + high)[moved] / 2 + LEVEL * signs * (high - low)[moved] / 2
        rows = np.concatenate([rows, sets])
    return Assumptions(names, rows, {n: known[n].what for n in names})


def sample(known: Mapping[str, Assumption], n: int, rng: np.random.Generator) -> Assumptions:
    """`n` sets drawn evenly over all ranges, for simulations. Same generator, same sets."""
    names = tuple(known)
    low, high = (np.array([getattr(known[x], k) for x in names]) for k in ("low", "high"))
    return Assumptions(names, low + rng.random((n, len(names))) * (high - low), {x: known[x].what for x in names})


_DRAWN: dict[tuple[int, bool], tuple[Lexicon, Assumptions]] = {}


def of(
    lexicon: Lexicon,
    overrides: Mapping[str, float | tuple[float, float, float]] | None = None,
    *,
    general: bool = False,
) -> Assumptions:
    """The assumptions of a lexicon; drawn once for each."""
    if overrides:
        return draw(lexicon.assumptions, overrides, general=general)
    key = (id(lexicon), general)
    kept = _DRAWN.get(key)
    if kept is None or kept[0] is not lexicon:
        if len(_DRAWN) >= 16:
            _DRAWN.clear()
        kept = (lexicon, draw(lexicon.assumptions, general=general))
        _DRAWN[key] = kept
    return kept[1]
