"""Writes the parts of a run-out out again as its maker would: the inverse of reading, for tests and examples."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.lexicon.systems import System

FIELD = re.compile(r"\{(\w+)\}")


def format_side(system: System, parts: Mapping[str, Any], lexicon: Lexicon) -> str:
    """One side as its maker would letter it.

    `parts` are the fields of a side. Parts of the template in brackets are dropped where a field in them is missing.
    Raises `KeyError` where a field that the number cannot do without is missing.
    """
    have = {k: v for k, v in parts.items() if v not in (None, "")}
    have |= _implied(parts, lexicon)

    def optional(m: re.Match[str]) -> str:
        return m[1] if all(f in have for f in FIELD.findall(m[1])) else ""

    template = re.sub(r"\[([^\[\]]*)\]", optional, system.write)
    return FIELD.sub(lambda m: str(have[m[1]] if m[1] != "cut_suffix" else have.get(m[1], "")), template).strip()


def _implied(parts: Mapping[str, Any], lexicon: Lexicon) -> dict[str, Any]:
    """Parts that are written otherwise than they are told: the side as a figure or letter, two figures of the year."""
    out: dict[str, Any] = {}
    side = parts.get("side")
    codes = lexicon.tables["runout_side_code"].entries
    for key, value in codes.items():
        if value == side and len(key) == 1:
            name = "side_letter" if key.isalpha() else "side_code"
            out[name] = key
    if "side_code" in out:
        out["side_figure"] = out["side_code"]
    if isinstance(parts.get("year"), int):
        out["yy"] = f"{parts['year'] % 100:02d}"
    for name, field, table in (
        ("plant_code", "plant", "atlantic_plant"),
        ("country_code", "cut_country", "philips_country"),
    ):
        if parts.get(field):
            found = [k for k, v in lexicon.tables[table].entries.items() if v == parts[field]]
            out |= {name: found[0]} if found else {}
    return out
