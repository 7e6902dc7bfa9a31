"""Properties of the run-out grammar: written and read again, never failing, the codes invertible, time linear."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sayso.claims.runout import read_runout
from sayso.claims.runout_codes import decode, encode, in_code
from sayso.claims.runout_format import format_side
from sayso.lexicon import load_lexicon

LEXICON = load_lexicon()
TABLES, SYSTEMS = LEXICON.tables, LEXICON.systems


def firm_keys(table: str) -> st.SearchStrategy[str]:
    return st.sampled_from(sorted(k for k in TABLES[table].entries if k not in TABLES[table].contested))


def figures(low: int, high: int) -> st.SearchStrategy[str]:
    return st.integers(low, high).map(str)


def stamper(table: str) -> st.SearchStrategy[str]:
    row = TABLES[table]
    letters = sorted(set(row.entries) - set(row.contested))
    return st.text(st.sampled_from(letters), min_size=1, max_size=3).filter(lambda s: decode(row, s) is not None)


COUNTED = st.integers(1, 132).map(lambda n: encode(TABLES["columbia_lacquer"], n))
YEARS = sorted(k for k, v in TABLES["rca_year_letter"].entries.items() if v <= 1972)
SIDES: dict[str, st.SearchStrategy[dict[str, Any]]] = {
    "columbia_us": st.fixed_dictionaries(
        {
            "prefix": st.sampled_from(["XLP", "XSM", "XTV", "ZSP", "ZLP"]),
            "number": figures(10000, 999999),
            "version": st.integers(0, 9),
            "lacquer": COUNTED,
        }
    ),
    "rca_us": st.fixed_dictionaries(
        {
            "prefix": st.sampled_from([y for y in YEARS if y not in "FGAB"]).map(lambda y: f"{y}2PP")
            | st.sampled_from([y for y in YEARS if y in "PRSTUWXZAB"]).map(lambda y: f"{y}PRS"),
            "number": figures(1000, 9999),
            "cut": st.integers(1, 99),
        }
    ),
    "rca_us_old": st.fixed_dictionaries(
        {
            "prefix": st.sampled_from(["D3VB", "D9RC", "E0KP", "E4VX", "D7AB"]),
            "number": figures(100, 9999),
            "take": st.integers(1, 20),
        }
    ),
    "capitol_us": st.fixed_dictionaries(
        {
            "prefix": st.sampled_from(["T", "ST", "DT", "W", "SW", "STBO"]),
            "side": st.sampled_from(["a", "b"]),
            "number": figures(100, 99999),
            "group": st.sampled_from(sorted(TABLES["capitol_group"].entries)),
            "group_number": st.integers(1, 999),
        }
    ),
    "atlantic_label": st.fixed_dictionaries(
        {
            "prefix": st.sampled_from(["ST-A", "A", "ST-C"]),
            "year": st.integers(1950, 1989),
            "number": figures(1000, 9999),
            "plant": st.sampled_from(["Monarch", "Specialty", "Presswell", "Allied", "PRC"]),
        }
    ),
    "atlantic_runout": st.fixed_dictionaries(
        {
            "prefix": st.sampled_from(["ST-A", "A", "ST-C"]),
            "year": st.integers(1950, 1989),
            "number": figures(1000, 9999),
            "lacquer": st.sampled_from("ABCDEFGH"),
        }
    ),
    "mercury_us": st.fixed_dictionaries(
        {
            "prefix": st.sampled_from(["MG", "SR"]),
            "number": figures(10000, 99999),
            "side": st.sampled_from(["a", "b"]),
            "cut_series": st.sampled_from(["FR", "RFR", "CTFR", "M"]),
            "cut": st.integers(1, 30),
        }
    ),
    "emi_uk": st.fixed_dictionaries(
        {
            "prefix": firm_keys("emi_prefix"),
            "number": figures(100, 99999),
            "cut": st.integers(1, 29),
            "cut_suffix": st.sampled_from([None, "N", "G", "U"]),
            "mother": st.integers(1, 40),
            "stamper": stamper("emi_stamper"),
        }
    ),
    "decca_uk": st.fixed_dictionaries(
        {
            "prefix": firm_keys("decca_prefix"),
            "number": figures(100, 99999),
            "cut": st.integers(1, 29),
            "engineer": st.sampled_from(sorted(TABLES["decca_engineer"].entries)),
            "mother": st.integers(1, 40),
            "stamper": stamper("decca_stamper"),
        }
    ),
    "philips": st.fixed_dictionaries(
        {
            "side": st.sampled_from(["a", "b"]),
            "number": st.tuples(st.integers(1000, 9999), st.integers(100, 999)).map(lambda n: f"{n[0]} {n[1]}"),
            "cut": st.integers(1, 20),
            "cut_country": st.sampled_from(sorted(TABLES["philips_country"].entries.values())),
        }
    ),
}


@pytest.mark.parametrize("name", sorted(SIDES))
@given(data=st.data())
@settings(max_examples=60, deadline=None)
def test_what_is_written_is_read_back(name: str, data: st.DataObject) -> None:
    parts = data.draw(SIDES[name])
    system = SYSTEMS[name]
    label = f"{system.labels[0]} ({system.country})" if system.country else system.labels[0]
    text = format_side(system, parts, LEXICON)
    got = read_runout(text, label)
    assert got["system"] == name, text
    assert {k: got.sides[0].get(k) for k in parts} == parts, text
    # The same in small letters, and with the look-alikes of nought and one in the figures of the number.
    if name not in ("emi_uk", "decca_uk"):  # a stamper in small letters is read only after a mother: tested elsewhere
        small = read_runout(text.lower(), label)
        assert small["system"] == name, text
        assert str(small.sides[0].get("number")) == parts["number"]


@given(st.sampled_from(["emi_stamper", "decca_stamper"]), st.integers(1, 9999))
def test_stamper_codes_are_invertible(name: str, number: int) -> None:
    table = TABLES[name]
    try:
        letters = encode(table, number)
    except ValueError:
        assert "0" in str(number)
        assert table.contested
        return
    assert in_code(table, letters)
    assert decode(table, letters) == number


@given(st.integers(1, 100_000))
def test_lacquer_letters_are_counted_without_gaps(number: int) -> None:
    table = TABLES["columbia_lacquer"]
    assert decode(table, encode(table, number)) == number


@given(st.integers(-5, 0))
def test_nothing_is_counted_below_one(number: int) -> None:
    with pytest.raises(ValueError, match="from one"):
        encode(TABLES["emi_stamper"], number)


LABELS = st.none() | st.sampled_from([x for s in SYSTEMS.values() for x in s.labels]) | st.text(max_size=30)
RUNOUT_LIKE = st.text(st.sampled_from("ABXLPEZSTRMGI0123456789-/ .()▽Δ*◆'\"oOlL\n"), max_size=120)


@given(st.text(max_size=200) | RUNOUT_LIKE, LABELS)
@settings(max_examples=300, deadline=None)
def test_no_text_makes_it_fail(text: str, label: str | None) -> None:
    got = read_runout(text, label)
    for side in got.sides:
        assert text[side["start"] : side["end"]] == side["as_written"]
        assert side["side"] in ("a", "b", None)
        assert set(side.get("soft", ())) <= set(side)
    assert got["not_before"] is None or 1900 < got["not_before"] < 2100


@pytest.mark.parametrize("unit", ["XEX 501-1N ", "A", "1A/", "(((", "ST-A-", "O0I1l|", "// 1 ▽ ", "star ", "side 1 "])
def test_long_input_is_cut_and_not_pored_over(unit: str) -> None:
    # Linear by construction: bounded patterns over at most LIMIT characters.
    from sayso.claims.runout import LIMIT

    text = unit * (LIMIT // len(unit) + 1)
    assert read_runout(text * 50, "Parlophone (UK)") == read_runout(text[:LIMIT], "Parlophone (UK)")
