"""The cheap look before a pattern never hides a match."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sayso.lexicon import load_lexicon
from sayso.lexicon.literals import lowered, required
from sayso.lexicon.sieve import Alternatives, Sieve

HARD = (
    r"(?:made|printed)(?: and pressed)? in (?:the )?(?:E\.?E\.?C|EU)\b",
    r"(?:a|b+c)(?:c|d)?",
    r"\b[1-9]\d{3}-\d{1,2}\b",
    r"(?<![\w-])XT(?!\w)",
    r"\b[A-Z]{2}[a-z]{2,9} \d-\d{4}\b",
    r"℗|\(P\)|\bP-?in-?circle\b",
    r"\d{2}(?:½|1/2)? ?p\b",
    r"(?i:stra(?:ss|ß)e)|\bŠ\b",
    r"x(?=y)|z\s+\w{1,3}q",
    r"^\s*(?:one|two)$",
)


@pytest.mark.parametrize(
    ("pattern", "text", "can"),
    [
        (r"made in (?:the )?eu", "made in the eu", True),
        (r"made in (?:the )?eu", "made in the us", False),
        (r"\bZIP\b", "a zipper", False),
        (r"\bZIP\b", "Zip code", True),
        (r"(?:cat|dog)s?", "a dogma", True),
        (r"(?:cat|\d+)", "no number", False),
        (r"\b\d{13}\b", "1234567890123", True),
        (r"\b\d{13}\b", "123456789012", False),
        (r"D\.?M\.?M\b", "dmm", True),
        (r"D\.?M\.?M\b", "mad", False),
    ],
)
def test_what_a_look_tells(pattern: str, text: str, can: bool) -> None:
    sieve = Sieve([(pattern, False)])
    need = sieve.needs(pattern)
    assert (sieve.mask(text) & need == need and sieve.holds(pattern, False, lowered(text))) is can


def check(pattern: str, exact: bool, text: str, sieve: Sieve | None = None) -> None:
    if re.search(pattern, text, 0 if exact else re.IGNORECASE):
        sieve = sieve or Sieve([(pattern, exact)])
        need = sieve.needs(pattern, exact)
        assert sieve.mask(text) & need == need, (pattern, text)
        assert sieve.holds(pattern, exact, text if exact else lowered(text)), (pattern, text)


@given(st.data())
def test_a_match_is_never_hidden(data: st.DataObject) -> None:
    pattern = data.draw(st.sampled_from(HARD))
    flags = data.draw(st.sampled_from((0, re.IGNORECASE)))
    middle = data.draw(st.from_regex(re.compile(pattern, flags)))
    check(pattern, not flags, middle)
    check(pattern, not flags, "x" * 60 + middle + "1" * 60)


@given(st.lists(st.sampled_from(["ab", "b c", "c", " ", "ß", "DE", "12", "3", "-"])).map("".join))
def test_alternatives_read_as_one_expression(text: str) -> None:
    patterns = [r"\bab", r"b ?c", r"[a-c]{2}", r"\d+", r"de\b|ß"]
    both = Alternatives(patterns, False, Sieve([(p, False) for p in patterns]))
    one = re.compile("|".join(f"(?:{p})" for p in patterns), re.IGNORECASE)
    assert [m.span() for m in both.finditer(text)] == [m.span() for m in one.finditer(text)]
    assert both.search(text) is bool(one.search(text))


def test_no_example_of_a_fact_is_hidden() -> None:
    facts = load_lexicon(user=False).facts.values()
    triggers = [t for fact in facts for t in fact.trigger]
    sieve = Sieve([(p, t.exact) for t in triggers for p in t.patterns])
    for trigger in triggers:
        for example in trigger.yes:
            for pattern in trigger.patterns:
                check(pattern, trigger.exact, str(example), sieve)


def test_words_are_remembered_without_end_in_sight() -> None:
    assert required(r"a+b*") == ({"a"},)
    sieve = Sieve([(r"\bneedle\b", False)])
    for n in range(60_000):
        sieve.mask(f"w{n}")
    assert len(sieve._known) <= 50_000
    assert sieve.mask("the needle") == sieve.needs(r"\bneedle\b")
