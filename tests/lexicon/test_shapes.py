"""Every shape claims its feature in its own examples and keeps quiet in the others."""

from __future__ import annotations

import pytest

from sayso.engine import audit_text
from sayso.lexicon import load_lexicon

LEXICON = load_lexicon(user=False)
CASES = [(s, text, want) for s in LEXICON.shapes for want, texts in ((True, s.yes), (False, s.no)) for text in texts]


def test_shapes_speak_of_known_features() -> None:
    assert {s.id: s.feature for s in LEXICON.shapes if s.feature not in LEXICON.features} == {}


def test_shapes_and_manners_are_put_together_from_known_classes() -> None:
    classes = {c.name for c in LEXICON.classes()}
    for row in (*LEXICON.shapes, *LEXICON.manners):
        named = {n for part in row.parts for n in part.split("|") if "=" not in n} | set(row.unless)
        assert named <= classes, (row.id, named - classes)
        assert row.yes, row.id
        assert row.no, row.id


@pytest.mark.parametrize(("shape", "text", "want"), CASES, ids=[f"{s.id}-{t[:30]}" for s, t, _ in CASES])
def test_the_examples_of_a_shape(shape, text: str, want: bool) -> None:  # type: ignore[no-untyped-def]
    claims = audit_text(text, LEXICON).claims
    found = [
        c
        for c in claims
        if c.feature == shape.feature
        and (c.value == shape.value or shape.said or shape.value_of)
        and c.polarity == shape.polarity
    ]
    assert bool(found) is want, [(c.feature, c.value, c.quote) for c in claims]
