"""Marks that stand beside the numbers, where the label makes their meaning plain."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sayso.claims.marks import MarkHit, find_marks
from sayso.claims.runout_codes import in_code
from sayso.claims.runout_sides import targets
from sayso.claims.runout_state import TOKEN, Reader, Side
from sayso.claims.runout_text import words

if TYPE_CHECKING:
    from sayso.lexicon.systems import System


def read_marks(reader: Reader, system: System | None, sides: list[Side], tails: list[tuple[int, int]]) -> None:
    """Marks that stand beside the numbers, where the label makes their meaning plain."""
    own = set(system.marks) if system else set()
    label = (reader.label or "").casefold()
    if system and system.slots:
        own -= {i for i in own if _is_slot_letter(reader, system, i)}
    wax, printed = words(reader.lexicon, "runout_wax", "wax"), words(reader.lexicon, "runout_wax", "label")
    hits = find_marks(reader.given, reader.lexicon, True, context_is_label=True, bare=own)
    for hit in hits:
        if not reader.free(hit.start, hit.end) or _is_word(reader, hit):
            continue
        ids = [i for i in hit.marks if _fits(reader, i, hit, own, label, system)]
        if not ids:
            continue
        rows = [reader.lexicon.marks[i] for i in ids]
        if all(r.where == "label" for r in rows):
            near = hit.end, hit.end + 25
            if wax.first(reader.given, *near) and not printed.first(reader.given, *near):
                continue  # a sign scratched in the wax is not the one that is printed on the label
        reader.done.append((hit.start, hit.end))
        reader.marks.append((hit.start, hit.end))
        strong = [r for r in rows if not r.weak and r.id in own] or [r for r in rows if not r.weak] or rows
        shared = set(strong[0].gives.items()).intersection(*(set(r.gives.items()) for r in strong[1:]))
        for side in targets(reader, hit.start, hit.end, sides, tails):
            side.marks += [i for i in ids if i not in side.marks]
            for name, value in sorted(shared):
                side.put(name, value, any(r.from_memory("gives") or r.basis == "memory" for r in strong))
            if hit.number and shared:
                side.put("plating_number", hit.number)
        if len(strong) > 1 and not shared:
            reader.remark("many_makers")
        if all(r.basis == "memory" for r in strong):
            reader.remark("memory_mark")
        floors = [r.earliest for r in rows]
        if all(floors):
            quote = reader.given[hit.start : hit.end]
            ours = bool(own & set(ids)) or all(r.is_theirs(quote, (reader.label or "",)) for r in rows)
            hard = ours and all(r.hard_floor for r in rows)
            why = f"{strong[0].name}: {strong[0].proves}"
            reader.bound(str(min(f for f in floors if f)), why, hard, strong[0].source)


def _is_slot_letter(reader: Reader, system: System, mark_id: str) -> bool:
    """Whether a letter that is a mark elsewhere is a stamper here (R on EMI metal)."""
    for slot in system.slots:
        table = reader.lexicon.tables.get(slot.table)
        if table and any(in_code(table, letters) for letters in reader.lexicon.marks[mark_id].letters):
            return True
    return False


def _is_word(reader: Reader, hit: MarkHit) -> bool:
    """A single capital that begins ordinary talk ('I think', 'A nice copy') is no mark."""
    if hit.end - hit.start > 1 or not reader.given[hit.start].isalpha():
        return False
    after = TOKEN.match(reader.given, hit.end + 1) if reader.given[hit.end : hit.end + 1] == " " else None
    if after is None or not after.group().islower():
        return False
    start, end = after.span()
    known = ("runout_lettering", "runout_both", "runout_side", "runout_wax", "mark_frame")
    joining = after.group() in ("and", "on", "in", "by", "at")
    return not joining and not any(
        (f := words(reader.lexicon, t).first(reader.given, start)) and f.start == start for t in known if end
    )


def _fits(reader: Reader, mark_id: str, hit: MarkHit, own: set[str], label: str, system: System | None) -> bool:
    """Whether a mark may be given its meaning on this label."""
    mark = reader.lexicon.marks[mark_id]
    if mark_id in own:
        return True
    if mark.where == "label":
        return False
    written = reader.given[hit.start : hit.end]
    short = sum(c.isalnum() for c in written) <= 2
    if system and system.slots and mark.country not in (system.country, "any"):
        tables = [reader.lexicon.tables.get(slot.table) for slot in system.slots]
        if short or any(t and in_code(t, written) for t in tables):
            return False  # where letters count stampers, letters of the code are no initials from abroad
    if mark.labels and (mark.ordinary or short):
        return any(known.casefold() in label for known in mark.labels)
    return not mark.ordinary or any(len(x) > 1 for x in mark.letters)
