"""The states that follow from annotated claims are the annotators' own (tests/corpus/README.md)."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from sayso.audit.standing import standing_of
from sayso.lexicon import load_lexicon
from sayso.model import Claim, Deferral

LEXICON = load_lexicon()
CORPUS = Path(__file__).parents[1] / "corpus"
KEYS = ("feature", "polarity", "certainty", "attribution", "side", "value", "role", "item", "quote")


def rows() -> list[dict[str, object]]:
    found = []
    for name in ("listings", "languages"):
        for line in (CORPUS / f"{name}.jsonl").read_text(encoding="utf-8").splitlines():
            if line.strip() and not line.startswith("#") and "coverage" in (row := json.loads(line)):
                found.append(row)
    return found


def test_annotated_claims_give_the_annotated_states() -> None:
    wrong, cells = [], 0
    for row in rows():
        claims = [Claim(**{k: c.get(k) for k in KEYS}, start=0, end=0) for c in row["claims"]]  # type: ignore[attr-defined]
        deferrals = [Deferral(feature=d["feature"], quote="", start=0, end=0) for d in row["deferrals"]]  # type: ignore[attr-defined]
        standing = standing_of(claims, deferrals, LEXICON)
        for feature, state in row["coverage"].items():  # type: ignore[attr-defined]
            cells += 1
            if standing[feature].state != state:
                wrong.append((row["id"], feature, state, standing[feature].state))
    assert cells > 3000
    assert not wrong


def said(*claims: dict[str, object], feature: str = "label.deep_groove") -> str:
    made = [Claim(feature=feature, quote="x", start=0, end=1, **c) for c in claims]  # type: ignore[arg-type]
    return standing_of(made, (), LEXICON)[feature].state


YES: dict[str, object] = {}
NO: dict[str, object] = {"polarity": "absent"}


@pytest.mark.parametrize(
    ("claims", "state"),
    [
        ((YES, NO), "conflicting"),
        (({"side": "a"}, {**NO, "side": "b"}), "stated"),
        (({"item": 1}, {**NO, "item": 2}), "stated"),
        (({"side": "a"}, NO), "conflicting"),
        (({"value": "X"}, {**NO, "value": "Y"}), "stated"),
        (({"value": "X"}, {**NO, "value": "X"}), "conflicting"),
        ((YES, {"certainty": "hedged"}), "hedged"),
        ((NO, {**NO, "certainty": "hedged"}), "hedged"),
        ((YES, {"certainty": "unknown"}), "conflicting"),
        (({"attribution": "third_party"},), "hedged"),
        (({"certainty": "unknown"},), "unknown"),
        ((NO,), "denied"),
    ],
)
def test_rules(claims: tuple[dict[str, object], ...], state: str) -> None:
    assert said(*claims) == state
    assert said(*reversed(claims)) == state


def test_original_beside_reissue_contradicts_both() -> None:
    claims = [Claim(feature=f"edition.{e}", quote="x", start=0, end=1) for e in ("original", "reissue")]
    standing = standing_of(claims, (), LEXICON)
    assert standing["edition.original"].state == standing["edition.reissue"].state == "conflicting"
    assert standing["edition.first_pressing"].state == "silent"


def test_deferral_counts_only_where_nothing_is_claimed() -> None:
    put_off = [Deferral(feature="deadwax.matrix", quote="see photos", start=0, end=10)]
    assert standing_of((), put_off, LEXICON)["deadwax.matrix"].state == "deferred"
    spoken = [Claim(feature="deadwax.matrix", quote="A-1", start=0, end=3)]
    assert standing_of(spoken, put_off, LEXICON)["deadwax.matrix"].state == "stated"
