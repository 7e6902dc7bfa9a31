"""Annotated replies read from paste to state: how often the outcome of a question and the state after it are right.

`own_replies.jsonl` was written by us, `replies.jsonl` by other hands; no rule is tuned to the rows marked `held_out`.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from sayso.lexicon import load_lexicon
from sayso.replies.answers import conversations

CORPUS = Path(__file__).resolve().parents[1] / "corpus"
FILES = {"replies": "replies.jsonl", "own_replies": "own_replies.jsonl"}


def load(name: str) -> list[dict[str, Any]]:
    """The rows of 'replies', 'own_replies', 'own_replies.held_out' or 'own_replies.open'."""
    head, _, part = name.partition(".")
    with (CORPUS / FILES[head]).open(encoding="utf-8") as lines:
        rows = [row for line in lines if "provenance" not in (row := json.loads(line))]
    return [r for r in rows if not part or r["held_out"] == (part == "held_out")]


def figures(rows: Sequence[Mapping[str, Any]]) -> dict[str, float]:
    """Shares of right outcomes and right states, and how many questions are told answered that were not."""
    lexicon = load_lexicon((CORPUS / "world.json",), user=False)
    told = dict(conversations(rows, lexicon))
    count: Counter[str] = Counter()
    for row in rows:
        reply = told[row["id"]]
        outcome = {q.n: q.outcome for q in reply.per_question}
        for q in row["gold"]["per_question"]:
            also = _several(q.get("also"))
            count["questions"] += 1
            count["right"] += outcome[q["n"]] in (q["outcome"], *also)
            not_met = q["outcome"] in ("dodged", "unanswered") and "answered" not in also
            count["falsely"] += not_met and outcome[q["n"]] == "answered"
        state = {f.feature: f.state for f in reply.audit.findings}
        for c in row["gold"]["changes"]:
            count["states"] += 1
            count["kept"] += state.get(c["feature"], "silent") in (c["after"], *_several(c.get("after_also")))
    return {
        "outcomes": count["right"] / count["questions"],
        "states": count["kept"] / count["states"],
        "falsely_answered": count["falsely"],
    }


def _several(value: object) -> tuple[str, ...]:
    return (value,) if isinstance(value, str) else tuple(value) if isinstance(value, list) else ()
