"""Replies in the shapes in which sellers send them. All invented; the shapes are common practice, no source."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sayso.lexicon import load_lexicon
from sayso.replies.align import align
from sayso.replies.layout import pieces_of
from sayso.replies.nouns import Asked
from sayso.replies.numbers import blocks_of, meant
from sayso.replies.outcomes import outcomes

LEXICON = load_lexicon(user=False)
Q = [
    Asked(n=1, features=("label.deep_groove",), text="Is there a ring pressed into the label?"),
    Asked(n=2, features=("deadwax.matrix",), text="Which numbers do you read in the run-out of each side?"),
    Asked(n=3, features=("jacket.barcode",), text="Is there a bar code on the back of the cover?"),
    Asked(n=4, features=("condition.play_tested",), text="Have you been able to listen to it?"),
]


def beside(reply: str, asked: list[Asked] = Q) -> dict[int, list[str]]:
    """Question → the words laid beside it."""
    out: dict[int, list[str]] = {}
    for p in align(reply, asked, LEXICON).passages:
        for n in p.questions:
            out.setdefault(n, []).append(p.quote)
    return out


def test_numbers_of_the_buyer() -> None:
    got = beside("1. yes\n2. SX 20-A and SX 20-B\n3. no\n4. not yet")
    assert got == {1: ["yes"], 2: ["SX 20-A and SX 20-B"], 3: ["no"], 4: ["not yet"]}


@pytest.mark.parametrize("mark", ["{})", "({})", "{}:", "{} -", "Q{}:", "#{}.", "Re {}:"])
def test_numbers_in_any_dress(mark: str) -> None:
    reply = "\n".join(f"{mark.format(n)} {word}" for n, word in enumerate(("yes", "SX 20-A", "no", "yes"), 1))
    assert {n: words[0] for n, words in beside(reply).items()} == {1: "yes", 2: "SX 20-A", 3: "no", 4: "yes"}


@pytest.mark.parametrize(
    "reply",
    [
        "1. yes 2. SX 20-A and SX 20-B 3. none 4. not yet",
        "a) yes b) SX 20-A and SX 20-B c) none d) not yet",
        "To your questions: yes; SX 20-A and SX 20-B; none; not yet",
    ],
)
def test_answers_told_apart_within_one_line(reply: str) -> None:
    got = beside(reply)
    assert {n: words[0] for n, words in got.items()} == {1: "yes", 2: "SX 20-A and SX 20-B", 3: "none", 4: "not yet"}


def test_a_seller_who_counts_his_own_answers() -> None:
    got = beside("1) the numbers are SX 20-A and SX 20-B\n2) no bar code at all\n3) I listened to side one")
    assert got[2] == ["the numbers are SX 20-A and SX 20-B"]
    assert got[3] == ["no bar code at all"]
    assert got[4] == ["I listened to side one"]
    assert 1 not in got


@pytest.mark.parametrize(
    "reply", ["yes, SX 20-A, no, no", "yes / SX 20-A / no / no", "Hi,\nyes\nSX 20-A\nno\nno\nThanks"]
)
def test_bare_answers_in_order(reply: str) -> None:
    got = beside(reply)
    assert [got[n][0] for n in (1, 2, 3, 4)] == ["yes", "SX 20-A", "no", "no"]


def test_questions_quoted_with_signs_also_where_nothing_stands_below() -> None:
    reply = "\n".join(["> " + Q[0].text, "> " + Q[2].text, "None there.", "> " + Q[3].text, "Yes, twice."])
    got = beside(reply)
    assert got == {3: ["None there."], 4: ["Yes, twice."]}


def test_a_quoted_question_makes_no_passage() -> None:
    reply = f"{Q[2].text} // no\n{Q[0].text} // both sides"
    aligned = align(reply, Q, LEXICON)
    assert {o.quote for o in aligned.others if o.kind == "quoted"} == {Q[2].text, Q[0].text}
    assert {p.questions: p.quote for p in aligned.passages} == {(3,): "no", (1,): "both sides"}


def test_answers_typed_into_the_question() -> None:
    asked = [
        Asked(
            n=1,
            features=("deadwax.matrix", "deadwax.lettering"),
            text="What does the run-out say on each side, and is it scratched or stamped?",
        )
    ]
    reply = "What does the run-out say on each side SX 20-A / SX 20-B, and is it scratched or stamped? SCRATCHED"
    assert beside(reply, asked) == {1: ["SX 20-A / SX 20-B,", "SCRATCHED"]}


def test_an_answer_that_repeats_the_middle_of_the_question_is_an_answer() -> None:
    got = beside("Yes there is a ring pressed into the label, on both sides.")
    assert got == {1: ["Yes there is a ring pressed into the label, on both sides."]}


def test_from_last_to_first_by_what_is_spoken_of() -> None:
    got = beside(
        "I listened to it last week. The cover has no bar code. In the run-out I read SX 20-A. The groove is there."
    )
    assert set(got) == {1, 2, 3, 4}
    assert got[4] == ["I listened to it last week."]


def test_pointed_to_by_their_place() -> None:
    got = beside("To your first question: yes. As for the last, never.")
    assert got[1] == ["To your first question: yes."]
    assert got[4] == ["As for the last, never."]


@pytest.mark.parametrize(
    "reply",
    [
        "Everything is in the listing, please read it.",
        "Please see pictures.",
        "Alles steht in der Beschreibung.",
        "Tout est dans l'annonce.",
        "È tutto scritto nella descrizione.",
        "Todo está en el anuncio.",
        "Zie omschrijving.",
        "商品説明をご覧ください。",
        "Why do you want to know all this?",
        "Ask me again tomorrow.",
        "You have a good eye, it is a beautiful record!",
    ],
)
def test_evasions_dodge_every_question(reply: str) -> None:
    told = outcomes(Q, align(reply, Q, LEXICON), [], [])
    assert [t.outcome for t in told] == ["dodged"] * 4
    assert all(t.evidence and t.evidence in reply for t in told)


@pytest.mark.parametrize(
    "reply",
    [
        "I can do 40 euros posted if you pay today.",
        "AUTOMATIC REPLY: your message has been received.",
        "Hello, thank you for your message. Best regards",
        "自動返信です。メッセージを受け付けました。",
    ],
)
def test_a_price_a_machine_and_a_courtesy_meet_no_question(reply: str) -> None:
    told = outcomes(Q, align(reply, Q, LEXICON), [], [])
    assert [t.outcome for t in told] == ["unanswered"] * 4


def test_ignorance_of_one_thing_is_a_part_answer() -> None:
    told = outcomes(Q, align("The bar code? No idea.\nThe rest tomorrow.", Q, LEXICON), [], [])
    assert [t.outcome for t in told] == ["dodged", "dodged", "partly", "dodged"]


@pytest.mark.parametrize(
    ("reply", "n", "words"),
    [
        (
            "Guten Tag,\nin der Auslaufrille steht SX 20-A.\nEin Strichcode ist nicht drauf.",
            3,
            "Ein Strichcode ist nicht drauf.",
        ),
        ("Bonjour, pas de code-barres. Je l'ai écouté hier.", 3, "pas de code-barres."),
        ("Salve, l'ho ascoltato ieri. Codice a barre assente.", 3, "Codice a barre assente."),
        ("Hola, sin código de barras. Lo he escuchado.", 3, "sin código de barras."),
        ("Geen streepjescode. Wel gedraaid.", 3, "Geen streepjescode."),
        ("バーコードはありません。試聴済みです。", 3, "バーコードはありません。"),
    ],
)
def test_other_languages(reply: str, n: int, words: str) -> None:
    assert words in beside(reply)[n]


def test_a_second_message_and_words_that_take_back_are_found() -> None:
    reply = "Yes, a ring on both sides.\n\n[next day]\n\nSorry, me again. I was wrong, no ring on side two."
    aligned = align(reply, Q, LEXICON)
    assert len(aligned.messages) == 2
    assert reply[aligned.messages[1] :].strip().startswith("Sorry") or "next day" in reply[aligned.messages[1] :]
    assert any(reply[at:].startswith("I was wrong") for at in aligned.retracts)


def test_quote_signs_before_the_sellers_own_words() -> None:
    """Some programs sign the answer instead of the question."""
    reply = f"{Q[0].text}\n> yes, both sides\n{Q[3].text}\n> never played it"
    assert beside(reply) == {1: ["yes, both sides"], 4: ["never played it"]}


def test_numbers_in_the_dead_wax_are_no_numbering() -> None:
    assert blocks_of("The run-out reads 1A and 1B, and it was cut in 1971. 12 tracks.") == []


def test_numbers_are_the_buyers_unless_the_words_say_otherwise() -> None:
    assert meant([1, 2], [1, 2, 3], {}) == {1: 1, 2: 2}
    assert meant([1, 2], [1, 2, 3], {(1, 2): 3.0, (2, 3): 3.0}) == {1: 2, 2: 3}
    assert meant([1, 2], [1, 2, 3], {(1, 2): 1.0}) == {1: 1, 2: 2}


PIECES = st.sampled_from(
    [
        "yes",
        "no",
        "both",
        "1.",
        "2)",
        "\n",
        "> ",
        ">>",
        Q[0].text,
        Q[1].text[:30],
        "SX 20-A",
        "see photos",
        "...",
        "[",
        "\u202e",
        "はい",
        "。",
        "{}",
        "PS",
        "next day",
        " ",
    ]
)
WORDS = st.one_of(st.text(max_size=200), st.lists(PIECES, max_size=25).map("".join))


@settings(max_examples=150, deadline=None)
@given(WORDS)
def test_any_text_is_parted_without_loss_or_overlap(reply: str) -> None:
    aligned = align(reply, Q, LEXICON)
    known = {q.n for q in (*Q, *aligned.quoted)}
    for p in (*aligned.passages, *aligned.others):
        assert reply[p.start : p.end] == p.quote
    for p in aligned.passages:
        assert p.questions
        assert set(p.questions) <= known
    spans = sorted((p.start, p.end) for p in aligned.passages)
    assert all(a[1] <= b[0] for a, b in pairwise(spans))
    told = outcomes(Q, aligned, [], [])
    assert [t.n for t in told] == [1, 2, 3, 4]
    assert all(t.outcome != "answered" for t in told)


@settings(max_examples=60, deadline=None)
@given(st.permutations(["yes", "SX 20-A", "no", "never"]))
def test_numbered_answers_may_come_in_any_words(words: list[str]) -> None:
    reply = "\n".join(f"{n}. {w}" for n, w in enumerate(words, 1))
    assert {n: w[0] for n, w in beside(reply).items()} == dict(enumerate(words, 1))


def test_the_buyers_words_are_never_the_sellers() -> None:
    reply = "\n".join("> " + q.text for q in Q) + "\nno"
    assert all(p.quoted for p in pieces_of(reply, Q)[:-1])
    assert not pieces_of(reply, Q)[-1].quoted
