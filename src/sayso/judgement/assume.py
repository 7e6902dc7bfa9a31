"""The assumptions as numbers: the values themselves, and draws over their ranges.

The draws are a Latin hypercube with a fixed seed: every assumption takes each stratum of its range once, all of them
move at the same time, and the same data give the same answer (McKay, Beckman & Conover, Technometrics 21, 1979).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sayso.judgement.dossier import JudgementError

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.lexicon.assumptions import Assumption

Array = NDArray[np.float64]
DRAWS = 47
SEED = 1985


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

    @cached_property
    def _index(self) -> dict[str, int]:
        return _positions(self.names)


@lru_cache(maxsize=32)
def _positions(names: tuple[str, ...]) -> dict[str, int]:
    return {n: i for i, n in enumerate(names)}


@lru_cache(maxsize=8)
def _cube(draws: int, columns: int) -> Array:
    """A Latin hypercube in (0, 1): one point in each of `draws` strata of every column."""
    rng = np.random.default_rng(SEED)
    strata = rng.permuted(np.tile(np.arange(draws), (columns, 1)), axis=1).T
    return (strata + rng.random((draws, columns))) / draws


def draw(
    known: Mapping[str, Assumption],
    overrides: Mapping[str, float | tuple[float, float, float]] | None = None,
    draws: int = DRAWS,
) -> Assumptions:
    """The values, then `draws` sets over the ranges. `overrides` come from a dossier. Raises `JudgementError`."""
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
    rows = np.concatenate([value[None, :], low + _cube(draws, len(names)) * (high - low)]) if draws else value[None, :]
    return Assumptions(names, rows, {n: known[n].what for n in names})


_DRAWN: dict[tuple[int, int], tuple[Lexicon, Assumptions]] = {}


def of(lexicon: Lexicon, overrides: Mapping[str, float | tuple[float, float, float]] | None = None) -> Assumptions:
    """The assumptions of a lexicon; drawn once for each."""
    if overrides:
        return draw(lexicon.assumptions, overrides)
    key = (id(lexicon), DRAWS)
    kept = _DRAWN.get(key)
    if kept is None or kept[0] is not lexicon:
        kept = (lexicon, draw(lexicon.assumptions))
        _DRAWN[key] = kept
    return kept[1]
