"""Mother and stamper: at a named place, or directly after the number in the order of the maker."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from sayso.claims.runout_codes import decode, in_code
from sayso.claims.runout_state import TOKEN, Reader, Side
from sayso.claims.runout_text import figures, words

if TYPE_CHECKING:
    from sayso.lexicon.systems import System, Table


_JOINED = (
    r"[^\w/]{{0,3}}(?:(?:CODES?|LETTERS?|NUMBERS?|ARE|IS)\W{{1,2}}){{0,2}}"
    r"({0})(?!\w)(?:\s*(?:/|&|\+|,|\bAND\b)\s*({0})(?!\w))?"
)
PAIRED_FIGURES = re.compile(_JOINED.format("[0-9]{1,2}"))
PAIRED_LETTERS = re.compile(_JOINED.format("[A-Z]{1,4}"))


def read_slots(reader: Reader, system: System, side: Side, start: int, end: int) -> None:
    """Mother and stamper: at a named place, or directly after the number in the maker's order."""
    for slot in system.slots:
        _named_slot(reader, slot.field, slot.kind, slot.table, slot.number, side, start, end)
    at = start
    remaining = [s for s in system.slots if side.fields.get(s.field) is None]
    given = reader.given[start - 1 : start]
    lower = given.islower() or (not given.isalpha() and not any(c.isupper() for c in reader.given[:start]))
    filled = False
    while remaining:
        token = TOKEN.search(reader.text, at, end)
        while token and token.end() <= end and token.group() in ".,/-:;\"'\u00b7(":
            token = TOKEN.search(reader.text, token.end(), end)
        if not token or not reader.free(*token.span()):
            return
        part, where = token.group(), token.span()
        if part == "|" and _divides(reader, system, where[1], end):
            return
        as_given = reader.given[where[0] : where[1]]
        # '1G': figure and letters run together.
        joined = re.fullmatch(r"([0-9]{1,2})([A-Z]{1,3})", part)
        if joined and len(remaining) > 1 and remaining[0].kind == "figure":
            table = reader.lexicon.tables.get(remaining[1].table)
            if not table or not in_code(table, joined[2]):
                return
            side.put(remaining[0].field, int(joined[1]))
            _put_letters(reader, remaining[1].field, table, remaining[1].number, joined[2], side)
            reader.done.append(where)
            return
        slot = remaining[0]
        if slot.kind == "figure" and re.fullmatch(r"[0-9]{1,2}|[I|]", part) and int(figures(part)) > 0:
            side.put(slot.field, int(figures(part)))
        elif slot.kind == "group" and re.fullmatch(r"[A-Z][0-9]{1,2}", part):
            side.put(slot.field, part)
        else:
            letters = next((s for s in remaining if s.kind == "letters"), None)
            table = reader.lexicon.tables.get(letters.table) if letters else None
            if letters is None or table is None:
                return
            if as_given.islower() and not (lower and filled):
                return
            code = part.replace("0", "O") if "O" in table.entries else part
            if not _stands_as_code(reader, code, where[1], filled):
                return
            if not in_code(table, code):
                if filled and as_given.isupper() and part.isalpha() and len(part) <= 3:
                    reader.remark("not_in_code", side.fields["side"])
                return
            if not filled and code in _tax_codes(reader):
                reader.remark("tax_or_stamper", side.fields["side"])
                return
            _put_letters(reader, letters.field, table, letters.number, code, side)
            slot = letters
        filled = True
        reader.done.append(where)
        at = where[1]
        remaining = remaining[remaining.index(slot) + 1 :]


def read_paired(reader: Reader, system: System, sides: Sequence[Side]) -> None:
    """'Stampers G / R', 'mothers 1 and 2', 'mother 1 on both': said once for two sides, in their order.

    So is what follows a cut that was itself said of both at once ('both sides -1N, mother 1').
    """
    if len(sides) != 2:
        return
    at_once = sides[0].fields.get("as_written") and sides[0].fields.get("start") == sides[1].fields.get("start")
    both = words(reader.lexicon, "runout_both")
    for slot in system.slots:
        table = reader.lexicon.tables.get(slot.table)
        shape = PAIRED_FIGURES if slot.kind == "figure" else PAIRED_LETTERS if table else None
        if shape is None:
            continue
        for cue in words(reader.lexicon, "runout_clock").find(reader.text):
            m = shape.match(reader.text, cue.end) if cue.value == slot.field else None
            if m is None or not reader.free(*m.span(1)):
                continue
            parts, ends = [m[1], m[2]], m.end()
            if parts[1] is None:
                after = both.first(reader.text, m.end(), m.end() + 14)
                close = after is not None and len(TOKEN.findall(reader.text[m.end() : after.start])) <= 1
                if not (close or at_once):
                    continue
                parts, ends = [m[1], m[1]], after.end if after and close else m.end(1)
            if slot.kind != "figure" and not (
                table and all(in_code(table, x) for x in parts) and reader.given[m.start(1)].isupper()
            ):
                continue
            for side, part in zip(sides, parts, strict=True):
                if table and slot.kind != "figure":
                    _put_letters(reader, slot.field, table, slot.number, part, side)
                else:
                    side.put(slot.field, int(part))
            reader.done.append((cue.start, ends))
            break


def _divides(reader: Reader, system: System, at: int, end: int) -> bool:
    """Whether an upright stroke parts two sayings: no stamper stands behind it, so that it is no figure one."""
    after = TOKEN.search(reader.text, at, end)
    letters = next((s for s in system.slots if s.kind == "letters"), None)
    table = reader.lexicon.tables.get(letters.table) if letters else None
    return after is None or table is None or not in_code(table, after.group())


def _stands_as_code(reader: Reader, code: str, end: int, after_figure: bool) -> bool:
    """Whether letters behind a number can be a stamper: the code words spell ordinary words ('HARD to read')."""
    talk = re.match(r"[ ]{1,2}[a-z]{2,}", reader.given[end : end + 12])
    if talk and not any(
        (f := words(reader.lexicon, *t).first(reader.given, end + 1)) and f.start <= end + 2
        for t in (("runout_lettering",), ("runout_both",), ("runout_side",), ("runout_wax", "wax"))
    ):
        return len(code) <= 2 and after_figure
    return len(code) <= (4 if after_figure else 3)


def _named_slot(
    reader: Reader, name: str, kind: str, table_id: str, number: str, side: Side, start: int, end: int
) -> None:
    """'mother 2', 'G at 3 o'clock', 'stamper: GT'."""
    filler = words(reader.lexicon, "runout_filler")
    for cue in words(reader.lexicon, "runout_clock").find(reader.text, start, end):
        if cue.value != name:
            continue
        shape = r"[0-9]{1,2}" if kind == "figure" else r"[A-Z]{1,4}"
        table = reader.lexicon.tables.get(table_id)
        for token in (*_after(reader, filler, cue.end, end), *_before(reader, filler, start, cue.start)):
            part = reader.text[token[0] : token[1]]
            fits = re.fullmatch(shape, part) and reader.given[token[0]] == part[0]
            if fits and (kind == "figure" or (table and in_code(table, part))):
                if kind == "figure":
                    side.put(name, int(part))
                elif table:
                    _put_letters(reader, name, table, number, part, side)
                reader.done += [(cue.start, cue.end), token]
                break


def _after(reader: Reader, filler: Any, at: int, end: int) -> Iterable[tuple[int, int]]:
    """The first token that is no filler, after a cue."""
    for token in TOKEN.finditer(reader.text, at, end):
        if token.group().isalnum() and token.group().casefold() not in filler.values:
            return [token.span()]
        if token.start() - at > 24:
            break
    return []


def _before(reader: Reader, filler: Any, start: int, at: int) -> Iterable[tuple[int, int]]:
    """The last token that is no filler before a cue, if 'at' or a sign stands between or begins the cue."""
    found = [t.span() for t in TOKEN.finditer(reader.text, max(start, at - 24), at)]
    real = [s for s in found if (t := reader.text[slice(*s)]).isalnum() and t.casefold() not in filler.values]
    place = reader.text[at : at + 3].casefold().split()[:1]
    if not real or (real[-1] == found[-1] and not (place and place[0] in filler.values)):
        return []
    return [real[-1]]


def _put_letters(reader: Reader, name: str, table: Table, number: str, code: str, side: Side) -> None:
    side.put(name, code)
    value = decode(table, code)
    side.put(number, value)
    if value is None and set(code) & set(table.contested):
        reader.remark("contested_stamper", side.fields["side"])


def _tax_codes(reader: Reader) -> dict[str, Any]:
    table = reader.lexicon.tables.get("uk_tax_code")
    return dict(table.entries) if table else {}
