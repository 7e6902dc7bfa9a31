"""Reads a run-out string as a seller types it: what each part is, what it bounds, and what is unusual.

The grammar of every maker is data (`lexicon/systems`); this module only applies it. Where no maker's grammar fits, the
parts that any label would mean are given and nothing else.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, NoReturn

from sayso.claims.marks import MarkHit, find_marks
from sayso.claims.runout_codes import decode, in_code
from sayso.claims.runout_grammar import Match, best, known_country
from sayso.claims.runout_text import LONE_L, figures, tidy, unify, words

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.lexicon.systems import Pattern, Reading, System, Table

LIMIT = 4000
"""Longest string that is read; no run-out is longer, and what follows is left alone."""
TOKEN = re.compile(r"[^\W_]+|\S")


class Frozen(dict[str, Any]):
    """A dictionary that cannot be changed: plain JSON, safe to share."""

    def _refuse(self, *_: object, **__: object) -> NoReturn:
        raise TypeError("a parsed run-out cannot be changed")

    __setitem__ = __delitem__ = clear = pop = popitem = setdefault = update = _refuse
    __ior__ = _refuse

    def __hash__(self) -> int:  # type: ignore[override]
        return hash(repr(self))


class RunOut(Frozen):
    """What a run-out string says. Keys (missing where nothing is known):

    `system`: id of the maker's grammar, or None. `sides`: one entry a side, with `side` (a, b or None), `number`,
    `number_kind` (project or catalogue) and whatever the grammar gives: `prefix`, `year`, `channels`, `cut`,
    `engineer`, `mother`, `stamper`, `stamper_number`, `plant`, `lettering`; `as_written`, `start` and `end` of the
    number in the text as given; `soft`, the names of fields that rest on memory. `tax_code`. `not_before`: the year
    before which the metal cannot have been made; hard bounds only. `bounds`: every bound with its reason.
    `unusual`: remarks for the buyer. `left_over`: what was not read.
    """

    @property
    def sides(self) -> Sequence[Frozen]:
        return self["sides"]  # type: ignore[no-any-return]


@dataclass
class _Side:
    """One side while it is being read."""

    fields: dict[str, Any]
    soft: set[str] = field(default_factory=set)
    marks: list[str] = field(default_factory=list)

    def put(self, name: str, value: Any, soft: bool = False) -> None:
        """Set a field that is not yet set."""
        if value is not None and self.fields.get(name) is None:
            self.fields[name] = value
            if soft:
                self.soft.add(name)


class _Reader:
    """The state of one reading; `done` holds the stretches already understood."""

    def __init__(self, text: str, lexicon: Lexicon, label: str | None) -> None:
        self.given, self.lexicon, self.label = text, lexicon, label
        self.text = unify(text, lexicon)
        self.done: list[tuple[int, int]] = []
        self.bounds: list[Frozen] = []
        self.unusual: dict[tuple[str, str | None], Frozen] = {}

    def remark(self, code: str, side: str | None = None) -> None:
        table = self.lexicon.tables.get("runout_remark")
        text = table.entries.get(code, code) if table else code
        self.unusual.setdefault((code, side), Frozen(code=code, text=text, side=side))

    def bound(self, not_before: str, why: str, hard: bool, source: str) -> None:
        row = Frozen(not_before=not_before, why=why, hard=hard, source=source)
        if row not in self.bounds:
            self.bounds.append(row)

    def free(self, start: int, end: int) -> bool:
        return all(end <= a or start >= b for a, b in self.done)


def read_runout(text: str, label: str | None = None, lexicon: Lexicon | None = None) -> RunOut:
    """The parts of a run-out string.

    `label` chooses the maker's grammar; without it only unmistakable numbers are read.

    Never raises on any text; takes time linear in its length. Numbers are read as sellers type them: O for nought, I or
    l for one, small letters, missing dashes, both sides in one string, remarks between.
    """
    if lexicon is None:
        from sayso.lexicon import load_lexicon

        lexicon = load_lexicon()
    reader = _Reader(text[:LIMIT], lexicon, label)
    score, grammar, matches = best(reader.text, reader.given, label, lexicon)
    if LONE_L.search(reader.given):
        other = unify(reader.given, lexicon, "L")
        letter = best(other, reader.given, label, lexicon)
        if letter[0] > score:
            reader.text, (_, grammar, matches) = other, letter
    system = grammar.system if grammar else None
    reader.done += [(m.start, m.end) for m in matches]
    sides = [_Side(_fields(reader, m, system)) for m in matches] if system else []
    if system:
        for m, side in zip(matches, sides, strict=True):
            _derive(reader, m, system, side)
    spoken = _assign_sides(reader, matches, sides)
    _split_pairs(reader, matches, sides, spoken)
    tax = _tax(reader, system)
    tails = _tails(reader, matches)
    _marks(reader, system, sides, tails)
    if system and not system.anonymous:
        for (start, end), side in zip(tails, sides, strict=True):
            _slots(reader, system, side, start, end)
    if tax is None:
        tax = _tax(reader, system, late=True)
    _lettering(reader, sides, tails)
    _number_kind(system, sides)
    _remarks(reader, system, sides)
    return _result(reader, system, sides, tax, label)


def _fields(reader: _Reader, match: Match, system: System) -> dict[str, Any]:
    """The groups of the match that are fields, cleaned."""
    out: dict[str, Any] = {"side": None, "number": None, "number_kind": None}
    pattern = match.pattern
    for name, part in match.groups.items():
        if part is None or part == "" or name.startswith("x_"):
            continue
        out[name] = _clean(name, part, pattern)
    out.update(pattern.fixed)
    if out["number_kind"] is None and out["number"] is not None:
        out["number_kind"] = system.number_kind or None
    out["as_written"] = reader.given[match.start : match.end]
    out["start"], out["end"] = match.start, match.end
    return out


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


def _derive(reader: _Reader, match: Match, system: System, side: _Side) -> None:
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


def _read(reader: _Reader, reading: Reading, part: str, match: Match, side: _Side) -> tuple[Any, bool]:
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


def _assign_sides(reader: _Reader, matches: Sequence[Match], sides: Sequence[_Side]) -> list[bool]:
    """Give each number its side: from the number, a word beside it, or there being two. Tells which were spoken of."""
    named = words(reader.lexicon, "runout_side")
    spoken = [False] * len(sides)
    for i, (m, side) in enumerate(zip(matches, sides, strict=True)):
        low = matches[i - 1].end if i else 0
        before = list(named.find(reader.text, max(low, m.start - 30), m.start))
        if side.fields["side"] is not None:
            spoken[i] = True
            reader.done += [(f.start, f.end) for f in before[-1:]]
            continue
        if before and not re.search(r"[^\W\d_]{3,}", reader.text[before[-1].end : m.start]):
            side.fields["side"] = before[-1].value
            reader.done.append((before[-1].start, before[-1].end))
            spoken[i] = True
            continue
        high = matches[i + 1].start if i + 1 < len(matches) else len(reader.text)
        after = named.first(reader.text, m.end, min(high, m.end + 14))
        closed = after and re.fullmatch(r"[\s(\[,:-]{0,4}(ON )?", reader.text[m.end : after.start])
        if after and closed and not (i + 1 < len(matches) and re.fullmatch(r"[\s:=-]*", reader.text[after.end : high])):
            side.fields["side"] = after.value
            reader.done.append((after.start, after.end))
            spoken[i] = True
    if len(sides) == 2:
        one, two = sides[0].fields, sides[1].fields
        other = {"a": "b", "b": "a", None: None}
        if one["side"] is None and two["side"] is None:
            one["side"], two["side"] = "a", "b"
        elif one["side"] is None:
            one["side"] = other[two["side"]]
        elif two["side"] is None:
            two["side"] = other[one["side"]]
    return spoken


def _split_pairs(reader: _Reader, matches: list[Match], sides: list[_Side], spoken: Sequence[bool]) -> None:
    """'-1A both sides': one suffix that stands for two sides."""
    if len(sides) != 1 or spoken[0] or matches[0].pattern.kind != "suffix":
        return
    both = words(reader.lexicon, "runout_both").first(reader.text)
    if both is None:
        return
    first = sides[0]
    second = _Side(dict(first.fields), set(first.soft))
    first.fields["side"], second.fields["side"] = "a", "b"
    matches.append(matches[0])
    sides.append(second)


def _tails(reader: _Reader, matches: Sequence[Match]) -> list[tuple[int, int]]:
    """What follows each number, up to the next."""
    ends = [*(m.start for m in matches[1:]), len(reader.text)][: len(matches)]
    return [(m.end, max(m.end, end)) for m, end in zip(matches, ends, strict=True)]


def _targets(reader: _Reader, start: int, end: int, sides: list[_Side], tails: list[tuple[int, int]]) -> list[_Side]:
    """The sides of which something at this place is said."""
    both = words(reader.lexicon, "runout_both")
    # 'both sides stamped', 'star both sides': the words directly beside it.
    for found in both.find(reader.text, max(0, start - 24), min(len(reader.text), end + 24)):
        between = reader.text[found.end : start] if found.end <= start else reader.text[end : found.start]
        if len(TOKEN.findall(between)) <= 2:
            return list(sides)
    for (a, b), side in zip(tails, sides, strict=True):
        if a <= start < b:
            return [side]
    return list(sides) if len(sides) == 1 else []


def _marks(reader: _Reader, system: System | None, sides: list[_Side], tails: list[tuple[int, int]]) -> None:
    """Marks that stand beside the numbers, where the label makes their meaning plain."""
    own = set(system.marks) if system else set()
    label = (reader.label or "").casefold()
    if system and system.slots:
        own -= {i for i in own if _is_slot_letter(reader, system, i)}
    wax = words(reader.lexicon, "runout_wax", "wax")
    hits = find_marks(reader.given, reader.lexicon, True, context_is_label=True, bare=own)
    for hit in hits:
        if not reader.free(hit.start, hit.end) or _is_word(reader, hit):
            continue
        ids = [i for i in hit.marks if _fits(reader, i, hit, own, label, system)]
        if not ids:
            continue
        rows = [reader.lexicon.marks[i] for i in ids]
        if all(r.where == "label" for r in rows) and wax.first(reader.given, hit.end, hit.end + 25):
            continue
        reader.done.append((hit.start, hit.end))
        strong = [r for r in rows if not r.weak and r.id in own] or [r for r in rows if not r.weak] or rows
        shared = set(strong[0].gives.items()).intersection(*(set(r.gives.items()) for r in strong[1:]))
        for side in _targets(reader, hit.start, hit.end, sides, tails):
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
            hard = all(r.hard_floor for r in rows)
            why = f"{strong[0].name}: {strong[0].proves}"
            reader.bound(str(min(f for f in floors if f)), why, hard, strong[0].source)


def _is_slot_letter(reader: _Reader, system: System, mark_id: str) -> bool:
    """Whether a letter that is a mark elsewhere is a stamper here (R on EMI metal)."""
    for slot in system.slots:
        table = reader.lexicon.tables.get(slot.table)
        if table and any(in_code(table, letters) for letters in reader.lexicon.marks[mark_id].letters):
            return True
    return False


def _is_word(reader: _Reader, hit: MarkHit) -> bool:
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


def _fits(reader: _Reader, mark_id: str, hit: MarkHit, own: set[str], label: str, system: System | None) -> bool:
    """Whether a mark may be given its meaning on this label."""
    mark = reader.lexicon.marks[mark_id]
    if mark_id in own:
        return True
    if mark.where == "label":
        return False
    short = sum(c.isalnum() for c in reader.given[hit.start : hit.end]) <= 2
    if short and system and system.slots and mark.country not in (system.country, "any"):
        return False  # where letters count stampers, two letters are no initials from abroad
    if mark.labels and (mark.ordinary or short):
        return any(known.casefold() in label for known in mark.labels)
    return not mark.ordinary or any(len(x) > 1 for x in mark.letters)


def _slots(reader: _Reader, system: System, side: _Side, start: int, end: int) -> None:
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


def _stands_as_code(reader: _Reader, code: str, end: int, after_figure: bool) -> bool:
    """Whether letters behind a number can be a stamper: the code words spell ordinary words ('HARD to read')."""
    talk = re.match(r"[ ]{1,2}[a-z]{2,}", reader.given[end : end + 12])
    if talk and not any(
        (f := words(reader.lexicon, *t).first(reader.given, end + 1)) and f.start <= end + 2
        for t in (("runout_lettering",), ("runout_both",), ("runout_side",), ("runout_wax", "wax"))
    ):
        return len(code) <= 2 and after_figure
    return len(code) <= (4 if after_figure else 3)


def _named_slot(
    reader: _Reader, name: str, kind: str, table_id: str, number: str, side: _Side, start: int, end: int
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


def _after(reader: _Reader, filler: Any, at: int, end: int) -> Iterable[tuple[int, int]]:
    """The first token that is no filler, after a cue."""
    for token in TOKEN.finditer(reader.text, at, end):
        if token.group().isalnum() and token.group().casefold() not in filler.values:
            return [token.span()]
        if token.start() - at > 24:
            break
    return []


def _before(reader: _Reader, filler: Any, start: int, at: int) -> Iterable[tuple[int, int]]:
    """The last token that is no filler before a cue, if 'at' or a sign stands between."""
    found = [t.span() for t in TOKEN.finditer(reader.text, max(start, at - 24), at)]
    real = [
        s
        for s in found
        if reader.text[s[0] : s[1]].isalnum() and reader.text[s[0] : s[1]].casefold() not in filler.values
    ]
    if not real or real[-1] == (found[-1] if found else None):
        return []
    return [real[-1]]


def _put_letters(reader: _Reader, name: str, table: Table, number: str, code: str, side: _Side) -> None:
    side.put(name, code)
    value = decode(table, code)
    side.put(number, value)
    if value is None and set(code) & set(table.contested):
        reader.remark("contested_stamper", side.fields["side"])


def _tax_codes(reader: _Reader) -> dict[str, Any]:
    table = reader.lexicon.tables.get("uk_tax_code")
    return dict(table.entries) if table else {}


TAX = re.compile(r"(?<![A-Z0-9])[A-Z]{1,4}(?![A-Z0-9])")


def _tax(reader: _Reader, system: System | None, late: bool = False) -> str | None:
    """UK tax letters: beside a word for their place; or, once mother and stamper are read (`late`), by themselves."""
    table = reader.lexicon.tables.get("uk_tax_code")
    if table is None:
        return None
    cue = words(reader.lexicon, "runout_tax_cue")
    british = (system.tax and bool(system.country)) if system else known_country(reader.label, reader.lexicon) == "UK"
    for m in TAX.finditer(reader.text):
        start, end = m.span()
        letters = m.group()
        if not reader.given[start:end].isupper() or not reader.free(start, end):
            continue
        code = letters if letters in table.entries else letters[-2:] if len(letters) > 2 else ""
        # 'MKT': an old stamper, the new letter added before the T.
        if code not in table.entries or (code != letters and letters[:-2] + letters[-1] not in table.entries):
            continue
        near = cue.first(reader.text, max(0, start - 30), start) or cue.first(reader.text, end, end + 30)
        if not near:
            if not (late and british) or len(letters) < 2:
                continue
            if system and any(
                (t := reader.lexicon.tables.get(s.table)) and in_code(t, letters) and not _has(reader, "stamper")
                for s in system.slots
                if s.kind == "letters"
            ):
                reader.remark("tax_or_stamper")
                continue
        if near and late:
            continue
        reader.done.append((start, end))
        firm = table.firm(code)
        reader.bound(str(table.entries[code]), f"{table.name}: {code}", firm, table.source)
        if code != letters:
            reader.remark("old_stamper_retaxed")
        if not firm:
            reader.remark("tax_unsafe")
        return letters
    return None


def _has(reader: _Reader, name: str) -> bool:
    return ("tax_or_stamper", None) not in reader.unusual and name == "stamper"


def _lettering(reader: _Reader, sides: list[_Side], tails: list[tuple[int, int]]) -> None:
    """Whether the number is said to be etched or stamped; not what is said of another mark, nor of the other side."""
    if not sides:
        return
    first = tails[0][0]
    for found in words(reader.lexicon, "runout_lettering").find(reader.text):
        if found.end <= first:
            targets = list(sides)
        else:
            targets = _targets(reader, found.start, found.end, sides, tails)
            if len(targets) == 1 and any(
                tails[sides.index(targets[0])][0] <= a < found.start and b - a > 1 and _is_mark(reader, a, b)
                for a, b in reader.done
            ):
                continue
        for side in targets:
            side.put("lettering", found.value)
        if targets:
            reader.done.append((found.start, found.end))


def _is_mark(reader: _Reader, start: int, end: int) -> bool:
    """Whether an understood stretch is a mark rather than a mother, stamper or side."""
    return any(c.isalpha() for c in reader.text[start:end]) and end - start > 2


def _number_kind(system: System | None, sides: Sequence[_Side]) -> None:
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


def _remarks(reader: _Reader, system: System | None, sides: Sequence[_Side]) -> None:
    for late in system.late if system else ():
        for side in sides:
            value = side.fields.get(late.field)
            if isinstance(value, int) and value >= late.start:
                reader.remark(late.remark, side.fields["side"])
    cuts = [tuple(s.fields.get(k) for k in ("cut", "lacquer", "group", "group_number")) for s in sides]
    if len(cuts) == 2 and cuts[0] != cuts[1] and all(any(c is not None for c in cut) for cut in cuts):
        reader.remark("mixed")


def _result(
    reader: _Reader, system: System | None, sides: Sequence[_Side], tax: str | None, label: str | None
) -> RunOut:
    named = system if system and not system.anonymous else None
    if label and named is None:
        _, other, _ = best(reader.text, reader.given, None, reader.lexicon)
        if other and not other.system.anonymous:
            reader.remark("other_maker")
    hard = [b["not_before"][:4] for b in reader.bounds if b["hard"]]
    rows = []
    for side in sides:
        row = {k: v for k, v in side.fields.items() if v is not None or k in ("side", "number", "number_kind")}
        if side.soft:
            row["soft"] = sorted(side.soft)
        if side.marks:
            row["marks"] = list(side.marks)
        rows.append(Frozen(row))
    out: dict[str, Any] = {"system": named.id if named else None, "sides": tuple(rows)}
    if named:
        out |= {"system_name": named.name, "basis": named.basis, "source": named.source, "caution": named.caution}
    if tax:
        out["tax_code"] = tax
    out["not_before"] = int(max(hard)) if hard else None
    out["bounds"] = tuple(reader.bounds)
    out["unusual"] = tuple(reader.unusual.values())
    out["left_over"] = _left_over(reader)
    return RunOut(out)


def _left_over(reader: _Reader) -> str:
    pieces, at = [], 0
    for start, end in sorted(reader.done):
        pieces.append(reader.given[at:start])
        at = max(at, end)
    pieces.append(reader.given[at:])
    kept = (re.sub(r"\s+", " ", p).strip(" \t\n/,;.()[]-") for p in pieces)
    return " | ".join(p for p in kept if any(c.isalnum() or c in "*△▽Δ◇◆★" for c in p))


__all__ = ["Frozen", "RunOut", "read_runout"]
