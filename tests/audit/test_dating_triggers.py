"""Every example of a dated sign in the lexicon, as a test of its own: `yes` must be found, `no` must not."""

from __future__ import annotations

import pytest

from sayso.audit.bounds import Reader, find_signs, number_fits
from sayso.audit.labelling import find_label
from sayso.lexicon import load_lexicon
from sayso.model import Listing

LEXICON = load_lexicon(user=False)


def _signs(text: str):
    listing = Listing(text=text, title=text.split(",")[0])
    found = find_label(listing, LEXICON)
    return Reader(listing, LEXICON), find_signs(Reader(listing, LEXICON), found.label if found else None)


FACTS = [
    pytest.param(fact.id, n, text, want, id=f"{fact.id}.{n}.{'yes' if want else 'no'}.{i}")
    for fact in LEXICON.facts.values()
    for n, t in enumerate(fact.trigger)
    for want, texts in ((True, t.yes), (False, t.no))
    for i, text in enumerate(texts)
]


@pytest.mark.parametrize(("fact", "number", "text", "want"), FACTS)
def test_examples_of_a_fact(fact: str, number: int, text: str, want: bool) -> None:
    _, signs = _signs(text)
    assert any(s.bound.fact == fact for s in signs) is want


LABELS = [
    pytest.param(label.id, n, text, want, id=f"{label.id}.{n}.{'yes' if want else 'no'}.{i}")
    for label in LEXICON.labels.values()
    for n, t in enumerate(label.sign)
    for want, texts in ((True, t.yes), (False, t.no))
    for i, text in enumerate(texts)
]


@pytest.mark.parametrize(("label", "number", "text", "want"), LABELS)
def test_examples_of_a_label(label: str, number: int, text: str, want: bool) -> None:
    reader, signs = _signs(text)
    trigger = LEXICON.labels[label].sign[number]
    era = f"label.{label}" + (f".era{trigger.era}" if trigger.era else "")
    found = any(s.bound.fact == era and s.not_first == trigger.not_first for s in signs)
    assert found is want
    if want:
        assert number_fits(reader, trigger, LEXICON.labels[label])


def test_every_hard_fact_that_can_be_met_has_examples_both_ways() -> None:
    bare = [
        f.id
        for f in LEXICON.facts.values()
        for t in f.trigger
        if (f.hard or t.hard) and not (t.yes and t.no) and t.hard is not False
    ]
    assert not bare


def test_nothing_from_memory_convicts() -> None:
    for fact in LEXICON.facts.values():
        assert not (fact.hard and fact.basis == "from memory"), fact.id
        assert not (fact.hard and {"all", "earliest"} & set(fact.memory_fields)), fact.id
    for label in LEXICON.labels.values():
        for trigger in label.sign:
            if trigger.era and trigger.hard is not False and trigger.earliest:
                fields = set(label.era[trigger.era - 1].memory_fields)
                assert not {"all", "earliest"} & fields or trigger.not_first, label.id
