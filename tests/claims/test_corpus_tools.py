"""The evaluation's own tools: what is withheld, what counts as a change, floors that fail, figures for negation."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.evaluation import changes, compare, corpora, floors, negation, withheld
from tests.evaluation.score import score


def _row(name: str, text: str, **more: Any) -> dict[str, Any]:
    gold = {"title": "", "claims": [], "coverage": {}, "must_ask": [], "traps": [], "deferrals": [], "phenomena": []}
    return {"id": name, "text": text, "format": "text", **gold, **more}


def test_only_forms_of_one_part_alone_are_learned_from_it() -> None:
    part = [_row("1", "A deep-groove label, laminated; punch-hole.")]
    others = [_row("2", "Laminated cover"), _row("3", "no deep groove")]
    forms = {"deep groove", "laminated", "punch hole", "hole", "flat edge"}
    assert withheld.learned(part, others, forms) == {"punch hole", "hole"}


def test_a_form_is_found_as_whole_words_and_in_japanese_anywhere() -> None:
    assert withheld.occurs("DG", withheld.plain("mono, dg both"))
    assert not withheld.occurs("DG", withheld.plain("a dodge"))
    assert withheld.occurs("溝なし", withheld.plain("緑ラベル溝なし"))


def test_the_five_parts_are_the_whole() -> None:
    rows = corpora.load("listings")
    split = withheld.parts(rows)
    assert len(split) == 5
    assert sorted(r["id"] for part in split for r in part) == sorted(r["id"] for r in rows)
    assert all({r["corpus"] for r in part} == {"A", "B"} for part in split)


def _claim(feature: str, quote: str, polarity: str = "present") -> dict[str, Any]:
    return {"feature": feature, "polarity": polarity, "certainty": "certain", "quote": quote}


def test_gains_and_losses_are_told_claim_by_claim() -> None:
    coverage = {"edition.promo": "denied", "label.deep_groove": "stated"}
    gold = [_row("1", "", claims=[_claim("label.deep_groove", "DG"), _claim("edition.promo", "promo", "absent")])]
    gold[0]["coverage"] = coverage
    old = score(gold, {"1": {"claims": [_claim("label.deep_groove", "DG"), _claim("edition.promo", "promo")]}})
    states = [{"feature": f, "state": s} for f, s in coverage.items()]
    new = score(gold, {"1": {"claims": [_claim("edition.promo", "promo", "absent")], "findings": states}})
    assert sorted(compare.changes(old, new)) == [
        "gained 1: edition.promo absent certain “promo”",
        "gained 1: false claim edition.promo present certain “promo”",
        "gained 1: state edition.promo denied",
        "gained 1: state label.deep_groove stated",
        "lost   1: label.deep_groove present certain “DG”",
    ]


def test_nothing_changed_is_nothing_told() -> None:
    rows = corpora.load("languages")
    audits = {r["id"]: {"claims": r["claims"]} for r in rows}
    assert list(compare.changes(score(rows, audits), score(rows, audits))) == []


def test_an_impossible_floor_fails(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(floors, "audit_all", lambda rows, overlays: {})
    path = tmp_path / "floors.toml"
    path.write_text("[listings.at_least]\nclaim_f1 = 0.5\n[listings.at_most]\nfalse_stated = 0.1\n", encoding="utf-8")
    assert [held for held, _ in floors.faults(path)] == [False, True]


def test_f1_of_a_worked_case() -> None:
    """Powers 2011, 'Evaluation: from precision, recall and F-measure to ROC', definitions; numbers by hand."""
    pairs = [("negated", "negated")] * 6 + [("affirmed", "negated")] * 2 + [("negated", "affirmed")] * 4
    precision, recall, f = negation.f1(pairs)
    assert (precision, recall) == (0.75, 0.6)
    assert f == pytest.approx(2 / 3)


def test_a_negation_is_put_before_a_bare_mention_only() -> None:
    row = _row("1", "Nice copy, deep groove, played.", claims=[_claim("label.deep_groove", "deep groove")])
    row["claims"][0] |= {"attribution": "seller", "side": None}
    assert [r["text"] for _, r in changes.negated(row)] == ["Nice copy, no deep groove, played."]
    row["text"] = "It has the deep groove."
    assert list(changes.negated(row)) == []


def test_a_slip_keeps_the_letters() -> None:
    row = _row("1", "with laminated front", claims=[_claim("jacket.construction", "laminated front")])
    changed = changes.misspelt(row, frozenset({"laminated"}))
    assert changed is not None
    assert changed["text"] != row["text"]
    assert sorted(changed["text"]) == sorted(row["text"])


@pytest.mark.parametrize("kind", changes.SAME)
def test_every_change_applies_to_some_listings(kind: str) -> None:
    assert sum(changes.SAME[kind](r) is not None for r in corpora.load("all")) >= 5


def test_the_kit_of_one_liners_is_read_where_present() -> None:
    path = negation.KIT / "listing-cases.jsonl"
    if not path.exists():
        pytest.skip("lies outside the project")
    assert all(r["text"][r["start"] : r["end"]].strip() for r in negation.rows(path))
