"""The seventeen principles by which a dealer weighs words, each by itself. Trade practice, from memory, no source."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise
from typing import Any

import pytest

from tests.judgement.common import DOSSIER, EXPERT, HEDGE, LABEL, MARK, NAIVE, WAX, WORTH, changed, claim, p, say

BASE = 800 / 2000
PRESENT = claim(MARK, "thistle")
DENIED = claim(MARK, "thistle", polarity="absent")
HEDGED = claim(MARK, "thistle", certainty="hedged", cues=HEDGE)
DESCRIBED = claim(MARK, "thistle", certainty="hedged")
HEARSAY = claim(MARK, "thistle", attribution="third_party")
FAILED = claim(MARK, None, polarity="absent", certainty="hedged")
UNREAD = claim(MARK, None, certainty="unknown")


def test_1_a_silent_layman_stands_at_the_base_rate() -> None:
    assert p(text=NAIVE) == pytest.approx(BASE, abs=0.05)


def test_2_silence_counts_by_how_near_the_seller_has_been_to_the_sign() -> None:
    layman = p(text=NAIVE)
    of_label_and_cover = p({**LABEL, "jacket.construction": "flip-back"}, knows=True)
    same_but_layman = p({**LABEL, "jacket.construction": "flip-back"}, knows=False)
    of_the_wax = p(EXPERT, knows=True)
    assert of_the_wax < 0.6 * of_label_and_cover
    assert of_label_and_cover < same_but_layman
    assert of_the_wax < layman
    found = say(EXPERT, knows=True).odds
    assert found is not None
    [silence] = [m for m in found.moved_by if m.features == (MARK,) and m.what == "silent"]
    assert silence.log_odds < -1.5
    assert silence.sentence.startswith("Silence on ")
    assert "to 1 against" in silence.sentence


def test_2_silence_counts_against_the_good_sign_only() -> None:
    turned = changed(
        parts={
            **DOSSIER["parts"],
            "plant": {"works": {MARK: "none"}, "other": {MARK: "anvil"}},
        }
    )
    assert p(EXPERT, knows=True, dossier=turned) > 3 * p(EXPERT, knows=True)


def test_3_firm_presence_and_a_laymans_picture_of_the_mark_are_about_level() -> None:
    firm = p({**LABEL, MARK: "thistle"}, knows=True)
    pictured = p(LABEL, DESCRIBED, knows=False)
    assert firm > 0.95
    assert pictured > 0.9
    assert firm - pictured < 0.06


def test_4_the_order_of_weight_for_one_sign() -> None:
    expert: dict[str, Any] = {"said": {**LABEL, **WAX}, "knows": True}
    weights = [
        p(LABEL, PRESENT, knows=False),
        p(LABEL, HEDGED, knows=False),
        p(LABEL, deferred=(MARK,), knows=False),
        p(LABEL, knows=False),
        p(LABEL, FAILED, knows=False),
        p(**expert),
        p(**expert, evaded=(MARK,)),
        p({**LABEL, **WAX}, DENIED, knows=True),
    ]
    assert weights == sorted(weights, reverse=True)
    assert all(a > b for a, b in pairwise(weights))
    assert p(LABEL, HEARSAY, knows=False) == pytest.approx(weights[1], abs=0.1)
    assert p(LABEL, UNREAD, knows=False) == pytest.approx(weights[3], abs=0.1)


def test_4_strong_and_rare_facts_outweigh_an_experts_silence() -> None:
    first, later = DOSSIER["pressings"]
    cuts = {"one": {"deadwax.matrix": "MF31-A1"}, "two": {"deadwax.matrix": "MF31-A2"}}
    rare = changed(
        parts={**DOSSIER["parts"], "metal": cuts},
        pressings=[
            {**first, "uses": {**first["uses"], "metal": {"one": 1.0}}},
            {**later, "uses": {**later["uses"], "metal": {"one": 0.01, "two": 0.99}}},
        ],
    )
    assert p({"deadwax.matrix": "MF31-A1"}, knows=True, dossier=rare) > 0.75


def test_5_pointing_at_a_picture_is_neither_silence_nor_a_claim() -> None:
    pointed = p({**LABEL, **WAX}, deferred=(MARK,), knows=True)
    assert p({**LABEL, **WAX}, knows=True) < pointed < p({**LABEL, **WAX}, PRESENT, knows=True) - 0.1


def test_6_a_sign_shared_by_all_candidates_is_no_evidence() -> None:
    found = say({**WAX, **LABEL}, PRESENT, knows=True).odds
    assert found is not None
    [metal] = [m for m in found.moved_by if "deadwax.matrix" in m.features and m.what == "said"]
    # It tells who is selling, and so touches the odds only through the weight of his other words.
    assert metal.log_odds == pytest.approx(0, abs=0.02)


def test_7_what_is_printed_on_one_piece_of_paper_counts_once() -> None:
    once = p({"label.design": "green and gold"}, knows=False)
    twice = p(LABEL, knows=False)
    assert twice == pytest.approx(once, abs=0.02)
    found = say(LABEL, knows=False).odds
    assert found is not None
    [label] = [m for m in found.moved_by if "label.design" in m.features]
    assert set(label.features) == set(LABEL)


def test_7_a_mistake_about_the_label_is_one_mistake_however_much_is_read_off_it() -> None:
    white = {"label.design": "white", "label.address": "900 Corn Quay"}
    one = p({"label.design": "white"}, PRESENT, knows=True)
    two = p(white, PRESENT, knows=True)
    assert two == pytest.approx(one, abs=0.05)


def test_8_left_over_stock_raises_the_odds_by_its_share_and_no_further() -> None:
    found = p(LABEL, knows=False)
    odds = BASE / (1 - BASE) / 0.5
    assert found == pytest.approx(odds / (1 + odds), abs=0.05)


def test_8_the_new_stock_takes_the_odds_to_nought() -> None:
    assert p({"label.design": "white"}, knows=True) < 0.02
    assert p({"label.design": "white", "label.address": "900 Corn Quay"}, knows=False) < 0.03


def test_9_a_late_jacket_does_not_date_the_disc() -> None:
    with_old = p({**LABEL, MARK: "thistle", "jacket.construction": "flip-back"}, knows=True)
    with_new = p({**LABEL, MARK: "thistle", "jacket.construction": "plain"}, knows=True)
    assert with_new > 0.85
    assert with_old - with_new < 0.1
    assert p({"jacket.construction": "flip-back", "label.design": "white"}, knows=True) < 0.05


def test_10_where_the_early_works_left_no_mark_its_absence_speaks_for_the_first() -> None:
    turned = changed(parts={**DOSSIER["parts"], "plant": {"works": {MARK: "none"}, "other": {MARK: "anvil"}}})
    absent = claim(MARK, None, polarity="absent")
    assert p(LABEL, absent, knows=True, dossier=turned) > 0.9
    assert p({**LABEL, MARK: "anvil"}, knows=True, dossier=turned) < 0.03
    # Where the mark is the bad news, silence about it is still the silence of one who would have told good news.
    silent = p({**LABEL, **WAX}, knows=True, dossier=turned)
    layman = p(LABEL, knows=False, dossier=turned)
    assert 0.1 < silent < layman


def test_10_the_cut_decides_where_the_works_went_on() -> None:
    shown = {
        **DOSSIER["parts"],
        "plant": {"works": {MARK: "thistle"}},
        "metal": {"one": {"deadwax.matrix": "MF31-A1"}, "two": {"deadwax.matrix": "MF31-A2"}},
    }
    first, later = DOSSIER["pressings"]
    went_on = changed(
        parts=shown,
        pressings=[
            {**first, "uses": {**first["uses"], "metal": {"one": 1.0}}},
            {**later, "uses": {**later["uses"], "plant": {"works": 1.0}, "metal": {"two": 1.0}}},
        ],
        decides=[{"feature": "deadwax.matrix", "value": "MF31-A1", "pressing": "first"}],
    )
    mark_only = p({**LABEL, MARK: "thistle"}, knows=False, dossier=went_on)
    assert mark_only < p(LABEL, knows=False, dossier=went_on) + 0.01
    assert p({**LABEL, MARK: "thistle", "deadwax.matrix": "MF31-A1"}, knows=True, dossier=went_on) > 0.95
    assert p({**LABEL, MARK: "thistle", "deadwax.matrix": "MF31-A2"}, knows=True, dossier=went_on) < 0.05


def test_11_the_denial_of_the_wrong_mark_is_no_denial_and_no_comfort() -> None:
    wrong = claim(MARK, "windlass", polarity="absent")
    assert p({**LABEL, **WAX}, wrong, knows=True) == pytest.approx(p({**LABEL, **WAX}, knows=True), abs=0.01)


def test_12_physical_detail_beats_an_adjective() -> None:
    shouted = claim("edition.first_pressing")
    plain = p(LABEL, knows=False)
    assert 0 <= p(LABEL, shouted, knows=False) - plain < 0.08
    assert p({"label.design": "white"}, shouted, knows=True) < 0.03
    assert p({**LABEL, MARK: "thistle"}, knows=True) > p(LABEL, shouted, knows=True) + 0.2


def test_12_a_bare_year_is_the_year_of_the_music() -> None:
    bare = claim("edition.year", 1961, role="unspecified")
    assert p(LABEL, bare, knows=False) == pytest.approx(p(LABEL, knows=False), abs=1e-9)
    pressed = claim("edition.year", 1962, role="pressed")
    assert p(LABEL, pressed, knows=False) > p(LABEL, knows=False) + 0.1


def test_13_a_correction_is_believed() -> None:
    first = claim(MARK, "thistle")
    corrected = claim(MARK, "thistle", polarity="absent").model_copy(update={"start": 100, "end": 110})
    assert p(LABEL, first, corrected, knows=True) < 0.1
    other_way = claim(MARK, "thistle").model_copy(update={"start": 100, "end": 110})
    assert p(LABEL, DENIED, other_way, knows=True) > 0.9


def test_14_an_experts_price_tells_and_a_laymans_does_not() -> None:
    cheap = p(LABEL, knows=True, price=65)
    dear = p(LABEL, knows=True, price=290)
    unpriced = p(LABEL, knows=True)
    assert cheap < 0.5 * unpriced
    assert unpriced < dear < 0.8
    assert p(text=NAIVE, price=65) == pytest.approx(p(text=NAIVE), abs=0.04)


def test_14_bids_tell_only_when_the_bidders_can_see_what_the_buyer_has_not() -> None:
    args: dict[str, Any] = {"said": LABEL, "knows": False, "auction": True, "bidders": 6}
    hidden = p(**args, price=280)
    assert hidden == pytest.approx(p(**{**args, "auction": False, "bidders": None}), abs=0.03)
    assert p(**args, price=280, deferred=(MARK,)) > p(**args, price=20, deferred=(MARK,)) + 0.15


def test_15_terms_price_and_auction_do_not_change_the_record() -> None:
    returns = claim("terms.returns", "free")
    assert p({**LABEL, **WAX}, returns, knows=True) == pytest.approx(p({**LABEL, **WAX}, knows=True), abs=1e-9)


def test_15_a_free_return_buys_a_look() -> None:
    returns = claim("terms.returns", "free")
    without = say(LABEL, knows=True, price=180)
    with_return = say(LABEL, returns, knows=True, price=180)
    assert without.advice is not None
    assert with_return.advice is not None
    assert without.advice.do == "ask"
    assert with_return.advice.do == "buy"


def test_15_a_price_under_the_worst_worth_needs_no_question() -> None:
    found = say(LABEL, knows=False, price=55)
    assert found.advice is not None
    assert found.advice.do == "buy"
    assert found.advice.bargain
    assert found.first_question is None


def test_15_a_price_over_the_best_worth_has_no_answer() -> None:
    found = say({**LABEL, MARK: "thistle"}, knows=True, price=320)
    assert found.advice is not None
    assert found.advice.do == "pass"
    assert found.first_question is None


def test_15_a_crowd_eats_the_bargain() -> None:
    args: dict[str, Any] = {"price": 230, "auction": True, "hours_left": 1}
    alone = say(LABEL, DESCRIBED, knows=False, bidders=1, **args).advice
    crowd = say(LABEL, DESCRIBED, knows=False, bidders=12, **args).advice
    assert alone is not None
    assert crowd is not None
    assert alone.ceiling is not None
    assert crowd.ceiling is not None
    assert crowd.ceiling < alone.ceiling
    assert (alone.do, crowd.do) == ("buy", "pass")
    assert any("overrates" in n for n in crowd.notes)


def test_16_a_question_is_worth_asking_only_where_its_answer_can_change_the_decision() -> None:
    between = say({**LABEL, **WAX}, knows=True, price=150)
    assert between.advice is not None
    assert between.advice.do == "ask"
    assert between.first_question == MARK
    assert between.values[MARK][1] == "money"
    assert between.values["deadwax.matrix" if "deadwax.matrix" in between.values else "label.design"][0] < 0.01
    for price in (50, 299):
        settled = say({**LABEL, MARK: "thistle"} if price == 50 else {"label.design": "white"}, knows=True, price=price)
        assert settled.first_question is None


def test_16_asking_a_layman_may_cost_the_bargain() -> None:
    found = say(LABEL, DESCRIBED, knows=False, price=90)
    assert found.advice is not None
    assert found.advice.do == "buy"
    assert found.advice.bargain


def test_17_where_nothing_can_tell_all_words_are_alike_and_the_worth_is_the_mixture() -> None:
    first, later = DOSSIER["pressings"]
    blind = changed(
        parts={"metal": DOSSIER["parts"]["metal"]},
        pressings=[{**first, "uses": {"metal": {"one": 1.0}}}, {**later, "uses": {"metal": {"one": 1.0}}}],
        decides=[],
    )
    words = [
        p(WAX, knows=True, dossier=blind, price=200),
        p(None, claim("edition.first_pressing"), knows=True, dossier=blind, price=290),
        p(text=NAIVE, dossier=blind, price=60),
    ]
    assert words == pytest.approx([BASE] * 3, abs=1e-6)
    worth = say(WAX, knows=True, dossier=blind, price=200).worth
    assert worth is not None
    assert float(worth.expected) == pytest.approx(BASE * 300 + (1 - BASE) * 60, abs=1)


def test_what_clashes_is_asked_first() -> None:
    found = say({"label.design": "white", MARK: "thistle"}, knows=True, price=100)
    assert found.advice is not None
    assert found.advice.do == "ask"
    assert found.first_question in (MARK, "label.design")
    assert "fit together" in found.advice.why


def test_the_expert_who_is_silent_the_naive_and_the_honest_get_three_answers() -> None:
    silent = say(EXPERT, knows=True, price=200)
    naive = say(text=NAIVE, price=40)
    honest = say(EXPERT, DENIED, knows=True, price=90)
    assert [x.advice.do for x in (silent, naive, honest) if x.advice] == ["ask", "buy", "pass"]
    chances = [x.odds.p_first for x in (naive, silent, honest) if x.odds]
    assert chances == sorted(chances, reverse=True)
    assert chances[0] > 2 * chances[1] > 4 * chances[2]


def test_money_is_exact() -> None:
    found = say({**LABEL, MARK: "thistle"}, knows=True, price=200)
    assert found.worth is not None
    assert found.worth.by_pressing == WORTH
    assert isinstance(found.worth.expected, Decimal)


def test_a_question_quoted_in_the_listing_and_passed_over_is_heard() -> None:
    plain = "Green and gold label, OLW. VG+."
    asked = plain + " Some of you asked about the thistle: it is an old record and I love it."
    assert p({**LABEL, **WAX}, text=asked, knows=True) < p({**LABEL, **WAX}, text=plain, knows=True)
    answered = p({**LABEL, **WAX}, PRESENT, text=asked, knows=True)
    assert answered > 0.95


def test_13_a_dated_purchase_rules_out_what_was_made_later() -> None:
    assert p(text="My father bought it new in 1962. Plays.") > p(text="My father bought it. Plays.") + 0.2
    assert p(text="My father bought it new in 1969. Plays.") == pytest.approx(BASE, abs=0.05)


def test_a_bargain_that_is_mostly_a_loss_is_called_a_gamble() -> None:
    found = say(text=NAIVE, price=120)
    assert found.advice is not None
    assert found.advice.cautious_ceiling is not None
    risky = found.advice.do == "buy" and found.advice.cautious_ceiling < 120
    assert any("gamble" in n for n in found.advice.notes) == risky
    cheap = say(text=NAIVE, price=20).advice
    assert cheap is not None
    assert cheap.do == "buy"
    assert not any("gamble" in n for n in cheap.notes)
