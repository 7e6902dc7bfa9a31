"""What the first sentence and the drawing may not get wrong: lots, things denied, ranges that end at nothing."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

from sayso import audit_text
from sayso.lexicon import Lexicon
from sayso.report.drawing import parts
from sayso.report.words import Words

EXAMPLES = Path(__file__).parents[1] / "examples"
LEXICON = Lexicon((EXAMPLES / "sandglass.toml",))
WORTH = {"first": Decimal(350), "later": Decimal(45)}


def test_what_is_said_of_one_record_of_a_lot_moves_no_odds_of_another() -> None:
    lot = audit_text((EXAMPLES / "listings" / "11-lot.txt").read_text(encoding="utf-8"), LEXICON, worth=WORTH)
    assert lot.odds is None
    assert lot.advice is None
    assert "Several records" in (lot.why_no_odds or "")
    assert lot.answer.startswith("Several records in one offer")


def test_nothing_denied_looks_promised_in_the_drawing() -> None:
    audit = audit_text("Sandglass SGL 1207, original\n\nHourglass label. EMB, no kettle. Not its inner.", LEXICON)
    drawn = [words for part in parts(audit, Words(LEXICON)) for words in part.quotes]
    assert any(w.startswith("no: kettle") for w in drawn)
    assert "kettle" not in drawn


def test_a_claim_of_an_edition_is_never_called_no_claim() -> None:
    for text in ("Promo copy, white label. Matrix AB-1-A / AB-1-B, plant mark: a wheel.", "Record club edition, mono."):
        assert "claims no edition" not in audit_text(text).answer


def test_what_a_borrowed_picture_shows_is_true_of_some_other_copy() -> None:
    text = (
        "Picture is one from the internet, the label there is the hourglass one with 9 Staithe Lane. Ours is in a box."
    )
    audit = audit_text(text, LEXICON)
    assert not [c for c in audit.claims if c.feature.startswith("label.")]
    assert [c.value for c in audit.claims if c.feature == "terms.photos"] == ["stock photo"]


def test_a_picture_on_the_label_is_no_sign_in_the_wax() -> None:
    pictured = audit_text("Plain owl label, kettle in both run-outs. Owl label.", LEXICON)
    assert "owl" not in [c.quote.lower() for c in pictured.claims if c.feature == "deadwax.plant_mark"]


def test_what_the_label_says_is_no_hearsay() -> None:
    text = "Label is dark red and silver, at the bottom it says 9 Staithe Lane."
    said = [c for c in audit_text(text, LEXICON).claims if c.feature == "label.address"]
    assert [c.attribution for c in said] == ["seller"]


def test_a_sign_that_is_denied_is_not_called_described() -> None:
    text = (EXAMPLES / "listings" / "09-honest-no.txt").read_text(encoding="utf-8")
    answer = audit_text(text, LEXICON, worth=WORTH).answer
    assert "describes the pressing plant's mark" not in answer
    assert "cannot be found on it" in answer
