"""Innocent listings raise nothing; guilty ones are found with the right pair, and no disc is accused by a jacket."""

from __future__ import annotations

import json
from pathlib import Path
from types import SimpleNamespace

import pytest

from sayso.audit.dating import date_listing
from sayso.lexicon import load_lexicon
from sayso.model import Conflict, Dating, Listing, Span

LEXICON = load_lexicon(user=False)
PATH = Path(__file__).parents[1] / "corpus" / "dating_own.jsonl"
ROWS = [json.loads(line) for line in PATH.read_text(encoding="utf-8").splitlines()][1:]


def _date(row: dict) -> tuple[Dating, tuple[Conflict, ...], str]:
    text = row["title"] + "\n" + row["text"]
    listing = Listing(id=row["id"], text=text, title=row["title"])
    return *date_listing(SimpleNamespace(listing=listing, claims=()), LEXICON), text


def _meets(quote: str, gold: str) -> bool:
    return quote.casefold() in gold.casefold() or gold.casefold() in quote.casefold()


@pytest.mark.parametrize("row", [r for r in ROWS if not r["conflict"]], ids=lambda r: r["id"])
def test_nobody_honest_is_accused(row: dict) -> None:
    _, conflicts, _ = _date(row)
    assert [(c.kind, c.fact, c.between) for c in conflicts] == []


@pytest.mark.parametrize("row", [r for r in ROWS if r["conflict"]], ids=lambda r: r["id"])
def test_every_contradiction_is_found(row: dict) -> None:
    _, conflicts, text = _date(row)
    pairs = [(c.kind, [b.quote for b in c.between if isinstance(b, Span)]) for c in conflicts]
    assert any(
        kind == row["conflict"] and all(any(_meets(q, gold) for q in quotes) for gold in row["quotes"])
        for kind, quotes in pairs
    ), pairs
    if row["conflict"] == "jacket":
        assert all(kind == "jacket" for kind, _ in pairs)
    for c in conflicts:
        for span in c.between:
            assert isinstance(span, str) or text[span.start : span.end] == span.quote


def test_there_are_enough_of_both() -> None:
    assert sum(not r["conflict"] for r in ROWS) >= 60
    assert sum(bool(r["conflict"]) for r in ROWS) >= 60
