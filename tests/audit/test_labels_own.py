"""Records on real labels, as an expert, a layman and a foreigner offer them: era, decisive silence, sources."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from sayso.engine import audit_text
from sayso.lexicon import load_lexicon
from sayso.model import Audit
from sayso.report.terminal import render

LEXICON = load_lexicon(user=False)
PATH = Path(__file__).parents[1] / "corpus" / "labels_own.jsonl"
ROWS = [json.loads(line) for line in PATH.read_text(encoding="utf-8").splitlines()][1:]
IDS = [r["id"] for r in ROWS]


def _audit(row: dict) -> Audit:
    # EmArcy and its like are told by the last of the names that a label is put together from.
    name = LEXICON.labels[row["label"]].name.partition(" (")[0]
    name = name.split(" / ")[-1 if row["label"].startswith("mercury") else 0].rstrip("!")
    text = f"{row['title']}\n\n{row['text']}"
    return audit_text(
        text.replace("{NAME}", name.upper()).replace("{name_small}", name.lower()).replace("{name}", name), LEXICON
    )


@pytest.mark.parametrize("row", ROWS, ids=IDS)
def test_the_label_and_its_eras(row: dict) -> None:
    history = _audit(row).history
    assert history is not None
    assert history.label == row["label"]
    for by, want in (("number", row["by_number"]), ("words", row["by_words"])):
        told = [str(e.earliest)[:4] for e in history.eras if e.by == by]
        assert want in told if want else not told, (by, told)


@pytest.mark.parametrize("row", ROWS, ids=IDS)
def test_the_decisive_silence_and_no_other(row: dict) -> None:
    audit = _audit(row)
    silent = {f.feature for f in audit.findings if f.need == "decisive" and f.state == "silent"}
    assert silent == set(row["silent"])
    asked = {f for q in audit.questions for f in q.features}
    assert not silent or silent & asked


@pytest.mark.parametrize("row", ROWS, ids=IDS)
def test_dates_contradict_only_where_they_do(row: dict) -> None:
    assert bool([c for c in _audit(row).conflicts if c.kind in ("age", "jacket")]) is row["age"]


@pytest.mark.parametrize("row", ROWS, ids=IDS)
def test_the_sources_are_shown(row: dict) -> None:
    audit = _audit(row)
    assert audit.history is not None
    shown = " ".join(render(audit, LEXICON, colour=False).split())
    for era in audit.history.eras:
        assert era.basis != "published" or era.source
        assert " ".join(era.source.split()) in shown
    for proof in audit.proofs:
        assert " ".join(proof.source.split()) in shown


def test_the_letter_behind_the_cut_is_the_cutters_mark() -> None:
    audit = _audit(next(r for r in ROWS if r["id"] == "decca-uk-expert"))
    [proof] = audit.proofs
    assert "Stan Goodall" in proof.proves
    assert "metal" in proof.caution
    claim = audit.claims[proof.claim]
    assert (claim.feature, claim.value, claim.side) == ("deadwax.mastering_mark", "E", "both")
    assert claim.quote == audit.listing.text[claim.start : claim.end]


@pytest.mark.parametrize("style", ["expert", "casual"])
def test_a_number_is_read_as_laymen_write_it(style: str) -> None:
    rows = [r for r in ROWS if r["style"] == style]
    assert len(rows) >= 4
    for row in rows:
        history = _audit(row).history
        assert history is not None
        assert history.number


def test_a_year_behind_the_name_is_no_number() -> None:
    name = next(x.name for x in LEXICON.labels.values() if x.id == "verve")
    history = audit_text(f"{name} 1957 LP, Otha Brill - Slate Quarry\n\nTrumpeter label.", LEXICON).history
    assert history is not None
    assert history.number is None
