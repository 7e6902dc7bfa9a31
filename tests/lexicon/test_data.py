"""The shipped data: whole, with basis and source, and free of anything that only looks like knowledge."""

from __future__ import annotations

import re

import pytest

from sayso.claims.runout_check import example_problems
from sayso.lexicon import load_lexicon
from sayso.lexicon.check import check
from sayso.lexicon.load import SECTIONS, parse, shipped

LEXICON = load_lexicon(user=False)


def test_the_shipped_data_pass_their_own_check() -> None:
    assert not [str(p) for p in check([shipped()]) if p.grade == "error"]


def test_the_worked_examples_of_the_systems_come_out() -> None:
    assert not list(example_problems(LEXICON))


def test_all_marks_are_there() -> None:
    assert len(LEXICON.marks) == 111
    kinds = {
        k: sum(m.kind == k for m in LEXICON.marks.values()) for k in ("plant", "cutting", "plating", "pressing-code")
    }
    assert kinds == {"plant": 24, "cutting": 56, "plating": 10, "pressing-code": 21}


@pytest.mark.parametrize("mark", LEXICON.marks.values(), ids=LEXICON.marks)
def test_every_mark_says_where_it_comes_from(mark) -> None:  # type: ignore[no-untyped-def]
    assert mark.source
    assert mark.caution, "every mark has something that it does not prove"
    if mark.basis == "published":
        assert mark.sources >= 1
        assert not re.match("no source", mark.source)
    else:
        assert mark.hard_floor is None


def test_no_mark_from_memory_is_a_hard_bound() -> None:
    for mark in LEXICON.marks.values():
        if mark.from_memory("earliest"):
            assert mark.hard_floor is None, mark.id


def test_marks_spelt_like_words_are_marked_so() -> None:
    # The list is common practice: written forms that an ordinary listing also holds.
    words = {"star", "daisy", "rifle", "keystone", "anvil", "lyre", "target", "diamond", "sterling", "precision"}
    words |= {"trident", "artisan", "strawberry", "tone", "wally", "oriole", "townhouse", "0", "1", "*", "zero"}
    words |= {"420", "320", "670"}
    for mark in LEXICON.marks.values():
        if {w.casefold() for w in mark.written_as} & words and mark.read_by == "words":
            assert mark.ordinary, mark.id


def test_nothing_sets_a_philips_country_against_a_country_of_pressing() -> None:
    for mark in LEXICON.marks.values():
        assert "pressing_country" not in mark.gives or mark.id == "jis"
    for system in LEXICON.systems.values():
        fields = {r.field for r in system.readings} | {r.field for p in system.patterns for r in p.readings}
        assert "pressing_country" not in fields


def test_no_plant_is_read_from_a_columbia_suffix() -> None:
    system = LEXICON.systems["columbia_us"]
    fields = {r.field for r in system.readings} | {r.field for p in system.patterns for r in p.readings}
    assert "plant" not in fields


def test_nine_makers_are_covered() -> None:
    makers = {s.name.split(",")[0].split(" (")[0] for s in LEXICON.systems.values() if not s.anonymous}
    assert {
        "Columbia",
        "RCA Victor",
        "Capitol",
        "Decca",
        "Atlantic",
        "Mercury",
        "EMI",
        "Decca / London",
        "Philips",
    } <= makers


def test_tables_that_bear_bounds_know_which_keys_convict_nobody() -> None:
    tax = LEXICON.tables["uk_tax_code"]
    assert tax.firm("KT")
    assert not any(tax.firm(code) for code in ("JT", "AT", "NT", "RT", "XT"))
    years = LEXICON.tables["rca_year_letter"]
    assert years.firm("J")
    assert not years.firm("C")


def test_no_row_lies_where_nobody_reads_it() -> None:
    """Each kind of row is read from its own folder alone; in another it would be ignored without a word."""
    base = shipped()
    astray = [
        (path.name, noun)
        for path in sorted(base.rglob("*.toml"))
        for noun in parse(path)
        if not any(path.is_relative_to(base / folder) for folder in SECTIONS[noun][2].split())
    ]
    assert astray == []
