"""A report on a listing by somebody who is no expert: every line is true of what he wrote (a listing of our own)."""

from __future__ import annotations

from functools import lru_cache

from sayso.engine import audit_text
from sayso.lexicon import load_lexicon
from sayso.model import Audit
from sayso.report.marked import pieces
from sayso.report.words import Words

LEXICON = load_lexicon(user=False)
TEXT = """Marlow Tenant Quintet - Harbour Bells, LP, mono, 1959

The label is dark blue with silver writing and you can feel a circle pressed into it on the first side only. Number in \
the run-off reads HB 114 A, and next to it someone has scratched the letters RJK. I can't see any other marks. \
It might be an original but I wouldn't swear to it. Record VG+, cover VG."""


@lru_cache(maxsize=1)
def audit() -> Audit:
    return audit_text(TEXT, LEXICON)


def line(feature: str) -> tuple[str, list[str]]:
    finding = next(f for f in audit().findings if f.feature == feature)
    return Words(LEXICON).finding(finding, audit().claims), [audit().claims[i].quote for i in finding.claims]


def test_letters_nobody_explains_are_a_cutting_mark_in_doubt() -> None:
    assert line("deadwax.mastering_mark") == ("said with doubt", ["RJK"])


def test_print_on_the_label_is_its_look_and_no_damage() -> None:
    assert line("label.design") == ("said", ["dark blue with silver writing"])
    assert not [c for c in audit().claims if c.feature == "condition.defects"]


def test_a_groove_of_one_side_is_not_told_as_of_both() -> None:
    words, quotes = line("label.deep_groove")
    assert words == "said, but not of side B:"
    assert set(quotes) == {"circle pressed into it"}
    (piece,) = [p for p in pieces(audit()) if TEXT[p.start : p.end] == "circle pressed into it"]
    assert piece.state == "stated"


def test_a_search_without_result_is_not_told_as_something_seen() -> None:
    words, _ = line("deadwax.plant_mark")
    assert words == "not found, or denied with doubt:"
    assert not [q for q in audit().questions if "You write 'other marks'" in q.text]


def test_a_bare_year_is_not_told_as_the_year_of_pressing() -> None:
    assert line("edition.year") == ("a year is given, but not as that of this pressing:", ["1959"])


def test_a_doubtful_original_is_not_told_as_sold_for_one() -> None:
    assert audit().answer.startswith("It may be an original or first pressing, the seller writes without certainty.")
    assert audit_text(
        TEXT.replace("It might be an original but I wouldn't swear to it", "Original pressing"), LEXICON
    ).answer.startswith("Sold as an original or first pressing.")


def test_what_is_denied_is_not_quoted_as_said() -> None:
    own = audit_text("Old LP\n\nNo splits, the back of the cover is stained. Edges stuck down, VG.", LEXICON)
    finding = next(f for f in own.findings if f.feature == "condition.defects")
    quoted = [own.claims[i].quote for i in Words(LEXICON).quoted(finding, own.claims)]
    assert finding.state == "stated"
    assert quoted == ["stained"]


def test_a_grade_is_of_the_noun_it_is_for() -> None:
    own = audit_text("Old LP\n\nVG+ for the record and VG for the sleeve.", LEXICON)
    grades = {(c.feature, c.value) for c in own.claims}
    assert grades == {("condition.vinyl_grade", "VG+"), ("condition.jacket_grade", "VG")}


def test_a_year_of_release_is_not_told_as_the_year_of_pressing() -> None:
    own = audit_text("Old LP\n\nReleased 1958. Deep groove.", LEXICON)
    finding = next(f for f in own.findings if f.feature == "edition.year")
    assert Words(LEXICON).finding(finding, own.claims) == "a year is given, but not as that of this pressing:"
    own = audit_text("Old LP\n\nPressed in 1958. Deep groove.", LEXICON)
    finding = next(f for f in own.findings if f.feature == "edition.year")
    assert Words(LEXICON).finding(finding, own.claims) == "said"
