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
