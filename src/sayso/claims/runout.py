"""Reads a run-out string as a seller types it: what each part is, what it bounds, and what is unusual.

The grammar of every maker is data (`lexicon/systems`); this module only applies it. Where no maker's grammar fits, the
parts that any label would mean are given and nothing else.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from sayso.claims.runout_fields import derive, fields_of, number_kind
from sayso.claims.runout_grammar import best
from sayso.claims.runout_marks import read_marks
from sayso.claims.runout_sides import assign_sides, read_lettering, split_pairs, tails_of
from sayso.claims.runout_slots import read_paired, read_slots
from sayso.claims.runout_state import Frozen, Reader, Side
from sayso.claims.runout_tax import read_tax
from sayso.claims.runout_text import LONE_L, unify

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.lexicon.systems import System


LIMIT = 4000
"""Longest string that is read; no run-out is longer, and what follows is left alone."""


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


def read_runout(text: str, label: str | None = None, lexicon: Lexicon | None = None) -> RunOut:
    """The parts of a run-out string.

    `label` chooses the maker's grammar; without it only unmistakable numbers are read.

    Never raises on any text; takes time linear in its length. Numbers are read as sellers type them: O for nought, I or
    l for one, small letters, missing dashes, both sides in one string, remarks between.
    """
    if lexicon is None:
        from sayso.lexicon import load_lexicon

        lexicon = load_lexicon()
    reader = Reader(text[:LIMIT], lexicon, label)
    score, grammar, matches = best(reader.text, reader.given, label, lexicon)
    if LONE_L.search(reader.given):
        other = unify(reader.given, lexicon, "L")
        letter = best(other, reader.given, label, lexicon)
        if letter[0] > score:
            reader.text, (_, grammar, matches) = other, letter
    system = grammar.system if grammar else None
    reader.done += [(m.start, m.end) for m in matches]
    sides = [Side(fields_of(reader, m, system)) for m in matches] if system else []
    if system:
        for m, side in zip(matches, sides, strict=True):
            derive(reader, m, system, side)
    spoken = assign_sides(reader, matches, sides)
    split_pairs(reader, matches, sides, spoken)
    tax = read_tax(reader, system, sides)
    tails = tails_of(reader, matches)
    read_marks(reader, system, sides, tails)
    if system and not system.anonymous:
        read_paired(reader, system, sides)
        for (start, end), side in zip(tails, sides, strict=True):
            read_slots(reader, system, side, start, end)
    if tax is None:
        tax = read_tax(reader, system, sides, late=True)
    read_lettering(reader, sides, tails)
    number_kind(system, sides)
    _remarks(reader, system, sides)
    return _result(reader, system, sides, tax, label)


def _remarks(reader: Reader, system: System | None, sides: Sequence[Side]) -> None:
    for late in system.late if system else ():
        for side in sides:
            value = side.fields.get(late.field)
            if isinstance(value, int) and value >= late.start:
                reader.remark(late.remark, side.fields["side"])
    cuts = [tuple(s.fields.get(k) for k in ("cut", "lacquer", "group", "group_number")) for s in sides]
    if len(cuts) == 2 and cuts[0] != cuts[1] and all(any(c is not None for c in cut) for cut in cuts):
        reader.remark("mixed")


def _result(reader: Reader, system: System | None, sides: Sequence[Side], tax: str | None, label: str | None) -> RunOut:
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


def _left_over(reader: Reader) -> str:
    pieces, at = [], 0
    for start, end in sorted(reader.done):
        pieces.append(reader.given[at:start])
        at = max(at, end)
    pieces.append(reader.given[at:])
    kept = (re.sub(r"\s+", " ", p).strip(" \t\n/,;.()[]-") for p in pieces)
    return " | ".join(p for p in kept if any(c.isalnum() or c in "*△▽Δ◇◆★" for c in p))


__all__ = ["LIMIT", "Frozen", "RunOut", "read_runout"]
