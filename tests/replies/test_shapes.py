"""Shapes in which answers come: mail with the buyer's message below, signatures, tables, markup, codes in any spelling.

The replies are ours; what they must mean follows from the guide in tests/corpus/replies.md.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from sayso.engine import audit_listing
from sayso.intake.text import read_text
from sayso.lexicon import load_lexicon
from sayso.replies.answers import answer_reply
from sayso.replies.mail import mail_parts, readable
from sayso.replies.nouns import Asked, Reply
from sayso.replies.runout import codes_in, stems_of
from sayso.replies.words import forms_of

LEXICON = load_lexicon((Path(__file__).resolve().parents[1] / "corpus" / "world.json",), user=False)
FORMS = forms_of(LEXICON)
TITLE = "OTHA BRILL SEXTET Chalk Line QUELLMARK QM-1050"


def told(reply: str, *asked: tuple[str, str]) -> Reply:
    questions = [Asked(n=n, features=tuple(f.split()), text=text) for n, (f, text) in enumerate(asked, 1)]
    listing = read_text("Vinyl VG, sleeve VG.", title=TITLE, id="x", lexicon=LEXICON)
    return answer_reply(audit_listing(listing, LEXICON), reply, questions, LEXICON)


def said(reply: Reply, feature: str) -> list[tuple[str, str, str | None, object]]:
    return [
        (c.polarity, c.certainty, c.side, c.value)
        for c in reply.audit.claims
        if c.feature == feature and c.segment == "reply"
    ]


PLANT = ("deadwax.plant_mark", "Is there a small sign or picture in the run-out?")
MATRIX = ("deadwax.matrix", "What are the numbers in the run-out?")
BARCODE = ("jacket.barcode", "Is there a barcode?")
PROMO = ("edition.promo", "Is there anything that says promotion or not for sale?")


@pytest.mark.parametrize(
    ("text", "codes"),
    [
        ("QM-1050-A and QM 1050 B", ["QM-1050-A", "QM 1050 B"]),
        ("QM1050A1/QM1050B1", ["QM1050A1", "QM1050B1"]),
        ("both scratched, qm 1050 a1 and qm 1050 b1 i think", ["qm 1050 a1", "qm 1050 b1"]),
        ("QM 1050 A AND QM 1050 B", ["QM 1050 A", "QM 1050 B"]),
        ("A面がQM-1050-A-111、B面がQM-1050-B-112です", ["QM-1050-A-111", "QM-1050-B-112"]),
        ("made in 1961, 12 tracks, VG+", []),
    ],
)
def test_codes_by_the_catalogue_number(text: str, codes: list[str]) -> None:
    assert [c.text for c in codes_in(text, stems_of(TITLE), loose=False)] == codes


def test_numbers_have_their_sides() -> None:
    found = said(told("Side one QM 1050 A2, side two QM 1050 B1.", MATRIX), "deadwax.matrix")
    assert found == [("present", "certain", "a", "QM 1050 A2"), ("present", "certain", "b", "QM 1050 B1")]


@pytest.mark.parametrize("reply", ["no to 1 and 3", "1 & 3: no", "1, 3 - no", "1) no\n3) no"])
def test_one_answer_for_two_numbered_questions(reply: str) -> None:
    answer = told(reply, BARCODE, MATRIX, PROMO)
    assert [q.outcome for q in answer.per_question] == ["answered", "unanswered", "answered"]


@pytest.mark.parametrize(
    ("reply", "outcome", "polarity"),
    [
        ("I think so", "partly", "present"),
        ("probably not", "partly", "absent"),
        ("not as far as I know", "partly", "absent"),
        ("nope", "answered", "absent"),
        ("yes", "answered", "present"),
    ],
)
def test_a_soft_yes_is_no_firm_one(reply: str, outcome: str, polarity: str) -> None:
    answer = told(reply, PROMO)
    assert answer.per_question[0].outcome == outcome
    assert [p for p, *_ in said(answer, "edition.promo")] == [polarity]


@pytest.mark.parametrize(
    "reply",
    [
        "I can't see one.",
        "Kann ich nicht erkennen.",
        "Je ne vois rien.",
        "Non vedo nulla.",
        "No veo nada.",
        "Zie ik niet.",
    ],
)
def test_looked_for_in_vain_is_a_doubtful_no(reply: str) -> None:
    assert [(p, c) for p, c, *_ in said(told(reply, PLANT), "deadwax.plant_mark")] == [("absent", "hedged")]


@pytest.mark.parametrize(
    "reply", ["Non è una ristampa.", "No es una reedición.", "Ce n'est pas une réédition.", "Keine Nachpressung."]
)
def test_it_is_not_in_other_languages(reply: str) -> None:
    found = said(told(reply, ("edition.reissue", "Is it a reissue?")), "edition.reissue")
    assert [p for p, *_ in found] == ["absent"]


def test_the_message_below_is_the_buyers() -> None:
    reply = (
        "Nothing there.\n\n-----Original Message-----\nFrom: a buyer\nSent: Monday\n\nIs it an original with a barcode?"
    )
    answer = told(reply, PLANT)
    assert {c.feature for c in answer.audit.claims if c.segment == "reply"} == {"deadwax.plant_mark"}


def test_a_signature_claims_nothing_but_terms() -> None:
    answer = told("No sign.\n\n-- \nAll my records are original first pressings.\nReturns within 30 days.", PLANT)
    kinds = {c.feature for c in answer.audit.claims if c.segment == "reply"}
    assert "edition.original" not in kinds
    assert "terms.returns" in kinds


def test_a_table_gives_its_columns_their_sides() -> None:
    reply = "           Side 1     Side 2\nNumbers    QM-1050-A  QM-1050-B\nSign       acorn      none"
    answer = told(reply, MATRIX, PLANT)
    assert ("present", "certain", "a", "acorn") in said(answer, "deadwax.plant_mark")
    assert [s for _, _, s, _ in said(answer, "deadwax.matrix")] == ["a", "b"]


def test_markup_and_mail_encoding_are_taken_off() -> None:
    assert readable("<div>No sign.<br>Thanks &amp; regards</div>") == "No sign.\nThanks & regards"
    assert readable("Kein Zeichen, gr=C3=BC=C3=9Fe=20aus=20Linz") == "Kein Zeichen, grüße aus Linz"
    assert readable("a < b and 3 = 3") == "a < b and 3 = 3"


def test_heads_of_mail_need_company() -> None:
    assert mail_parts("From: the label it is an original", FORMS).theirs == ()
    assert len(mail_parts("On 3 May 2024, A wrote:\n> Sign?\nNo.", FORMS).theirs) == 1


def test_the_clock_of_numbers_in_a_reply_is_no_list_of_songs() -> None:
    answer = told("1) yes, it is a reissue\n2) QM 1050 A\n3) no", ("edition.reissue", "Reissue?"), MATRIX, BARCODE)
    assert [q.outcome for q in answer.per_question] == ["answered", "answered", "answered"]
