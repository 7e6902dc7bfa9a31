"""UK tax letters beside a run-out."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from sayso.claims.runout_codes import in_code
from sayso.claims.runout_grammar import known_country
from sayso.claims.runout_state import Reader, Side
from sayso.claims.runout_text import words

if TYPE_CHECKING:
    from sayso.lexicon.systems import System


TAX = re.compile(r"(?<![A-Z0-9])[A-Z]{1,4}(?![A-Z0-9])")


def read_tax(reader: Reader, system: System | None, sides: Sequence[Side], late: bool = False) -> str | None:
    """UK tax letters: beside a word for their place; or, once mother and stamper are read (`late`), by themselves."""
    table = reader.lexicon.tables.get("uk_tax_code")
    if table is None:
        return None
    cue, flaw = words(reader.lexicon, "runout_tax_cue"), words(reader.lexicon, "runout_flaw")
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
            if system and _may_be_stamper(reader, system, sides, letters):
                reader.remark("tax_or_stamper")
                continue
        if near and (late or flaw.first(reader.text, end, end + 36)):
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


def _may_be_stamper(reader: Reader, system: System, sides: Sequence[Side], letters: str) -> bool:
    """Whether the letters could as well be a stamper code that has not been read yet."""
    for slot in system.slots:
        table = reader.lexicon.tables.get(slot.table)
        if table and in_code(table, letters) and (not sides or any(slot.field not in s.fields for s in sides)):
            return True
    return False
