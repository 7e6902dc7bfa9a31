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
TEXTS = ("sayings.jsonl", "replies.jsonl", "own_replies.jsonl", "dating_own.jsonl", "decisions_own.jsonl")
"""Other files of texts, each in a form of its own."""
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


def other_texts(name: str) -> list[Record]:
    """Every text of the project that is no part of this corpus, each as a title and a text."""
    corpus = [] if name == "all" else [r for n in (*NAMES, *READ_ALONE) if n != name for r in load(n)]
    return corpus + [
        {"title": "", "text": json.dumps(row, ensure_ascii=False)} for file in TEXTS for row in records(CORPUS / file)
    ]


def overlays(name: str) -> tuple[Path, ...]:
    """The lexicon files a reader of this corpus needs: what a collector of its invented labels would know."""
    files = dict.fromkeys(f for each in (NAMES if name == "all" else (name,)) for f in OVERLAYS[each])
    return tuple(path for f in files if (path := CORPUS / f).exists())
