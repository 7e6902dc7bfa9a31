"""The short form of a collector's own notes becomes ordinary terms. Names and marks here are invented."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sayso.lexicon.shortform import address_forms, expand
from sayso.lexicon.terms import Term

NOTES: dict[str, Any] = {
    "plants": [
        {"name": "Hobarth", "mark": "anchor"},
        {"name": "Vennaman", "mark": "anchor"},
        {"name": "Kirby", "mark": "letter K"},
        {"name": "Stanlow", "mark": "SL in a diamond"},
    ],
    "cutting": [{"initials": "NTb"}, {"initials": "NTb", "name": "N. Tibble"}],
    "labels": [
        {"name": "Ferrowick", "addresses": ["1126 Carroway St."], "designs": ["lantern", "silver (shaded) owl"]},
        {"name": "Cane Gully", "addresses": ["Orange Row, Kingston 8"], "designs": ["black and gold (later)", "tan"]},
    ],
    "words": {"anchor": {"de": ["Anker"], "ja": ["錨"]}, "lantern": {"fr": ["lanterne"]}},
}


def terms(feature: str) -> list[Term]:
    return [Term.model_validate(t) for t in expand(NOTES)["term"] if t["feature"] == feature]


def test_a_drawing_shared_by_two_plants_is_one_term() -> None:
    english = [t for t in terms("deadwax.plant_mark") if t.value == "anchor" and t.lang == "en"]
    assert len(english) == 1
    assert {"anchor", "anchors", "anchor mark"} <= set(english[0].forms)


def test_other_languages_give_the_english_value() -> None:
    assert {(t.lang, t.forms, t.value) for t in terms("deadwax.plant_mark") if t.lang != "en"} == {
        ("de", ("Anker",), "anchor"),
        ("ja", ("錨",), "anchor"),
    }


def test_letters_are_exact_and_need_the_run_out() -> None:
    bare = [t for t in terms("deadwax.plant_mark") if "K" in t.forms or "SL" in t.forms]
    assert {(t.value, t.exact, t.needs) for t in bare} == {
        ("K", True, ("deadwax",)),
        ("SL in a diamond", True, ("deadwax",)),
    }


def test_initials_are_exact() -> None:
    (term,) = terms("deadwax.mastering_mark")
    assert (term.forms, term.value, term.exact) == (("NTb",), "NTb", True)


def test_addresses_in_natural_shortenings() -> None:
    street, bare, row = terms("label.address")
    assert {"1126 Carroway St.", "1126 Carroway Street", "Carroway St", "Carroway Street"} <= set(street.forms)
    assert street.value == bare.value == "1126 Carroway St."
    assert (bare.forms, bare.needs) == (("Carroway",), ("outside the title",)), "alone, the name may be a person's"
    assert "Orange Row" in row.forms
    assert "Orange" not in row.forms, "an ordinary word is no address"


@pytest.mark.parametrize(
    ("address", "form"),
    [
        ("1140 Hallam St., Chicago 10", "1140 Hallam St., Chicago"),
        ("1140 Hallam St., Chicago 10", "Hallam Street"),
        ("62 Corliss Avenue, Chicago", "Corliss Ave."),
        ("7 Tanner's Yard", "Tanner’s Yard"),
        ("PO Box 90", "P.O. Box 90"),
        ("Via Cordonara 12, Milano", "Via Cordonara"),
        ("Mill Street", "Mill St."),
    ],
)
def test_forms_of_an_address(address: str, form: str) -> None:
    assert form in address_forms(address)


def test_a_bare_number_or_street_word_is_never_a_form() -> None:
    for address in ("1126 Carroway St.", "PO Box 90", "Mill Street", "7 Tanner's Yard"):
        assert not {"St.", "Street", "Yard", "1126", "90", "Box", "Mill"} & set(address_forms(address))


def test_designs_without_remarks() -> None:
    designs = {t.value: t for t in terms("label.design") if t.lang == "en"}
    assert "silver owl" in designs["silver owl"].forms
    assert "black/gold" in designs["black and gold"].forms
    assert designs["tan"].needs == ("label",)
    assert not any("later" in f for t in designs.values() for f in t.forms)
    assert ("fr", ("lanterne",)) in {(t.lang, t.forms) for t in terms("label.design")}


def test_ordinary_files_are_left_alone() -> None:
    data = {"term": [{"feature": "disc.rim", "forms": ["flat edge"]}]}
    assert expand(data) is data


@given(st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=40).filter(str.strip))
def test_any_address_keeps_itself(address: str) -> None:
    forms = address_forms(address)
    assert " ".join(address.split()) in forms
    assert all(f.strip() for f in forms)
