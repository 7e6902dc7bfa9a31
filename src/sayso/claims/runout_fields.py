"""From the groups of a matched number to fields: cleaned, and read through the tables of the maker."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from sayso.claims.runout_codes import decode
from sayso.claims.runout_grammar import Match
from sayso.claims.runout_state import Reader, Side
from sayso.claims.runout_text import figures, tidy

if TYPE_CHECKING:
    from sayso.lexicon.systems import Pattern, Reading, System, Table


def fields_of(reader: Reader, match: Match, system: System) -> dict[str, Any]:
    """The groups of the match that are fields, cleaned."""
    out: dict[str, Any] = {"side": None, "number": None, "number_kind": None}
    pattern = match.pattern
    for name, part in match.groups.items():
        if part is None or part == "" or name.startswith("x_"):
            continue
        out[name] = _clean(name, part, pattern)
    start = match.start + _talk_before(reader.given[match.start : match.end])
    if start > match.start and out["number"]:
        out["number"] = " ".join(str(out["number"]).split()[1:])
    out.update(pattern.fixed)
    if out["number_kind"] is None and out["number"] is not None:
        out["number_kind"] = system.number_kind or None
    out["as_written"] = reader.given[start : match.end]
    out["start"], out["end"] = start, match.end
    return out


def _talk_before(written: str) -> int:
    """How much of a number in capitals is the seller's word before it: the 'out' of 'run-out 6303 044 1F'."""
    m = re.match(r"[a-z]{1,3} +(?=\d)", written)
    return m.end() if m and any(c.isupper() for c in written) else 0


WHOLE = frozenset({"cut", "version", "mother", "take", "group_number"})
"""Fields that are whole numbers; catalogue and project numbers stay text, for their noughts."""


def _clean(name: str, part: str, pattern: Pattern) -> str | int | None:
    if name in pattern.squeeze:
        part = re.sub(r"[-\s._]", "", part)
    if name in pattern.digits:
        part = figures(part)
        if name in WHOLE:
            return int(part) if part.isdecimal() else None
        return part
    return tidy(part)


def derive(reader: Reader, match: Match, system: System, side: Side) -> None:
    """Apply the readings of pattern and system."""
    if match.pattern.remark:
        reader.remark(match.pattern.remark)
    for reading in (*match.pattern.readings, *system.readings):
        part = match.groups.get(reading.group) if reading.group else ""
        if part is None or (reading.group and part == ""):
            continue
        if reading.group in match.pattern.digits:
            part = figures(part)
        value, soft = _read(reader, reading, part, match, side)
        if reading.floor and isinstance(value, int):
            table = reader.lexicon.tables.get(reading.table)
            hard = not soft and system.basis == "published"
            reader.bound(str(value), f"{system.name}: {part}", hard, table.source if table else system.source)
        if reading.field != "floor_year":
            side.put(reading.field, value, soft)


def _read(reader: Reader, reading: Reading, part: str, match: Match, side: Side) -> tuple[Any, bool]:
    """The value of one reading and whether it rests on memory."""
    if reading.value is not None:
        return reading.value, reading.soft
    if reading.only_in:
        known = reader.lexicon.tables.get(reading.only_in)
        return (part if known and _knows(known, part) else None), reading.soft
    value: Any = part
    soft = reading.soft
    if reading.table:
        table = reader.lexicon.tables.get(reading.table)
        key = re.sub(r"[-\s._]", "", part)
        value, key = _look_up(table, key) if table else (None, key)
        if value is None:
            if reading.remark:
                reader.remark(reading.remark)
            return None, soft
        soft = soft or key in table.memory_fields if table else soft
        soft = soft or (table is not None and table.basis == "memory")
    if reading.plus:
        extra = figures(match.groups.get(reading.plus) or "")
        if not extra.isdecimal() or not isinstance(value, int):
            return None, soft
        value += int(extra)
    if reading.add:
        if not str(value).isdecimal():
            return None, soft
        value = int(value) + reading.add
    return value, soft


def _knows(table: Table, part: str) -> bool:
    return decode(table, part) is not None if table.kind in ("count", "digits") else part in table.entries


def _look_up(table: Table, key: str) -> tuple[Any, str]:
    """The value for a key, and the key of the table that gave it."""
    if table.kind in ("count", "digits"):
        return decode(table, key), key
    if table.kind == "prefix":
        fitting = [k for k in table.entries if key.startswith(k)]
        key = max(fitting, key=len, default="")
    if key in table.contested:
        return None, key
    return table.entries.get(key), key


def number_kind(system: System | None, sides: Sequence[Side]) -> None:
    """For the shape of any label: one number with two side letters is a catalogue number; two numbers are not."""
    if system is None or not system.anonymous:
        return
    numbers = [s.fields["number"] for s in sides]
    plain = {re.sub(r"\W", "", n).casefold() for n in numbers if n}
    for side in sides:
        if side.fields["number"] and side.fields["side"] and (len(sides) == 1 or len(plain) == 1):
            side.put("number_kind", "catalogue")
        elif side.fields["number"] and len(plain) > 1:
            side.put("number_kind", "project")
