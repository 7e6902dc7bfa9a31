"""A question mark is a doubt, also in brackets and over two names of one thing; a lone letter is nobody's by itself."""

import pytest

from sayso.engine import audit_text
from sayso.lexicon import load_lexicon

LEXICON = load_lexicon()


@pytest.mark.parametrize(
    ("words", "hedged", "certain"),
    [
        ("Original 1st press?", {"edition.original", "edition.first_pressing"}, set()),
        ("Original / first pressing (?)", {"edition.original", "edition.first_pressing"}, set()),
        ("Deep groove [?], mono", {"label.deep_groove"}, {"format.channels"}),
        ("Mono, original?", {"edition.original"}, {"format.channels"}),
        ("First pressing??", {"edition.first_pressing"}, set()),
    ],
)
def test_a_question_mark_is_a_doubt(words: str, hedged: set[str], certain: set[str]) -> None:
    """Common practice, no source."""
    claims = audit_text(f"An old LP\n\n{words}", LEXICON).claims
    assert {c.feature for c in claims if c.certainty == "hedged"} == hedged
    assert {c.feature for c in claims if c.certainty == "certain"} == certain


def test_a_lone_letter_is_a_makers_mark_only_beside_his_name() -> None:
    """T on a US Columbia of the years from 1953 is Terre Haute (from memory); on anybody else's record it is a T."""
    text = "Label unknown to me. In the run-out it says AB 1017 A, stamped, plus a letter T."
    found = {c.feature: c.certainty for c in audit_text(f"An old LP\n\n{text}", LEXICON).claims if c.quote == "T"}
    assert found == {"deadwax.stamper_code": "hedged"}
    named = audit_text(f"Columbia LP\n\n{text.replace('unknown to me', 'Columbia, red')}", LEXICON)
    assert {c.feature for c in named.claims if c.quote == "T"} == {"deadwax.plant_mark"}
