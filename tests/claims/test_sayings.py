"""One-liners: a feature said in one way of many. Those not read yet are listed, strictly."""

from __future__ import annotations

import json

import pytest

from sayso.engine import audit_text
from sayso.lexicon import load_lexicon
from tests.evaluation.corpora import CORPUS

LEXICON = load_lexicon((CORPUS / "world.json",), user=False)
NOT_YET = frozenset(
    [
        "S031",
        "S178",
        "S209",
        "S286",
        "S496",
        "S546",
        "S541",
        "P142",
        "P143",
        "P144",
        "P145",
        "P146",
        "P147",
        "P148",
        "P149",
        "W038",
        "W106",
        "W124",
        "W140",
        "W141",
        "W157",
        "W158",
        "W168",
        "W171",
        "W176",
        "W209",
        "W211",
    ]
)


def rows() -> list[object]:
    with (CORPUS / "sayings.jsonl").open(encoding="utf-8") as lines:
        found = [row for line in lines if "provenance" not in (row := json.loads(line))]
    return [
        pytest.param(row, id=row["id"], marks=[pytest.mark.xfail(strict=True)] if row["id"] in NOT_YET else [])
        for row in found
    ]


@pytest.mark.parametrize("row", rows())
def test_a_saying(row: dict[str, object]) -> None:
    claims = [
        c for c in audit_text(f"Old record for sale\n\n{row['text']}", LEXICON).claims if c.feature == row["feature"]
    ]
    if not row["claimed"]:
        assert not claims, claims
        return
    wanted = (row["polarity"], row["certainty"], row["attribution"])
    assert claims, row
    assert {(c.polarity, c.certainty, c.attribution) for c in claims} == {wanted}, claims
    if "value" in row:
        assert any(str(row["value"]) in str(c.value) for c in claims), claims
