"""Answers whose words get their meaning from the question: our own examples, none of them from the corpus."""

from __future__ import annotations

import pytest

from sayso.lexicon import load_lexicon
from sayso.model import Listing, Segment
from sayso.replies.nouns import Asked
from sayso.replies.read import read_reply

LEXICON = load_lexicon(user=False)


def said(feature: str, question: str, reply: str) -> list[tuple[str, str, object, object]]:
    text = "An old LP"
    listing = Listing(text=text, segments=(Segment(kind="title", start=0, end=len(text)),))
    read = read_reply(listing, reply, [Asked(n=1, features=(feature,), text=question)], LEXICON)
    for c in read.claims:
        assert read.listing.text[c.start : c.end] == c.quote
    return [(c.polarity, c.certainty, c.side, c.value) for c in read.claims if c.feature == feature]


@pytest.mark.parametrize(
    ("feature", "question", "reply", "polarity", "certainty", "value"),
    [
        ("disc.weight", "How heavy does it feel?", "It is a hefty thing.", "present", "certain", "heavy"),
        ("disc.weight", "How heavy does it feel?", "I think it is rather thin.", "present", "hedged", "light"),
        (
            "jacket.cut_mark",
            "Any cut or hole in the cover?",
            "The cover has not been drilled.",
            "absent",
            "certain",
            None,
        ),
        (
            "condition.play_tested",
            "Was it played?",
            "Only looked at it under a lamp.",
            "absent",
            "certain",
            "visual only",
        ),
        ("condition.play_tested", "Did you play it?", "I listened to it twice.", "present", "certain", "played"),
        ("inner.original", "Which inner is with it?", "The inner is just a plain one.", "absent", "certain", None),
        ("label.design", "Is the label pale or dark?", "It is pale.", "present", "certain", "pale"),
    ],
)
def test_the_question_gives_the_words_their_meaning(
    feature: str, question: str, reply: str, polarity: str, certainty: str, value: str | None
) -> None:
    told = said(feature, question, reply)
    assert len(told) == 1
    assert told[0][:2] == (polarity, certainty)
    if value is not None:
        assert told[0][3] == value


@pytest.mark.parametrize(
    ("feature", "question", "reply"),
    [
        ("disc.weight", "How heavy does it feel?", "If it is heavy I will tell you."),
        ("disc.weight", "How heavy does it feel?", "See the pictures."),
        ("jacket.spine", "How readable is the spine?", "I will look at it tomorrow."),
    ],
)
def test_what_is_not_said_is_not_claimed(feature: str, question: str, reply: str) -> None:
    assert said(feature, question, reply) == []


def test_both_to_two_ways_of_lettering_says_each() -> None:
    told = said("deadwax.lettering", "Are the numbers scratched by hand or stamped?", "Both.")
    assert {t[3] for t in told} == {"hand-etched", "machine-stamped"}


def test_a_number_of_which_only_the_end_is_repeated() -> None:
    told = said("deadwax.matrix", "What are the run-out numbers?", "In the run-out: QRS-77-A and -B.")
    assert [(t[2], t[3]) for t in told] == [("a", "QRS-77-A"), ("b", "QRS-77-B")]


def test_only_one_side_denies_the_other() -> None:
    told = said("label.deep_groove", "Is there a ring in the labels?", "There is a deep groove, but only on side two.")
    assert {(t[0], t[2]) for t in told} == {("present", "b"), ("absent", "a")}


def test_inches_are_no_code() -> None:
    assert (
        said("deadwax.matrix", "What are the run-out numbers?", 'In the run-out there is a scratch of A 2" at most.')
        == []
    )


def test_what_the_listing_says_already_is_claimed_again_by_the_reply() -> None:
    text = "An old LP with a deep groove on both sides."
    listing = Listing(text=text, segments=(Segment(kind="description", start=0, end=len(text)),))
    question = Asked(n=1, features=("label.deep_groove",), text="Is there a ring pressed into the label?")
    read = read_reply(listing, "It has a deep groove on both sides.", [question], LEXICON)
    assert [c.polarity for c in read.claims if c.feature == "label.deep_groove"] == ["present"]
