"""Ids made from names: never empty, whatever the script; two names of different letters stay apart."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sayso.lexicon.labels import Label, slug


@pytest.mark.parametrize(
    ("name", "made"),
    [
        ("Éditions Mélyne", "editions-melyne"),
        ('The "Grey" Label', "the-grey-label"),
        ("音盤", "音盤"),
        ("ガラス盤 12", "ガラス盤-12"),
        ("Песочные Часы", "песочные-часы"),
        ("!!!", "u21-u21-u21"),
    ],
)
def test_names_in_any_script(name: str, made: str) -> None:
    assert slug(name) == made
    assert Label(name=name).id == made


@given(st.text(min_size=1).filter(lambda s: bool(s.strip())))
def test_no_name_is_left_without_an_id(name: str) -> None:
    assert slug(name)
    assert slug(name) == slug(name)


def test_kana_that_differ_by_a_mark_are_different_names() -> None:
    assert slug("かき") != slug("がき")
