"""Changes that mean nothing change no state; a 'no' before a bare mention turns its state over.

Readings known not to hold yet are listed in tests/claims/metamorphic_known.toml; they are strict: what is mended
must be struck off the list.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from sayso.lexicon import Lexicon, load_lexicon
from tests.evaluation import corpora
from tests.evaluation.changes import SAME, misspelt, negated
from tests.evaluation.run import audit_all

KNOWN = tomllib.loads(Path(__file__).with_name("metamorphic_known.toml").read_text(encoding="utf-8"))
ROWS = {row["id"]: row for row in corpora.load("all")}


@cache
def _lexicon() -> Lexicon:
    return load_lexicon(corpora.overlays("all"))


@cache
def _states(name: str) -> dict[str, str]:
    return _read(ROWS[name])


def _read(row: dict[str, Any]) -> dict[str, str]:
    audit = audit_all([row], lexicon=_lexicon())[row["id"]]
    return {f["feature"]: f["state"] for f in audit["findings"]}


def _cases(kind: str, names: Iterator[str]) -> list[Any]:
    known = KNOWN.get(kind, {})
    marks = {n: [pytest.mark.xfail(reason=known[n], strict=True)] for n in known}
    return [pytest.param(kind, n, marks=marks.get(n, ()), id=f"{kind}-{n}") for n in names]


SAME_CASES = [
    case for kind, change in SAME.items() for case in _cases(kind, (n for n, row in ROWS.items() if change(row)))
]


@pytest.mark.parametrize(("kind", "name"), SAME_CASES)
def test_same_states(kind: str, name: str) -> None:
    changed = SAME[kind](ROWS[name])
    assert changed is not None
    told, was = _read(changed), _states(name)
    assert {f: (was[f], told[f]) for f in was if was[f] != told[f]} == {}


@pytest.mark.parametrize(
    ("kind", "name"), _cases("negated", (n for n, row in ROWS.items() if any(True for _ in negated(row))))
)
def test_a_no_turns_the_state_over(kind: str, name: str) -> None:
    for feature, changed in negated(ROWS[name]):
        told, was = _read(changed), _states(name)
        assert (was[feature], told[feature]) == ("stated", "denied"), changed["text"]


def _long_words() -> frozenset[str]:
    forms = (f for t in _lexicon().terms if t.fuzzy for f in t.forms)
    return frozenset(w for f in forms for w in f.lower().split() if len(w) >= 7 and w.isascii() and w.isalpha())


@pytest.mark.parametrize(
    ("kind", "name"), _cases("misspelt", (n for n, row in ROWS.items() if misspelt(row, _long_words())))
)
def test_a_slip_of_the_pen_changes_nothing(kind: str, name: str) -> None:
    changed = misspelt(ROWS[name], _long_words())
    assert changed is not None
    told, was = _read(changed), _states(name)
    assert {f: (was[f], told[f]) for f in was if was[f] != told[f]} == {}
