"""The annotated corpora are sound, and the evaluation scores them as the checker that came with them does."""

from __future__ import annotations

import json
import random
import subprocess
import sys
from pathlib import Path
from typing import Any, get_args

import pytest

from sayso.lexicon import load_lexicon
from sayso.model import Attribution, Certainty, Polarity, Side, State
from tests.evaluation import corpora
from tests.evaluation.score import overlap, score

CHECKER = Path(__file__).resolve().parents[3] / "shared" / "checks" / "score_claims"
ROLES = {"pressed", "released", "recorded", "unspecified"}
ALL = [pytest.param(row, id=row["id"]) for row in (*corpora.load("all"), *corpora.load("blind"))]


@pytest.fixture(scope="module")
def features() -> frozenset[str]:
    return frozenset(f.id for f in load_lexicon().features.values() if f.audited)


@pytest.mark.parametrize("name", [*corpora.NAMES, *corpora.READ_ALONE])
def test_first_line_says_where_the_listings_come_from(name: str) -> None:
    first = (corpora.CORPUS / f"{name}.jsonl").read_text(encoding="utf-8").split("\n", 1)[0]
    assert json.loads(first)["provenance"]


def test_no_listing_is_there_twice() -> None:
    rows = [*corpora.load("all"), *corpora.load("blind")]
    assert len({r["id"] for r in rows}) == len(rows)
    assert len({r["title"] + r["text"] for r in rows}) == len(rows)


@pytest.mark.parametrize("row", ALL)
def test_quotes_are_in_the_listing(row: dict[str, Any]) -> None:
    for noted in (*row["claims"], *row["deferrals"], *row["traps"]):
        assert noted["quote"]
        assert noted["quote"] in row["title"] or noted["quote"] in row["text"]


@pytest.mark.parametrize("row", ALL)
def test_gold_uses_the_names_of_the_guide(row: dict[str, Any], features: frozenset[str]) -> None:
    assert set(row["coverage"]) == features
    assert set(row["coverage"].values()) <= set(get_args(State))
    assert set(row["must_ask"]) <= features
    for claim in row["claims"]:
        assert claim["feature"] in features
        assert claim["polarity"] in get_args(Polarity)
        assert claim["certainty"] in get_args(Certainty)
        assert claim["attribution"] in get_args(Attribution)
        assert claim["side"] in (None, *get_args(Side))
        assert (claim["feature"] == "edition.year") == (claim.get("role") in ROLES)


@pytest.mark.parametrize("row", ALL)
def test_gold_coverage_follows_from_gold_claims(row: dict[str, Any]) -> None:
    """Only what the guide leaves no choice about: who is spoken of, and in which tone at all."""
    for feature, state in row["coverage"].items():
        claims = [c for c in row["claims"] if c["feature"] == feature]
        firm = [c for c in claims if c["certainty"] == "certain" and c["attribution"] == "seller"]
        deferred = any(d["feature"] == feature for d in row["deferrals"])
        if state == "silent":
            assert not claims
            assert not deferred
        elif state == "deferred":
            assert deferred
        elif state == "stated":
            assert any(c["polarity"] == "present" for c in firm)
        elif state == "denied":
            assert firm
            assert all(c["polarity"] == "absent" for c in firm)
        else:
            assert claims


def _noisy(row: dict[str, Any], rng: random.Random) -> dict[str, Any]:
    """An audit that is wrong in ways that a reader can be wrong."""
    claims = [dict(c) for c in row["claims"] if rng.random() > 0.15]
    for claim in claims:
        draw = rng.random()
        if draw < 0.1:
            claim["certainty"] = rng.choice(get_args(Certainty))
        elif draw < 0.2:
            claim["polarity"] = rng.choice(get_args(Polarity))
        elif draw < 0.3:
            claim["value"] = rng.choice([None, "VG", 1967, "x"])
        elif draw < 0.4:
            words = claim["quote"].split()
            claim["quote"] = " ".join(words[rng.randrange(len(words)) :])
    claims += [{**t, "polarity": "present", "certainty": "certain"} for t in row["traps"] if rng.random() < 0.2]
    claims += [dict(c) for c in row["claims"] if rng.random() < 0.1]
    states = list(get_args(State))
    findings = [
        {"feature": f, "state": s if rng.random() > 0.1 else rng.choice(states)} for f, s in row["coverage"].items()
    ]
    asked = [{"features": rng.sample(sorted(row["coverage"]), 2)} for _ in range(rng.randrange(8))]
    asked += [{"features": [f]} for f in row["must_ask"][:2]]
    rng.shuffle(asked)
    return {"listing": {"id": row["id"]}, "claims": claims, "findings": findings, "questions": asked}


@pytest.mark.skipif(not CHECKER.exists(), reason="the checker lies outside the project")
@pytest.mark.parametrize("name", corpora.NAMES)
@pytest.mark.parametrize("seed", range(3))
def test_scores_agree_with_the_checker(name: str, seed: int, tmp_path: Path) -> None:
    rng = random.Random(seed)
    rows = corpora.load(name)
    audits = {r["id"]: _noisy(r, rng) for r in rows if rng.random() > 0.05}
    (tmp_path / "gold.jsonl").write_text("\n".join(json.dumps(r) for r in rows), encoding="utf-8")
    (tmp_path / "audits.jsonl").write_text("\n".join(json.dumps(a) for a in audits.values()), encoding="utf-8")
    command = [sys.executable, str(CHECKER), str(tmp_path / "gold.jsonl"), str(tmp_path / "audits.jsonl"), "--json"]
    printed = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    assert score(rows, audits).figures() == json.loads(printed)


def test_perfect_audits_score_perfectly() -> None:
    rows = corpora.load("listings")
    audits = {
        r["id"]: {
            "claims": r["claims"],
            "findings": [{"feature": f, "state": s} for f, s in r["coverage"].items()],
            "questions": [{"features": [f]} for f in r["must_ask"]],
        }
        for r in rows
    }
    told = score(rows, audits).figures()
    assert (told["coverage_accuracy"], told["claim_f1"], told["value_accuracy"]) == (1.0, 1.0, 1.0)
    assert (told["must_ask_recall_at_5"], told["trapped"]) == (1.0, 0)


def test_an_empty_quote_overlaps_nothing() -> None:
    assert not overlap("", "deep groove")
    assert overlap("DEEP&nbsp;GROOVE <b>both</b>", "deep groove both sides")
