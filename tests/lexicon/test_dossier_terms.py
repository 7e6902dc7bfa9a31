"""A dossier teaches the reader its marks, initials, addresses and designs."""

from __future__ import annotations

from sayso.lexicon.dossier_terms import terms_of
from sayso.lexicon.terms import Term

DOSSIER = {
    "parts": {
        "label": {"a": {"label.design": "green and gold", "label.address": "4 Tenter Row"}},
        "plant": {"a": {"deadwax.plant_mark": "thistle"}, "b": {"deadwax.plant_mark": "none"}},
        "other": {"a": {"deadwax.plant_mark": "Q", "deadwax.mastering_mark": "OLW"}},
    }
}


def test_values_become_terms() -> None:
    found = {(t.feature, t.value): t for t in terms_of([DOSSIER])}
    assert "green/gold" in found["label.design", "green and gold"].forms
    assert "Tenter Row" in found["label.address", "4 Tenter Row"].forms
    assert "thistle" in found["deadwax.plant_mark", "thistle"].forms
    assert found["deadwax.mastering_mark", "OLW"].exact
    assert ("deadwax.plant_mark", "none") not in found


def test_a_single_letter_counts_only_in_the_run_out() -> None:
    letters = [t for t in terms_of([DOSSIER]) if t.value == "Q"]
    assert all(t.exact for t in letters)
    assert any(t.needs == ("deadwax",) for t in letters if "Q" in t.forms)


def test_what_is_known_is_not_said_twice() -> None:
    known = Term(feature="deadwax.plant_mark", forms=("thistle",), value="thistle")
    assert not [t for t in terms_of([DOSSIER], [known]) if t.value == "thistle"]


def test_a_misshapen_dossier_is_left_to_the_schema() -> None:
    assert terms_of([{"parts": 3}, {"parts": {"a": 1}}, {"parts": {"a": {"b": 2}}}, {}]) == ()
