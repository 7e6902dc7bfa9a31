"""Twenty annotated conversations: outcomes, states and changes, given what the annotators say is claimed.

The floors are those the project set itself; the figures with the program's own reading of the claims are measured by
`python -m sayso.replies.answers`.
"""

from __future__ import annotations

from pathlib import Path

import pytest

import sayso.claims
from sayso.lexicon import load_lexicon
from sayso.replies.align import align
from sayso.replies.answers import conversations
from sayso.replies.fold import changes, fold, states, withdraw
from sayso.replies.outcomes import outcomes
from tests.replies import gold

LEXICON = load_lexicon(user=False)
READS = {f.id for f in LEXICON.features.values() if f.reads}
ROWS = gold.conversations()
OFFSET = 1_000


def test_there_are_twenty() -> None:
    assert len(ROWS) == 20


def _told(row):  # type: ignore[no-untyped-def]
    claims = gold.reply_claims(row, OFFSET)
    own = [c.model_copy(update={"start": c.start - OFFSET, "end": c.end - OFFSET}) for c in claims]
    aligned = align(row["reply"], gold.asked(row), LEXICON, claims=own)
    deferrals = gold.reply_deferrals(row, OFFSET)
    return aligned, claims, deferrals, outcomes(gold.asked(row), aligned, claims, deferrals, offset=OFFSET, reads=READS)


@pytest.mark.parametrize("row", ROWS, ids=lambda r: r["id"])
def test_what_became_of_each_question(row) -> None:  # type: ignore[no-untyped-def]
    _, _, _, told = _told(row)
    for mine, theirs in zip(told, row["gold"]["per_question"], strict=True):
        assert mine.outcome in [theirs["outcome"], *gold.also(theirs, "also")], (theirs, mine)
        if mine.evidence is not None:
            assert row["reply"][mine.start : mine.start + len(mine.evidence)] == mine.evidence


@pytest.mark.parametrize("row", ROWS, ids=lambda r: r["id"])
def test_nothing_is_told_answered_that_was_not_without_any_claim(row) -> None:  # type: ignore[no-untyped-def]
    aligned = align(row["reply"], gold.asked(row), LEXICON)
    for told in outcomes(gold.asked(row), aligned, [], []):
        assert told.outcome != "answered"


@pytest.mark.parametrize("row", ROWS, ids=lambda r: r["id"])
def test_states_before_and_after_and_kinds_of_change(row) -> None:  # type: ignore[no-untyped-def]
    aligned, claims, deferrals, _ = _told(row)
    before, pointed = gold.listing_claims(row), gold.listing_deferrals(row)
    said, gone = withdraw(claims, [OFFSET + at for at in (*aligned.messages[1:], *aligned.retracts)], LEXICON)
    after, left, fallen = fold(before, pointed, said, deferrals, LEXICON)
    was, now = states(before, pointed, LEXICON), states(after, left, LEXICON)
    told = {c.feature: c for c in changes(gold.asked(row), was, now, before, after, said, (*fallen, *gone))}
    for feature, state in row["gold"]["listing_coverage"].items():
        assert was[feature].state == state
    for change in row["gold"]["changes"]:
        feature = change["feature"]
        assert now[feature].state in [change["after"], *gold.also(change, "after_also")], feature
        assert told[feature].kind == change["kind"], feature
    assert set(told) == {c["feature"] for c in row["gold"]["changes"]}


@pytest.mark.parametrize("row", ROWS, ids=lambda r: r["id"])
def test_every_answer_is_laid_beside_its_question_without_help_from_claims(row) -> None:  # type: ignore[no-untyped-def]
    """The evidence that annotators marked lies in a passage of that question, or of none where it dodges all."""
    aligned = align(row["reply"], gold.asked(row), LEXICON)
    missed = []
    for q in row["gold"]["per_question"]:
        if q["evidence"] is None:
            continue
        start = q["start"]
        touching = [p for p in aligned.passages if p.start < start + len(q["evidence"]) and start < p.end]
        if not any(q["n"] in p.questions for p in touching):
            missed.append((q["n"], q["evidence"]))
    assert missed == KNOWN.get(row["id"], [])


# Only a collector of the invented label knows that a bell and an acorn are marks: the claims tell, the words do not.
KNOWN = {
    # A machine's reply meets no question; what its terms say is a claim all the same.
    "R50": [(3, "Returns are accepted within 30 days, unplayed, postage at the buyer's expense")],
    "R36": [(3, "is no bell")],
    "R44": [(1, "Side one is definite")],
}


def _whole_way() -> tuple[int, int, int]:
    """Questions, those told rightly, and those told answered that were not, with the program's own reading."""
    lexicon = load_lexicon((Path(gold.CORPUS).with_name("world.json"),), user=False)
    rows = {r["id"]: r for r in ROWS}
    right = count = false = 0
    for id, reply in conversations(ROWS, lexicon):
        for mine, theirs in zip(reply.per_question, rows[id]["gold"]["per_question"], strict=True):
            fair = [theirs["outcome"], *gold.also(theirs, "also")]
            count, right = count + 1, right + (mine.outcome in fair)
            false += mine.outcome == "answered" and theirs["outcome"] in ("dodged", "unanswered")
    return count, right, false


reads = pytest.mark.skipif(not hasattr(sayso.claims, "read_answer"), reason="answers are not read yet")


@reads
def test_from_paste_to_outcome_nothing_is_told_answered_that_was_not() -> None:
    count, right, false = _whole_way()
    assert false == 0
    assert right / count >= 0.85


@reads
@pytest.mark.xfail(strict=True, reason="the aim is 0.95; what is missing are readings of single sentences")
def test_from_paste_to_outcome_as_often_right_as_was_aimed_at() -> None:
    count, right, _ = _whole_way()
    assert right / count >= 0.95
