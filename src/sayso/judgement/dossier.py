"""What the judgement needs of a label's dossier, and the one place where it is taken from there.

The form is that of a dossier in the lexicon: `parts` (variants of label, plant, metal, jacket … with what each shows),
`pressings` (years, copies, in which shares they use the variants), `decides`, `counts_as_first`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError

ABSENT: frozenset[str] = frozenset({"none", "no", ""})
"""Values of a dossier that mean: nothing there."""


class JudgementError(ValueError):
    """The odds cannot be computed; the message says why, in one plain line."""


class _Form(BaseModel):
    model_config = ConfigDict(frozen=True, extra="ignore")


class Pressing(_Form):
    """One candidate. `uses` gives the shares of each part's variants; parts are independent given the pressing."""

    id: str
    name: str = ""
    years: tuple[int, ...] = ()
    copies: float = Field(default=1.0, ge=0)
    uses: dict[str, dict[str, float]] = Field(default_factory=dict)


class Decider(_Form):
    """The sign that settles it."""

    feature: str
    value: str
    pressing: str = ""


class Dossier(_Form):
    """One record's dossier, as far as the odds are concerned."""

    id: str = ""
    record: str = ""
    number: str = ""
    parts: dict[str, dict[str, dict[str, str]]] = Field(default_factory=dict)
    pressings: tuple[Pressing, ...] = ()
    decides: tuple[Decider, ...] = ()
    counts_as_first: tuple[str, ...] = ()
    assume: dict[str, float | tuple[float, float, float]] = Field(default_factory=dict)
    """Assumptions that differ for this record: the value, or value, low and high."""

    @property
    def first(self) -> tuple[str, ...]:
        return self.counts_as_first or tuple(p.id for p in self.pressings[:1])


def take(source: Any) -> Dossier:
    """The dossier from a row of the lexicon, a mapping, or a `Dossier`. Raises `JudgementError` if it is unusable."""
    if isinstance(source, Dossier):
        return source
    kept = _TAKEN.get(id(source))
    if kept is None or kept[0] is not source:
        if len(_TAKEN) > 64:
            _TAKEN.clear()
        kept = (source, _from(source.model_dump() if isinstance(source, BaseModel) else source))
        if isinstance(source, BaseModel):  # frozen, so it may be kept
            _TAKEN[id(source)] = kept
    return kept[1]


_TAKEN: dict[int, tuple[Any, Dossier]] = {}


def _from(data: Mapping[str, Any]) -> Dossier:
    raw = {k: v for k, v in data.items() if v is not None}
    raw = _loose(raw)
    try:
        dossier = Dossier.model_validate(raw)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(x) for x in first["loc"])
        raise JudgementError(f"the dossier is unusable at {where}: {first['msg']}") from error
    check(dossier)
    return dossier


def _loose(raw: dict[str, Any]) -> dict[str, Any]:
    """Features that pressings show, and no part carries, as parts of their own."""
    parts = dict(raw.get("parts") or {})
    carried = {f for variants in parts.values() for shows in variants.values() for f in shows}
    pressings = [dict(p) for p in raw.get("pressings") or ()]
    for p in pressings:
        p["uses"] = dict(p.get("uses") or {})
        for feature, shares in (p.get("shows") or {}).items():
            if feature not in carried:
                for value in shares:
                    parts.setdefault(feature, {})[str(value)] = {feature: str(value)}
                p["uses"][feature] = {str(v): s for v, s in shares.items()}
    return {**raw, "parts": parts, "pressings": pressings}


def check(dossier: Dossier) -> None:
    """Raises `JudgementError` for shares outside 0 to 1, parts or variants that do not exist, unknown pressings."""
    if not dossier.pressings:
        raise JudgementError("the dossier names no pressings")
    known = {p.id for p in dossier.pressings}
    if len(known) != len(dossier.pressings):
        raise JudgementError("the dossier names a pressing twice")
    if sum(p.copies for p in dossier.pressings) <= 0:
        raise JudgementError("the dossier gives no copies to any pressing")
    for p in dossier.pressings:
        for part, shares in p.uses.items():
            if part not in dossier.parts:
                raise JudgementError(f"pressing {p.id} uses the part {part!r}, which the dossier does not describe")
            for variant, share in shares.items():
                if variant not in dossier.parts[part]:
                    raise JudgementError(
                        f"pressing {p.id} uses {part} {variant!r}, which the dossier does not describe"
                    )
                if not 0 <= share <= 1:
                    raise JudgementError(f"pressing {p.id}, {part} {variant}: the share {share:g} is not within 0 to 1")
            total = sum(shares.values())
            if abs(total - 1) > 0.02:
                raise JudgementError(f"pressing {p.id}: the shares of {part} add up to {total:g}, not to 1")
    for name in dossier.first:
        if name not in known:
            raise JudgementError(f"counts_as_first names the pressing {name!r}, which the dossier does not have")
    for row in dossier.decides:
        if row.pressing and row.pressing not in known:
            raise JudgementError(f"decides names the pressing {row.pressing!r}, which the dossier does not have")
