"""A listing that changes, and the record in hand against what was said. All invented."""

from __future__ import annotations

from pathlib import Path

import pytest

from sayso.casebook.arrival import ZONES, Found, checklist, found_from, judge
from sayso.casebook.book import Case
from sayso.casebook.changed import compare
from sayso.replies.answers import answer_reply
from sayso.replies.fold import fold
from sayso.report.conversation import arrival_text, changed_text, checklist_text
from tests.casebook.sample import ASKED, LEXICON, audit, book, claim

NOW = 'Dulcie Marram "Ebb" Sandglass SGL 9\n\nEarly pressing. Kettle, I think. Cover VG+ to EX. Played once.'


def changed_audit():  # type: ignore[no-untyped-def]
    return audit(
        NOW,
        claims=(
            claim(NOW, "Kettle, I think", "deadwax.plant_mark", value="kettle", certainty="hedged"),
            claim(NOW, "VG+", "condition.jacket_grade", value="VG+"),
            claim(NOW, "Played once", "condition.play_tested", value="played"),
        ),
    )


def test_what_appeared_vanished_and_weakened() -> None:
    found = {c.feature: c for c in compare(audit(), changed_audit(), ["edition.original"])}
    assert {f: c.what for f, c in found.items()} == {
        "edition.original": "vanished",
        "deadwax.plant_mark": "weakened",
        "condition.play_tested": "appeared",
    }
    gone = found["edition.original"]
    assert gone.words_before == ("Original pressing",)
    assert gone.words_now == ()
    assert gone.asked
    assert found["deadwax.plant_mark"].words_before == ("Kettle in the run-out",)
    assert found["deadwax.plant_mark"].words_now == ("Kettle, I think",)


def test_what_was_asked_about_comes_first() -> None:
    assert compare(audit(), changed_audit(), ["condition.play_tested"])[0].feature == "condition.play_tested"


def test_the_same_listing_has_not_changed() -> None:
    assert compare(audit(), audit()) == ()
    assert "same as before" in changed_text((), LEXICON)


def test_a_denial_turns_a_claim_round() -> None:
    text = "T\n\nNo kettle there."
    now = audit(text, claims=(claim(text, "No kettle", "deadwax.plant_mark", value="kettle", polarity="absent"),))
    assert {c.feature: c.what for c in compare(audit(), now)}["deadwax.plant_mark"] == "turned"


def test_the_change_is_shown_with_the_words_of_both() -> None:
    shown = changed_text(compare(audit(), changed_audit(), ["edition.original"]), LEXICON)
    assert "before: 'Original pressing'" in shown
    assert "you had asked about this" in shown


def a_case(tmp_path: Path, p: float | None = 0.7) -> Case:
    """A case whose reply takes the kettle back and adds a play test."""
    made = audit(p=p)
    reply = answer_reply(made, "1. no, none\n2. played it twice", ASKED, LEXICON)
    text = reply.audit.listing.text
    said = [
        claim(text, "no, none", "deadwax.plant_mark", polarity="absent", segment="reply"),
        claim(text, "played it twice", "condition.play_tested", value="played", segment="reply"),
    ]
    claims, _, _ = fold(made.claims, (), said, (), LEXICON)
    reply = reply.model_copy(update={"audit": reply.audit.model_copy(update={"claims": claims, "odds": made.odds})})
    with book(tmp_path / "b.sqlite") as b:
        number = b.save_audit(made, lexicon=LEXICON)
        b.record_reply(number, reply, lexicon=LEXICON)
        return b.load_case(number)


def test_the_checklist_goes_from_the_parcel_to_the_play(tmp_path: Path) -> None:
    checks = checklist(a_case(tmp_path), LEXICON)
    places = [ZONES.index(c.zone) for c in checks]
    assert places == sorted(places)
    assert checks[0].zone == "parcel"
    assert checks[-1].feature == "condition.play_tested"
    by = {c.feature: c for c in checks}
    assert {"edition.original", "deadwax.plant_mark", "condition.jacket_grade"} <= set(by)
    kettle = by["deadwax.plant_mark"]
    assert [(p.quote, p.source) for p in kettle.promises] == [
        ("Kettle in the run-out", "listing"),
        ("no, none", "reply"),
    ]
    assert all(p.date for p in kettle.promises)
    shown = checklist_text(checks, LEXICON)
    assert "'Kettle in the run-out' (listing, " in shown
    assert shown.index("parcel") < shown.index("Kettle in the run-out")


def test_what_differs_is_told_to_the_seller_in_his_own_words(tmp_path: Path) -> None:
    case = a_case(tmp_path)
    checks = checklist(case, LEXICON)
    found = [
        Found(id="condition.jacket_grade", result="not as described", seen="seam split along the whole top"),
        Found(id="condition.play_tested", result="as described"),
        Found(id="edition.original", result="better", seen="a first"),
    ]
    arrival = judge(checks, found, date="2026-01-09", lexicon=LEXICON, audit=case.audit, pressing="first")
    assert arrival.verdict == "not as described"
    assert arrival.first is True
    assert "VG+' (in the listing, " in arrival.message
    assert "seam split along the whole top" in arrival.message
    assert "played it twice" not in arrival.message
    assert "Original pressing" not in arrival.message
    shown = arrival_text(arrival, LEXICON)
    assert "Not as described in 1 of 3 points" in shown
    assert "law where you live" in shown


def test_all_well_needs_no_complaint_and_unseen_is_not_well(tmp_path: Path) -> None:
    case = a_case(tmp_path)
    checks = checklist(case, LEXICON)
    fine = judge(checks, [Found(id=checks[0].id, result="as described")], date="d", lexicon=LEXICON, audit=case.audit)
    assert fine.verdict == "as described"
    assert "differs" not in fine.message
    unseen = judge(checks, [], date="d", lexicon=LEXICON, audit=case.audit)
    assert unseen.verdict == "not checked"
    assert unseen.message == ""
    assert unseen.first is None


@pytest.mark.parametrize(
    ("data", "says"),
    [
        ({"label.nothing": "y"}, "no check"),
        ({"condition.jacket_grade": "perhaps"}, "no result"),
        ("y", "object"),
        ([{"result": "y"}], "no id"),
        ({"condition.jacket_grade": "y", "pressing": 3}, "pressing"),
    ],
)
def test_a_list_of_findings_that_cannot_be_used_says_why(tmp_path: Path, data: object, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        found_from(data, checklist(a_case(tmp_path), LEXICON))


def test_findings_from_a_file(tmp_path: Path) -> None:
    checks = checklist(a_case(tmp_path), LEXICON)
    found, pressing = found_from({"condition.jacket_grade": "N: split: at the top", "pressing": "first"}, checks)
    assert found == [Found(id="condition.jacket_grade", result="not as described", seen="split: at the top")]
    assert pressing == "first"
