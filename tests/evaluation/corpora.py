"""The annotated corpora, and the lexicon overlays of the invented worlds they speak of."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

CORPUS = Path(__file__).resolve().parents[1] / "corpus"
NAMES = ("listings", "languages", "own")
READ_ALONE = ("blind",)
"""Corpora scored by name and no part of `all`: the tests that change every listing are long without them."""
OVERLAYS = {
    "listings": ("world.json",),
    "languages": ("world.json",),
    "own": ("world.json", "own_world.toml"),
    "blind": ("world.json", "own_world.toml"),
}
Record = dict[str, Any]


def records(path: Path) -> Iterator[Record]:
    """The listings of one file; its first line, which says where they come from, is passed over."""
    with path.open(encoding="utf-8") as lines:
        for line in lines:
            if line.strip() and "provenance" not in (row := json.loads(line)):
                yield row


def load(name: str) -> list[Record]:
    """The listings of a corpus by its name, or of all of them under `all`."""
    if name == "all":
        return [row for each in NAMES for row in load(each)]
    return list(records(CORPUS / f"{name}.jsonl"))


def overlays(name: str) -> tuple[Path, ...]:
    """The lexicon files a reader of this corpus needs: what a collector of its invented labels would know."""
    files = dict.fromkeys(f for each in (NAMES if name == "all" else (name,)) for f in OVERLAYS[each])
    return tuple(path for f in files if (path := CORPUS / f).exists())
