"""Questions and answers that a seller copies under 'Q:' and 'A:' are read as such, on one line or two.

Invented words; the layout is common practice, no source.
"""

from sayso.engine import audit_text
from sayso.lexicon import load_lexicon

LEXICON = load_lexicon()


def said(words: str) -> set[tuple[str, str, str, str | None]]:
    return {(c.feature, c.polarity, c.certainty, c.side) for c in audit_text(f"A jazz LP\n\n{words}", LEXICON).claims}


def test_on_one_line() -> None:
    words = (
        "Q: Does it have a deep groove? A: Yes, both sides.\nQ. Barcode? A. No.\nQuestion: is it mono? Answer: Stereo."
    )
    assert said(words) == {
        ("label.deep_groove", "present", "certain", "both"),
        ("jacket.barcode", "absent", "certain", None),
        ("format.channels", "present", "certain", None),
    }


def test_on_two_lines() -> None:
    assert said("Q: Does it have a deep groove?\nA: Yes, both sides.") == {
        ("label.deep_groove", "present", "certain", "both")
    }


def test_the_key_of_an_answer_is_no_side() -> None:
    assert said("Q: Is there a barcode?\nA: There is.") == {("jacket.barcode", "present", "certain", None)}


def test_what_the_run_out_says_is_no_hearsay_and_a_number_names_its_side() -> None:
    words = "Run-out says PEL 208 A1 on one side and PEL 208 B2 on the other; no other marks that I noticed."
    claims = audit_text(f"A jazz LP\n\n{words}", LEXICON).claims
    numbers = [(c.attribution, c.certainty, c.side, c.value) for c in claims if c.feature == "deadwax.matrix"]
    assert numbers == [("seller", "certain", "a", "PEL 208 A1"), ("seller", "certain", "b", "PEL 208 B2")]
    # The annotation guide, 7: no marks beside the numbers denies both the cutter's and the works' mark.
    assert {(c.feature, c.polarity, c.certainty) for c in claims if c.quote == "no other marks"} == {
        ("deadwax.plant_mark", "absent", "hedged"),
        ("deadwax.mastering_mark", "absent", "hedged"),
    }


def test_what_somebody_says_is_hearsay() -> None:
    claims = audit_text("A jazz LP\n\nMy brother says the label has a deep groove.", LEXICON).claims
    assert [c.attribution for c in claims if c.feature == "label.deep_groove"] == ["third_party"]
