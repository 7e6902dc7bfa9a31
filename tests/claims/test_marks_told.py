"""Marks as experts, laymen and foreigners describe them: what they prove is told, with source and caution."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from sayso.engine import audit_text
from sayso.lexicon import load_lexicon
from sayso.model import Audit

LEXICON = load_lexicon(user=False)
PATH = Path(__file__).parents[1] / "corpus" / "marks_own.jsonl"
ROWS = [json.loads(line) for line in PATH.read_text(encoding="utf-8").splitlines()][1:]
MARKS = [r for r in ROWS if ":" not in r["expect"]]
SIGNS = [r for r in ROWS if ":" in r["expect"]]


def _audit(row: dict[str, str]) -> Audit:
    title = re.sub(r"\{([\w-]+)\}", lambda m: LEXICON.labels[m[1]].spoken()[0].partition(" (")[0], row["title"])
    return audit_text(f"{title}\n\n{row['text']}", LEXICON)


@pytest.mark.parametrize("row", MARKS, ids=[r["id"] for r in MARKS])
def test_the_mark_is_told_with_what_it_proves(row: dict[str, str]) -> None:
    audit = _audit(row)
    wanted = row["expect"]
    mark = LEXICON.marks[wanted]
    told = [p for p in audit.proofs if wanted in p.marks]
    # What is printed on the label is no sign of the wax: it is told where the copy is dated.
    dated = [b for b in audit.dating.bounds if b.fact == f"mark.{wanted}" or b.fact.startswith(f"{wanted}-")]
    assert told or dated, [(c.feature, c.quote) for c in audit.claims]
    for proof in told:
        assert proof.proves
        assert proof.source
        if mark.kind in ("cutting", "plating") and proof.marks == (wanted,):
            assert "metal" in proof.caution
        if mark.basis == "memory" and proof.marks == (wanted,):
            assert proof.basis == "memory"
            assert proof.not_before is None


@pytest.mark.parametrize("row", SIGNS, ids=[r["id"] for r in SIGNS])
def test_a_sign_nobody_can_explain_is_a_hint(row: dict[str, str]) -> None:
    feature, states = row["expect"].split(":")
    assert next(f.state for f in _audit(row).findings if f.feature == feature) in states.split(",")


@pytest.mark.parametrize(
    ("text", "label", "hard"),
    [
        ("Pressed 1962. MO printed on the label.", "Norbel", False),
        ("Pressed 1962. MO printed on the label.", "atlantic", True),
        ("Pressed 1955. A filled diamond on the label.", "Norbel", False),
        ("Pressed 1955. A filled diamond on the label.", "decca-us", True),
        ("Pressed 1955. A filled diamond on the label.", "decca-uk", False),
        ("Pressed 1954. AB in the dead wax.", "Norbel", False),
        ("Pressed 1960. LH etched in the dead wax.", "Norbel", False),
        ("Pressed 1960. STERLING stamped in the dead wax.", "Norbel", True),
    ],
)
def test_plain_letters_and_pictures_are_a_makers_only_on_his_labels(text: str, label: str, hard: bool) -> None:
    known = LEXICON.labels.get(label)
    # Namesakes are told apart by a number only their label has.
    number = {"decca-us": "DL 8312", "decca-uk": "LK 4300 UK", "atlantic": "8050"}.get(label, "NB 12")
    name = known.name.partition(" (")[0].partition(" / ")[0] if known else label
    audit = audit_text(f"{name} {number} Otha Brill - Slate\n\n{text}", LEXICON)
    bounds = [b for b in audit.dating.bounds if b.fact.startswith("mark.")]
    assert bounds
    assert any(b.hard for b in bounds) is hard
    assert bool([c for c in audit.conflicts if c.kind == "age"]) is hard
