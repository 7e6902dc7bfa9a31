"""The scenarios in tests/corpus/decisions.jsonl: orders, ties, bounds, advice, first questions.

From what a good reader takes of each text (`gold.reads`), so this is a test of the judgement alone; the same from whole
audits is in the evaluation. The orders are a dealer's (trade practice, from memory).
"""

from __future__ import annotations

import json
from collections import Counter
from functools import cache
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest

from sayso.judgement.answers import answers

CORPUS = Path(__file__).parents[1] / "corpus" / "decisions.jsonl"


def scenarios() -> list[dict[str, Any]]:
    rows = [json.loads(line) for line in CORPUS.read_text(encoding="utf-8").splitlines()]
    assert "provenance" in rows[0]
    return rows[1:]


@cache
def given() -> dict[tuple[str, str], dict[str, Any]]:
    return {(a["id"], a["v"]): a for a in answers(CORPUS, reads=True)}


@pytest.mark.parametrize("row", scenarios(), ids=lambda r: r["id"])
def test_order_and_ties(row: dict[str, Any]) -> None:
    chance = {v["v"]: given()[row["id"], v["v"]]["p_first"] for v in row["variants"]}
    tiers = [t if isinstance(t, list) else [t] for t in row["gold"]["order_first_pressing"]]
    for better, worse in combinations(tiers, 2):
        assert min(chance[x] for x in better) > max(chance[x] for x in worse)
    for same in row["gold"].get("same", []):
        values = [chance[v] for v in same]
        assert max(values) - min(values) <= 0.06


def test_bounds_advice_and_first_questions() -> None:
    n: Counter[str] = Counter()
    for row in scenarios():
        gold = row["gold"]
        for v in (x["v"] for x in row["variants"]):
            a = given()[row["id"], v]
            low, high = gold["bounds"][v]
            n["bounds"] += 1
            n["bounds kept"] += low <= a["p_first"] <= high
            wanted = gold["advice"][v]
            n[wanted] += 1
            n[f"{wanted} right"] += a["advice"] in (wanted, *gold.get("advice_also", {}).get(v, []))
            question = gold["first_question"][v]
            if question is not None:
                n["questions"] += 1
                allowed = (question, *gold.get("first_question_also", {}).get(v, []))
                n["questions right"] += a["first_question"] in allowed
    assert n["bounds kept"] >= 0.95 * n["bounds"]
    assert n["questions right"] >= 0.95 * n["questions"]
    for advice in ("buy", "ask", "pass"):
        assert n[f"{advice} right"] >= 0.9 * n[advice]
