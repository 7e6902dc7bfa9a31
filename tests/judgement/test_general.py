"""A record without a dossier: general odds with a wide range, that say what they are. Trade practice, no source."""

from __future__ import annotations

from decimal import Decimal
from math import log
from pathlib import Path

import pytest

from sayso.engine import audit_text
from sayso.lexicon import load_lexicon
from sayso.model import Audit

LEXICON = load_lexicon(user=False)
WORTH = {"first": Decimal(350), "later": Decimal(45)}
PLAIN = "Otha Brill Quartet - Slate Evening LP\n"


def audit(words: str, price: int = 120, **more: object) -> Audit:
    text = f"{PLAIN}{words} Price 1 USD."
    from sayso.intake import read_any

    listing = read_any(text, lexicon=LEXICON).model_copy(update={"price": Decimal(price), "currency": "USD"})
    from sayso.engine import audit_listing

    return audit_listing(listing, more.pop("lexicon", LEXICON), worth=more.pop("worth", WORTH), **more)  # type: ignore[arg-type]


def first(words: str) -> float:
    odds = audit(words).odds
    assert odds is not None
    return odds.p_first


def test_the_range_is_wide_and_the_answer_says_that_it_is_general() -> None:
    found = audit("Nice old record from my uncle's attic.")
    assert found.odds is not None
    assert found.odds.p_first_high - found.odds.p_first_low > 0.25
    assert found.dossier is None
    assert any("general" in c for c in found.cautions)
    assert any("general" in x.casefold() for x in found.odds.assumes)
    assert {p.id for p in found.odds.pressings} == {"first", "repress", "modern"}
    assert sum(p.p for p in found.odds.pressings) == pytest.approx(1)


def test_worth_and_ceilings_follow_and_asking_comes_first() -> None:
    found = audit("Original first pressing. VG+.")
    assert found.worth is not None
    assert found.advice is not None
    assert found.worth.low < found.worth.expected < found.worth.high
    assert found.advice.do == "ask"
    assert found.advice.cautious_ceiling is not None
    assert found.advice.ceiling is not None
    assert found.advice.cautious_ceiling <= found.advice.ceiling <= Decimal(350)
    assert any(q.value and q.unit == "money" for q in found.questions)


@pytest.mark.parametrize(("price", "do"), [(20, "buy"), (400, "pass")])
def test_a_price_outside_all_worths_settles_it(price: int, do: str) -> None:
    found = audit("Nice old record.", price)
    assert found.advice is not None
    assert found.advice.do == do


def test_words_signs_and_dates_move_them_the_way_a_dealer_would_expect() -> None:
    silent = first("Nice old record.")
    assert first("Original first pressing.") >= silent
    assert first("A later reissue.") < 0.6 * silent
    assert first("180 gram vinyl, barcode on the back of the jacket.") < 0.2 * silent
    clash = first("1960 first pressing. Label reads Dover Lane, Utica, N.Y. 13501.")
    assert clash < 0.4 * silent


def test_the_moves_add_up_to_the_odds() -> None:
    odds = audit("Original first pressing, 180 gram.").odds
    assert odds is not None
    assert sum(m.log_odds for m in odds.moved_by) == pytest.approx(log(odds.p_first / (1 - odds.p_first)), abs=1e-9)


def test_a_reissue_can_have_its_own_worth() -> None:
    worth = {**WORTH, "modern": Decimal(15)}
    found = audit("Nice old record.", worth=worth)
    assert found.worth is not None
    assert found.worth.by_pressing == {"first": Decimal(350), "repress": Decimal(45), "modern": Decimal(15)}


def test_without_worths_nothing_is_invented() -> None:
    bare = audit_text(PLAIN + "Original first pressing.", LEXICON)
    assert bare.odds is None
    assert "worth to you" in str(bare.why_no_odds)
    one = audit("Original.", worth={"first": Decimal(350)})
    assert one.odds is None
    assert any("later" in c for c in one.cautions)
    odd = audit("Original.", worth={"mauve": Decimal(3), "first": Decimal(350)})
    assert odd.odds is None
    assert any("mauve" in c for c in odd.cautions)


def test_a_reader_who_distrusts_a_share_changes_it_in_one_file(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text(
        "[[assumption]]\nid = 'general.first'\nvalue = 0.05\nlow = 0.02\nhigh = 0.1\nof = 'general'\n"
        "what = 'how many are first pressings'\nwhy = 'my own count'\n",
        encoding="utf-8",
    )
    mine = audit("Nice old record.", lexicon=load_lexicon([file], user=False)).odds
    assert mine is not None
    assert mine.p_first < 0.4 * first("Nice old record.")


def test_general_assumptions_leave_dossiers_alone() -> None:
    from sayso.judgement import assume

    plain = assume.of(LEXICON)
    for name in LEXICON.assumptions:
        if name.startswith("general."):
            assert len(set(plain[name].tolist())) == 1, name
            assert len(set(assume.of(LEXICON, general=True)[name].tolist())) > 1, name


def test_a_price_that_is_good_only_on_average_is_called_a_gamble() -> None:
    found = audit("Nice old record, plays fine.", 60)
    assert found.advice is not None
    assert found.advice.cautious_ceiling is not None
    gamble = [n for n in found.advice.notes if "gamble" in n]
    assert bool(gamble) == (found.advice.do == "buy" and found.advice.cautious_ceiling < 60)
    sure = audit("Nice old record, plays fine.", 20).advice
    assert sure is not None
    assert not [n for n in sure.notes if "gamble" in n]
