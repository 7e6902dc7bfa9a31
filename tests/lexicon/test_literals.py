"""The cheap look before a pattern never hides a match."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sayso.lexicon import load_lexicon
from sayso.lexicon.literals import could_match, required


@pytest.mark.parametrize(
    ("pattern", "wanted"),
    [
        (r"made in (?:the )?eu", ({"made in "}, {"eu"})),
        (r"\bZIP\b", ({"zip"},)),
        (r"x?yz", ({"yz"},)),
        (r"(?:cat|dog)s?", ({"cat", "dog"},)),
        (r"(?:cat|\d+)", ()),
        (r"[ab]{2}", ()),
        (r"(?:ab)+c*", ({"ab"},)),
    ],
)
def test_what_every_match_holds(pattern: str, wanted: tuple[set[str], ...]) -> None:
    assert required(pattern) == wanted


@given(
    st.from_regex(
        re.compile(r"(?:made|printed)(?: and pressed)? in (?:the )?(?:E\.?E\.?C|EU)\b|[a-c]{0,3}"), fullmatch=True
    )
)
def test_a_match_is_never_hidden(text: str) -> None:
    for pattern in (r"(?:made|printed)(?: and pressed)? in (?:the )?(?:E\.?E\.?C|EU)\b", r"(?:a|b+c)(?:c|d)?"):
        if re.search(pattern, text, re.IGNORECASE):
            assert could_match(pattern, text.casefold())


def test_no_example_of_a_fact_is_hidden() -> None:
    for fact in load_lexicon(user=False).facts.values():
        for trigger in fact.trigger:
            for example in trigger.yes:
                text = str(example)
                for pattern in trigger.patterns:
                    if re.search(pattern, text, 0 if trigger.exact else re.IGNORECASE):
                        assert could_match(pattern, text.casefold()), (fact.id, pattern)
