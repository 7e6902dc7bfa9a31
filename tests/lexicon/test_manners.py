"""Every manner is heard in its own examples and not in the others."""

from __future__ import annotations

import pytest

from sayso.claims.reader import read
from sayso.intake.text import read_text
from sayso.lexicon import load_lexicon

LEXICON = load_lexicon(user=False)
CASES = [(m, text, want) for m in LEXICON.manners for want, texts in ((True, m.yes), (False, m.no)) for text in texts]


@pytest.mark.parametrize(("manner", "text", "want"), CASES, ids=[f"{m.id}-{t[:30]}" for m, t, _ in CASES])
def test_the_examples_of_a_manner(manner, text: str, want: bool) -> None:  # type: ignore[no-untyped-def]
    analysis = read(read_text(text), LEXICON).analysis
    heard = {getattr(h.row, "id", "") for h in (*analysis.cues, *analysis.all_of("proform"))}
    # A longer cue of the same kind may have said it already.
    said = manner.id in heard or (want and any(getattr(h.row, "kind", "") == manner.kind for h in analysis.cues))
    assert said is want, heard
