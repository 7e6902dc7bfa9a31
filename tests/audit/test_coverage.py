"""What a buyer needs depends on what is claimed; silences that tell are said out loud."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sayso.audit.coverage import Standing, cover
from sayso.lexicon import load_lexicon
from sayso.model import Claim, Segment

LEXICON = load_lexicon()
AUDITED = [f.id for f in LEXICON.features.values() if f.audited]
STATES = ("stated", "denied", "hedged", "unknown", "deferred", "silent", "conflicting")


def claim(feature: str, value: str | None = None, polarity: str = "present", item: int | None = None) -> Claim:
    return Claim(feature=feature, polarity=polarity, value=value, quote="x", start=0, end=1, item=item)  # type: ignore[arg-type]


def findings(standing: dict[str, Standing], claims: list[Claim] | None = None, **more):  # type: ignore[no-untyped-def]
    made = cover(standing, claims or [], LEXICON, **more)
    return made, {f.feature: f for f in made.findings}


def test_every_audited_feature_has_one_finding_and_a_reason() -> None:
    made, _by = findings({})
    assert [f.feature for f in made.findings] == AUDITED
    assert len(AUDITED) == 33  # the list of the design
    assert all(f.why.endswith(".") and len(f.why) < 160 for f in made.findings)


def test_a_first_pressing_hangs_on_the_disc_and_not_on_paper() -> None:
    _, by = findings({"edition.first_pressing": Standing("stated")})
    assert by["deadwax.plant_mark"].need == "decisive"
    assert by["label.address"].need == by["jacket.construction"].need == "supporting"


def test_an_open_reissue_needs_no_plant_mark() -> None:
    _, by = findings({"edition.reissue": Standing("stated")})
    assert by["deadwax.plant_mark"].need == "helpful"
    assert by["edition.first_pressing"].need == "none"


def test_reissue_beside_original_is_still_judged_as_an_original() -> None:
    made, by = findings({"edition.reissue": Standing("conflicting"), "edition.original": Standing("conflicting")})
    assert "original" in made.profiles
    assert "later" not in made.profiles
    assert by["deadwax.plant_mark"].need == "decisive"


def test_a_sealed_copy_cannot_have_been_played() -> None:
    made, by = findings({"condition.vinyl_grade": Standing("stated", (0,))}, [claim("condition.vinyl_grade", "sealed")])
    assert "sealed" in made.profiles
    assert by["condition.play_tested"].need == "none"
    assert made.ask["condition.play_tested"] == 0


def test_nobody_is_asked_to_look_inside_a_sealed_copy() -> None:
    standing = {"condition.vinyl_grade": Standing("stated", (0,)), "edition.original": Standing("stated")}
    made, by = findings(
        standing, [claim("condition.vinyl_grade", "sealed")], decides={"deadwax.plant_mark": "a small wheel"}
    )
    unseen = [f for f in by if f.startswith(("deadwax.", "label."))]
    assert all(made.ask.get(f, 0) == 0 for f in unseen)
    assert max(made.ask, key=made.ask.__getitem__) == "jacket.barcode"
    assert made.hidden >= {"deadwax.plant_mark", "label.design"}
    # A reissue in wrap comes from a shop, which may have opened another.
    again, _ = findings(
        {**standing, "edition.original": Standing(), "edition.reissue": Standing("stated")},
        [claim("condition.vinyl_grade", "sealed")],
    )
    assert again.ask["deadwax.matrix"] > 0


@pytest.mark.parametrize(("size", "single"), [("7", True), (7, True), ("7 inch", True), ("78", False), ("10", False)])
def test_values_are_matched_as_whole_words(size: object, single: bool) -> None:
    made, _ = findings({"format.size": Standing("stated", (0,))}, [claim("format.size", size)])  # type: ignore[arg-type]
    assert ("single" in made.profiles) is single


@pytest.mark.parametrize(
    ("years", "late"),
    [((1972,), True), (("1970s",), False), (("1980s",), True), ((1958, 1978), False), ((), False), (("circa",), False)],
)
def test_no_ring_is_asked_for_once_the_dies_had_gone(years: tuple[object, ...], late: bool) -> None:
    # Source: the fact `deep-groove-ring` (common practice: gone nearly everywhere by the end of 1971).
    claims = [claim("edition.year", y) for y in years]  # type: ignore[arg-type]
    made, by = findings({"edition.original": Standing("stated")}, claims)
    assert ("late" in made.profiles) is late
    assert (made.ask["label.deep_groove"] < 10) is late
    _, decided = findings({}, claims, decides={"label.deep_groove": "both sides"})
    assert decided["label.deep_groove"].need == "decisive", "a dossier knows better"
    assert by["label.deep_groove"].why


def test_a_lot_is_known_by_its_items() -> None:
    made, _by = findings({}, segments=[Segment(kind="description", start=0, end=1, item=n) for n in (1, 2)])
    assert "lot" in made.profiles
    one, _ = findings({}, segments=[Segment(kind="description", start=0, end=1, item=1)])
    assert "lot" not in one.profiles


def test_a_dossier_overrides_what_is_decisive() -> None:
    standing = {"edition.original": Standing("stated")}
    made, by = findings(standing, decides={"deadwax.plant_mark": "a small wheel"})
    assert by["deadwax.plant_mark"].need == "decisive"
    assert "a small wheel" in by["deadwax.plant_mark"].why
    assert by["deadwax.matrix"].need == "supporting"
    assert max(made.ask, key=made.ask.__getitem__) == "deadwax.plant_mark"


def test_selective_silence_is_said_out_loud() -> None:
    standing = {
        "edition.original": Standing("stated"),
        "deadwax.mastering_mark": Standing("stated", (0,)),
        "deadwax.matrix": Standing("stated", (1,)),
    }
    claims = [claim("deadwax.mastering_mark", "QX"), claim("deadwax.matrix", "A-1")]
    made, _ = findings(standing, claims)
    assert len(made.silence) == 1
    assert "pressing plant's mark" in made.silence[0]
    assert "numbers in the run-out" in made.silence[0]


def test_no_seller_is_held_to_a_sign_that_his_label_may_not_bear() -> None:
    standing = {
        "edition.original": Standing("stated"),
        **{f: Standing("stated", (0,)) for f in ("deadwax.matrix", "deadwax.mastering_mark", "deadwax.plant_mark")},
    }
    claims = [claim("deadwax.matrix", "A-1")]
    assert findings(standing, claims)[0].silence == ()
    known, _ = findings(standing, claims, tells=(("deadwax.stamper_code", "an early stamper"),))
    assert "stamper codes" in known.silence[0]


@pytest.mark.parametrize(
    "standing",
    [
        {},  # nothing described: silence of everything tells nothing selective
        {"edition.original": Standing("stated"), "deadwax.mastering_mark": Standing("hedged")},  # a seller who wonders
        {
            "edition.original": Standing("stated"),
            "deadwax.matrix": Standing("stated"),
            "deadwax.plant_mark": Standing("denied"),
            "deadwax.mastering_mark": Standing("stated"),
            "deadwax.stamper_code": Standing("stated"),
        },  # nothing decisive is left out
    ],
)
def test_silence_is_not_read_into_what_is_no_selection(standing: dict[str, Standing]) -> None:
    made, _ = findings(standing)
    assert made.silence == ()


def test_label_described_and_run_out_not() -> None:
    standing = {f: Standing("stated") for f in ("edition.original", "label.address", "label.deep_groove")}
    made, _ = findings(standing)
    assert len(made.silence) == 1
    assert "nothing at all of the run-out" in made.silence[0]


def test_a_number_mentioned_without_its_characters_is_still_asked_for() -> None:
    told, _ = findings({"deadwax.matrix": Standing("stated", (0,))}, [claim("deadwax.matrix", "A-1")])
    bare, _ = findings({"deadwax.matrix": Standing("stated", (0,))}, [claim("deadwax.matrix")])
    assert told.ask["deadwax.matrix"] == 0 < bare.ask["deadwax.matrix"]
    assert "deadwax.matrix" in bare.bare


@given(st.dictionaries(st.sampled_from(AUDITED), st.sampled_from(STATES)))
def test_any_states_at_all_give_every_finding(states: dict[str, str]) -> None:
    standing = {f: Standing(s) for f, s in states.items()}  # type: ignore[arg-type]
    made, by = findings(standing)
    assert list(by) == AUDITED
    assert {f: x.state for f, x in by.items()} == {f: states.get(f, "silent") for f in AUDITED}
    assert all(score >= 0 for score in made.ask.values())
    # what is settled is not asked again; what contradicts itself always is
    assert all(made.ask[f] == 0 for f, s in states.items() if s in ("stated", "denied"))
    assert all(made.ask[f] > 100 for f, s in states.items() if s == "conflicting")
