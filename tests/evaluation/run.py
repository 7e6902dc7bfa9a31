"""Audits the listings of a corpus in this process."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any


def audit_all(rows: Iterable[Mapping[str, Any]], overlays: Sequence[Path] = (), lexicon: Any = None) -> dict[str, Any]:
    """The audit of each listing in its JSON form, by the id of the listing; what `sayso review --json` prints."""
    from sayso.engine import audit_listing
    from sayso.intake import read_record
    from sayso.lexicon import load_lexicon

    lexicon = lexicon or load_lexicon(overlays)
    out: dict[str, Any] = {}
    for number, row in enumerate(rows, 1):
        # Gold keys stay outside: the reader sees what a buyer would paste.
        given = {k: row[k] for k in ("id", "title", "text", "format", "specifics", "price", "currency") if k in row}
        listing = read_record(given, number=number, lexicon=lexicon)
        out[row["id"]] = audit_listing(listing, lexicon).model_dump(mode="json", by_alias=True)
    return out
