"""How wide the blank ring is stands in the line that says where to look, in every language of the questions."""

from __future__ import annotations

import pytest

from sayso.engine import audit_text, size_of
from sayso.lexicon import load_lexicon
from sayso.lexicon.geometry import least_width
from sayso.questions import languages
from sayso.report.why import explain

LEXICON = load_lexicon(user=False)
# JIS S8502-1973: the music ends at 115.2, 115.2 and 106 mm at the least, the label is 102, 102 and 93 mm across;
# half the difference is the ring.
WIDTHS = {12: 6.6, 10: 6.6, 7: 6.5}


def test_languages_of_the_questions() -> None:
    assert {"en", "de", "fr", "it", "es", "nl", "ja"} <= set(languages(LEXICON))


@pytest.mark.parametrize("size", WIDTHS)
@pytest.mark.parametrize("language", languages(LEXICON))
def test_the_width_stands_in_the_message(language: str, size: int) -> None:
    audit = audit_text(f'Norbel NB 12 Otha Brill {size}" record\n\nOriginal. VG+', LEXICON, language=language)
    assert size_of(audit.claims) == size
    width = least_width(size, LEXICON)
    assert width <= WIDTHS[size] < width + 1
    [line] = [line for line in audit.message.splitlines() if f"{width} mm" in line or f"{width}mm" in line]
    assert str(size) in line
    assert line in {q.where for q in audit.questions}


@pytest.mark.parametrize(
    "text", ["Original LP. VG+", "A 12 inch and a 7 inch, both original.", "Original 16 inch disc."]
)
def test_nothing_is_said_of_an_unknown_size(text: str) -> None:
    for language in languages(LEXICON):
        message = audit_text(f"Norbel NB 12 Otha Brill\n\n{text}", LEXICON, language=language).message
        assert "{ring}" not in message
        assert " mm" not in message


def test_the_explanation_of_a_sign_in_the_wax_gives_it_too() -> None:
    audit = audit_text('Norbel NB 12 Otha Brill 12" LP\n\nOriginal. VG+', LEXICON)
    assert "at least 6 mm wide on a 12-inch record" in explain(audit, "deadwax.plant_mark", LEXICON)
    assert " mm" not in explain(audit, "jacket.spine", LEXICON)
