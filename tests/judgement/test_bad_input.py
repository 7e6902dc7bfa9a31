"""Odd input: a clear reason, and never an exception from `judge`."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from sayso.judgement import Costs, JudgementError, Offer, judge
from sayso.judgement.assume import draw
from sayso.judgement.dossier import take
from sayso.judgement.sales import read_sales
from sayso.judgement.worth import estimate, robust, share_of_mint
from sayso.lexicon import LexiconError, load_lexicon
from sayso.lexicon.assumptions import Assumption
from sayso.model import Dating, Listing
from tests.judgement.common import DOSSIER, EXPERT, LEXICON, MARK, WORTH, changed, claim, say


@pytest.mark.parametrize(
    ("dossier", "words"),
    [
        (changed(counts_as_first=["third"]), "third"),
        (changed(pressings=[{**DOSSIER["pressings"][0], "uses": {"label": {"old": 1.4}}}]), "within 0 to 1"),
        (changed(pressings=[{**DOSSIER["pressings"][0], "uses": {"label": {"old": 0.4}}}]), "add up"),
        (changed(pressings=[{**DOSSIER["pressings"][0], "uses": {"label": {"mauve": 1.0}}}]), "mauve"),
        (changed(pressings=[{**DOSSIER["pressings"][0], "uses": {"spine": {"a": 1.0}}}]), "spine"),
        (changed(pressings=[DOSSIER["pressings"][0], DOSSIER["pressings"][0]]), "twice"),
        (changed(pressings=[{**DOSSIER["pressings"][0], "copies": 0}]), "no copies"),
        (changed(pressings=[{**DOSSIER["pressings"][0], "copies": -3}]), "copies"),
        (changed(assume={"knows": 1.4}), "knows"),
        (changed(assume={"nose": 0.4}), "nose"),
    ],
)
def test_an_unusable_dossier_gives_no_odds_and_says_why(dossier: Any, words: str) -> None:
    found = say(EXPERT, dossier=dossier, price=100)
    assert found.odds is None
    assert found.why_no_odds is not None
    assert words in found.why_no_odds


@pytest.mark.parametrize("dossier", [None, {"label": "Marrowfield", "pressings": []}])
def test_without_a_dossier_no_odds_are_invented(dossier: Any) -> None:
    found = judge((), (), Listing(text="x"), dossier, Offer(), LEXICON)
    assert found.odds is None
    assert found.why_no_odds is not None
    assert found.advice is None


@pytest.mark.parametrize(("price", "do"), [(50, "buy"), (150, "ask"), (310, "pass")])
def test_without_a_dossier_a_price_outside_the_worths_still_settles_it(price: int, do: str) -> None:
    offer = Offer(Decimal(price), "USD", worth=WORTH)
    found = judge((), (), Listing(text="x"), None, offer, LEXICON)
    assert found.advice is not None
    assert found.advice.do == do


def test_sales_without_a_dossier_are_said_to_be_of_no_use() -> None:
    found = judge((), (), Listing(text="x"), None, Offer(Decimal(5), "USD", sold="sold.csv"), LEXICON)
    assert found.why_no_worth is not None
    assert "--worth later=" in found.why_no_worth


def test_one_worth_alone_says_nothing_of_the_worst_case() -> None:
    cheap = judge((), (), Listing(text="x"), None, Offer(Decimal(50), "USD", worth={"first": Decimal(300)}), LEXICON)
    assert cheap.advice is None
    assert cheap.why_no_worth is not None
    dear = judge((), (), Listing(text="x"), None, Offer(Decimal(350), "USD", worth={"first": Decimal(300)}), LEXICON)
    assert dear.advice is not None
    assert dear.advice.do == "pass"


@pytest.mark.parametrize(
    ("offer", "words"),
    [
        (Offer(Decimal(-5), "USD", worth=WORTH), "negative"),
        (Offer(Decimal("NaN"), "USD", worth=WORTH), "negative"),
        (Offer(Decimal(5), "USD", worth={"first": Decimal(-1), "later": Decimal(1)}), "negative"),
        (Offer(Decimal(5), "USD", worth=WORTH, worth_currency="GBP"), "nothing is converted"),
        (Offer(Decimal(5), "USD", worth={"first": Decimal(5)}), "later"),
        (Offer(Decimal(5), "USD", worth={**WORTH, "mauve": Decimal(5)}), "mauve"),
        (Offer(Decimal(5), None, worth=WORTH), "currency"),
        (Offer(Decimal(5), "USD", worth=WORTH, max_regret=20), "between 0 and 1"),
        (Offer(Decimal(5), "USD", worth=WORTH, costs=Costs(tax=Decimal(-1))), "tax"),
        (Offer(Decimal(5), "USD", worth=WORTH, bidders=-1), "bidders"),
        (Offer(Decimal(5), "USD", sold="no such file.csv"), "cannot be read"),
    ],
)
def test_unusable_money_costs_the_worth_and_not_the_odds(offer: Offer, words: str) -> None:
    found = judge((), (), Listing(text="x"), DOSSIER, offer, LEXICON)
    assert found.odds is not None
    assert found.worth is None
    assert found.why_no_worth is not None
    assert words in found.why_no_worth


def test_a_hard_floor_takes_out_what_was_over_by_then() -> None:
    found = judge((), (), Listing(text="x"), DOSSIER, Offer(), LEXICON, dating=Dating(not_before="1965"))
    assert found.odds is not None
    assert found.odds.p_first < 1e-6


def test_what_fits_nothing_is_still_weighed() -> None:
    found = say({"label.design": "white", MARK: "thistle", "deadwax.matrix": "quite another number"})
    assert found.odds is not None
    assert any("quite another number" in note for note in found.odds.assumes)


def test_assumptions_must_be_in_order_and_within_their_scale() -> None:
    for bad in ({"low": 0.5, "value": 0.4, "high": 0.6}, {"low": 0.1, "value": 0.4, "high": 1.6}):
        with pytest.raises(ValueError, match="must"):
            Assumption(id="x", what="", why="", **bad)
    with pytest.raises(JudgementError):
        draw({}, {"x": 1.0})


def sales(tmp_path: Path, *rows: str) -> Path:
    path = tmp_path / "sold.csv"
    head = "label,catalogue number,pressing,grade,price,currency,date"
    path.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    return path


def test_worth_from_sales_is_robust_and_in_one_currency(tmp_path: Path) -> None:
    rows = [f"Marrowfield,MF 31,first,VG+,{x},USD,2024-0{n + 1}-01" for n, x in enumerate((280, 300, 310, 305, 9000))]
    rows += [f"Marrowfield,MF-31,later,NM,{x},USD,2024-03-01" for x in (110, 120, 130)]
    rows += ["Marrowfield,MF 31,first,VG+,1,EUR,2024-01-01", "Other,ZZ 9,first,VG+,2,USD,2024-01-01"]
    found = estimate(Offer(None, "USD", sold=sales(tmp_path, *rows), grade="VG+"), take(DOSSIER), 0.15)
    assert found is not None
    assert found.currency == "USD"
    assert found.worth == {"first": Decimal("305.00"), "later": Decimal("60.00")}  # Near Mint 120, VG+ half of it
    assert all(0 < d < 0.2 for d in found.doubt.values())
    assert any("1 sale in another currency" in n for n in found.notes)
    assert any("rule of thumb" in n for n in found.notes)


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("Marrowfield,MF 31,first,VG+,ten,USD,2024", "line 2: 'ten' is no price"),
        ("Marrowfield,MF 31,first,VG+,-4,USD,2024", "line 2: the price"),
        ("Marrowfield,MF 31,first,VG+,0,USD,2024", "line 2: the price"),
        ("Marrowfield,MF 31,first,VG+,40,shells,2024", "line 2: 'shells' is no currency"),
        ("Marrowfield,MF 31,first,VG+,40,,2024", "line 2: it names no currency"),
        ("Marrowfield,MF 31,first,VG+,€40,USD,2024", "line 2: the price is in EUR and the column says USD"),
        ("Marrowfield,MF 31,,VG+,40,USD,2024", "line 2: it names no pressing"),
        ("Marrowfield,MF 31,first,VG+", "line 2: it names no price"),
    ],
)
def test_a_faulty_line_of_sales_is_named_and_costs_only_itself(tmp_path: Path, row: str, words: str) -> None:
    with pytest.raises(JudgementError, match=words):
        read_sales(sales(tmp_path, row))
    good = [f"Marrowfield,MF 31,{p},VG+,{x},USD,2024" for p, x in (("first", 300), ("later", 60))]
    found = estimate(Offer(None, "USD", sold=sales(tmp_path, row, *good), grade="VG+"), take(DOSSIER), 0.15)
    assert found is not None
    assert found.worth == {"first": Decimal("300.00"), "later": Decimal("60.00")}
    assert any(words in n and "left out" in n for n in found.notes)


@pytest.mark.parametrize(
    "text",
    [
        "sold;notes\n40;x\n",
        "",
        "label,catalogue number,pressing,grade,price,currency,date\n",
        "no table at all",
    ],
)
def test_a_list_of_sales_without_sales_says_what_it_needs(tmp_path: Path, text: str) -> None:
    path = tmp_path / "sold.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(JudgementError) as error:
        read_sales(path, LEXICON)
    assert str(path) in str(error.value)
    assert "\n" not in str(error.value)


def test_a_list_of_sales_as_a_spreadsheet_writes_it(tmp_path: Path) -> None:
    path = tmp_path / "sold.csv"
    rows = [
        "My sales;;;;;;",
        "Record label;Cat. No.;Which pressing;Condition;Sold for;Curr;When;Remarks",
        "Marrowfield;MF-31;First;VG+;£310,50;;3/4/2021;fair",
        "Marrowfield;mf 31;FIRST PRESSING;VG+;1.290,00;GBP;never;shop",
        "Marrowfield;MF 31;first;VG+;300;gbp;2023-01-05;",
        "Marrowfield;MF 31;first;VG+;305,00;£;Jan 2024;",
        "Marrowfield;MF 31;second;VG+;20;GBP;2024;",
        ";;later;VG+;1;GBP;2024;",
        "",
        "Marrowfield;MF 31;later;lovely;60,00;GBP;2022;",
    ]
    path.write_bytes("\r\n".join(rows).encode("cp1252"))
    found = estimate(Offer(None, None, sold=path, grade="VG+"), take(DOSSIER), 0.15, LEXICON)
    assert found is not None
    assert found.currency == "GBP"
    assert found.worth == {"first": Decimal("307.74"), "later": Decimal("60.00")}  # √(305 · 310.50)
    said = " ".join(found.notes)
    for words in (
        "4 sales noted, 2021 to 2024, 1 with a date in which no year can be read",
        "1290.00 GBP (line 4) is far from the others",
        "1 without a known grade taken as VG+",
        "The pressing 'second' (line 7) is none of this record's",
        "1 of the sales without a catalogue number left out",
    ):
        assert words in said, said


def test_few_sales_that_differ_leave_more_doubt_than_few_that_agree(tmp_path: Path) -> None:
    def doubt(*prices: int) -> float:
        rows = [f"Marrowfield,MF 31,first,VG+,{x},USD,2024" for x in prices]
        rows.append("Marrowfield,MF 31,later,VG+,60,USD,2024")
        found = estimate(Offer(None, "USD", sold=sales(tmp_path, *rows), grade="VG+"), take(DOSSIER), 0.15)
        assert found is not None
        return found.doubt["first"]

    assert doubt(100, 400) > 0.6
    assert doubt(300) == doubt(300, 310) == 0.15
    assert doubt(290, 300, 310, 300, 295) < 0.15


def test_own_figures_fill_what_the_sales_lack_and_go_before_them(tmp_path: Path) -> None:
    path = sales(tmp_path, "Marrowfield,MF 31,first,VG+,300,USD,2024")
    with pytest.raises(JudgementError, match="--worth later=AMOUNT"):
        estimate(Offer(None, "USD", sold=path, grade="VG+"), take(DOSSIER), 0.15)
    found = estimate(Offer(None, "USD", worth={"later": Decimal(50)}, sold=path, grade="VG+"), take(DOSSIER), 0.15)
    assert found is not None
    assert found.worth == {"first": Decimal("300.00"), "later": Decimal(50)}
    with pytest.raises(JudgementError, match="in GBP"):
        estimate(Offer(None, "GBP", sold=path, grade="VG+"), take(DOSSIER), 0.15)


def test_evidence_that_rules_every_pressing_out_gives_no_odds_and_says_why() -> None:
    offer = Offer(Decimal(100), "USD", worth=WORTH)
    found = judge((), (), Listing(text="x"), DOSSIER, offer, LEXICON, dating=Dating(not_before="1990"))
    assert found.odds is None
    assert found.why_no_odds is not None
    assert "not made before 1990" in found.why_no_odds
    dated = say({**EXPERT}, claim("edition.year", "2005", role="pressed"), price=20)
    assert dated.odds is None
    assert "not made before 2005" in str(dated.why_no_odds)
    nearly = judge((), (), Listing(text="x"), DOSSIER, offer, LEXICON, dating=Dating(not_before="1970"))
    assert nearly.odds is not None
    assert nearly.odds.p_first < 1e-6


def test_grades_follow_the_published_rule_of_thumb() -> None:
    # Infobarrel article on a magazine's grading guide: VG+ half of Near Mint. Goldmine, 'Record Grading 101', page 2:
    # VG at most a quarter. In between, and below, our own.
    assert share_of_mint("NM") == 1
    assert share_of_mint("VG+") == Decimal("0.5")
    assert share_of_mint("VG") == Decimal("0.25")
    ladder = [share_of_mint(g) for g in ("M", "NM-", "VG++", "VG+", "VG", "VG-", "G", "P")]
    assert ladder == sorted(ladder, key=lambda x: -(x or 0))
    assert share_of_mint("lovely") is None


def test_robust_middle() -> None:
    middle, error = robust([1.0, 2.0, 3.0, 4.0, 500.0])
    assert middle == 3.0
    assert error == pytest.approx(1.2533 * 1.4826 * 1.0 / 5**0.5)
    assert robust([1.0])[1] == float("inf")


def test_costs_lower_the_ceiling() -> None:
    plain = say(EXPERT, price=100).advice
    dear = say(EXPERT, price=100, costs=Costs(Decimal(15), Decimal(2), Decimal("0.19"))).advice
    assert plain is not None
    assert dear is not None
    assert plain.ceiling is not None
    assert dear.ceiling is not None
    # (ceiling + 15) · 1.19 + 2 is what the copy is worth
    assert (dear.ceiling + 15) * Decimal("1.19") + 2 == pytest.approx(plain.ceiling, abs=Decimal("1.2"))


def test_a_smaller_appetite_for_regret_lowers_the_cautious_ceiling() -> None:
    brave = say(EXPERT, knows=False, price=100, max_regret=0.4).advice
    timid = say(EXPERT, knows=False, price=100, max_regret=0.05).advice
    assert brave is not None
    assert timid is not None
    assert timid.cautious_ceiling is not None
    assert brave.cautious_ceiling is not None
    assert timid.cautious_ceiling < brave.cautious_ceiling
    assert brave.ceiling == timid.ceiling


def test_an_assumption_under_a_name_that_nothing_reads_is_refused(tmp_path: Path) -> None:
    row = '[[assumption]]\nid = "{}"\nvalue = 0.6\nlow = 0.4\nhigh = 0.8\nwhat = "x"\nwhy = "x"\n'
    path = tmp_path / "assumptions.toml"
    path.write_text(row.format("says.goood"), encoding="utf-8")
    with pytest.raises(LexiconError, match=r"did you mean says\.good\?"):
        load_lexicon([tmp_path], user=False)
    path.write_text(row.format("says.good"), encoding="utf-8")
    assert load_lexicon([tmp_path], user=False).assumptions["says.good"].value == 0.6
