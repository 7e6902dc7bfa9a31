"""Reading run-out strings: an annotated corpus, worked examples, dirt, and what must never be claimed."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

import sayso
from sayso.claims.runout import RunOut
from sayso.claims.runout_answers import answers, main
from sayso.lexicon import load_lexicon

CORPUS = Path(__file__).parents[1] / "corpus"
ROWS = [
    json.loads(line)
    for name in ("runouts.jsonl", "runouts_own.jsonl")
    for line in (CORPUS / name).read_text(encoding="utf-8").splitlines()[1:]
]


def same(a: Any, b: Any) -> bool:
    """Equal but for case, blanks and signs; nothing equals nothing."""

    def fold(x: Any) -> str:
        return re.sub(r"[\W_]+", "", str(x).casefold())

    if a in (None, "") or b in (None, ""):
        return a in (None, "") and b in (None, "")
    return fold(a) == fold(b)


@pytest.mark.parametrize("row", ROWS, ids=[r["id"] for r in ROWS])
def test_annotated_strings(row: dict[str, Any]) -> None:
    got = sayso.read_runout(row["text"], row["label"])
    assert got["system"] == row.get("system", got["system"])
    soft = set(row["soft"])
    gold_sides = row["gold"].pop("sides")
    assert len(got.sides) == len(gold_sides)
    for want, have in zip(gold_sides, got.sides, strict=True):
        wrong = {k: (v, have.get(k)) for k, v in want.items() if k not in soft and not same(v, have.get(k))}
        assert not wrong
    assert not {k: v for k, v in row["gold"].items() if not same(v, got.get(k))}
    for ban in row["must_not"]:
        found = [x[ban["field"]] for x in (got, *got.sides) if x.get(ban["field"]) not in (None, "")]
        assert not [x for x in found if ban["value"] == "*" or same(x, ban["value"])], ban["why"]


LEXICON = load_lexicon()
EXAMPLES = [(s.id, s.labels, s.country, e) for s in LEXICON.systems.values() for e in s.examples]


@pytest.mark.parametrize(
    ("system", "labels", "country", "example"), EXAMPLES, ids=[f"{x[0]} {x[3].text}" for x in EXAMPLES]
)
def test_worked_examples_of_the_data(system: str, labels: tuple[str, ...], country: str, example: Any) -> None:
    got = sayso.read_runout(example.text, f"{labels[0]} ({country})" if country else labels[0])
    assert got["system"] == system
    for want, have in zip(example.gives, got.sides, strict=True):
        assert {k: have.get(k) for k in want} == want


DIRT = [
    # text, label, side, fields that must be read
    ("xlp 47324 1ae", "Columbia (US)", 0, {"number": "47324", "lacquer": "AE", "lacquer_position": 16}),
    ("XLP—47324–1AE", "Columbia", 0, {"number": "47324", "lacquer": "AE"}),
    ("XLP.47324.1AE", "Columbia (US)", 0, {"number": "47324", "version": 1}),
    ("XLP-473Z4-1AE", "Columbia (US)", 0, {"number": None, "lacquer": "AE"}),
    ("XEX 5O1-lN  1  G", "UK Parlophone", 0, {"number": "501", "cut": 1, "cut_suffix": "N", "stamper_number": 1}),
    ("[XEX 501-1N] [1] [G]", "Parlophone (UK)", 0, {"number": "501", "cut": 1}),
    ("ＸＥＸ　５０１－１Ｎ", "Parlophone (UK)", 0, {"number": "501", "cut": 1, "cut_suffix": "N"}),
    ("Side 1: XEX 501-1N, Side 2: XEX 502-2N", "Parlophone (UK)", 1, {"side": "b", "number": "502", "cut": 2}),
    ("XEX 502-2N (side 2)", "Parlophone (UK)", 0, {"side": "b", "cut": 2}),
    (
        "ZAL-6011-4G, 3 at 9 o'clock and BI at 3 o'clock",
        "Decca (UK)",
        0,
        {"mother": 3, "stamper": "BI", "stamper_number": 15},
    ),
    ("YEX 605-1 mother 4 stamper RG", "Parlophone (UK)", 0, {"mother": 4, "stamper": "RG", "stamper_number": 21}),
    ("YEX 605-1 / 1G, YEX 606-2 / 2RG", "Parlophone (UK)", 1, {"mother": 2, "stamper": "RG"}),
    ("ZAL-3805-1E / 2W", "Decca / London (UK)", 1, {"side": "b", "number": None, "cut": 2, "engineer": "W"}),
    ("1A/1B", "Columbia (US)", 1, {"side": "b", "version": 1, "lacquer": "B", "lacquer_position": 2}),
    ("1S/1S", "RCA Victor", 1, {"side": "b", "cut": 1}),
    ("A1/B1", "Norbel", 1, {"side": "b", "number": None}),
    ("st1-2047-a4, st2-2047-b6", "Capitol", 1, {"side": "b", "number": "2047", "group": "B", "group_number": 6}),
    ("B 07789 L 1F // 1 inverted triangle 670", "Philips", 0, {"side": "a", "cut": 1, "cut_country": "Netherlands"}),
    ("6303 044 1F//2▼420", "Philips", 0, {"number": "6303 044", "cut_country": "Great Britain"}),
    ("J2RY-4321-3S A1 I", "RCA Victor", 0, {"mother_stamper_group": "A1", "plant": "Indianapolis"}),
    ("ST-A-691671-1F CTH", "Atlantic", 0, {"made_by": "Columbia", "year": 1969}),
    ("SR90006B-RFR3", "Mercury", 0, {"side": "b", "cut_series": "RFR", "cut": 3, "cut_for": "Richmond"}),
    ("ZAL 5512-3W / 5513-2W", "Decca / London (UK)", 1, {"side": "b", "number": "5513", "cut": 2, "prefix": None}),
    ("L2PP-1944-2S / 1945-7S", "RCA Victor", 1, {"side": "b", "number": "1945", "cut": 7, "year": None}),
    ("XLP 50221 - 1 B   P", "Columbia (US)", 0, {"lacquer": "B", "plant": "Pitman"}),
    ("ST2-2653-P2*", "Capitol", 0, {"side": "b", "plant": "Los Angeles"}),
    ("6500 123 1F 1 ▽ 670", "Philips", 0, {"number": "6500 123", "cut_country": "Netherlands"}),
    ("MGV-8401-A CTH", "Verve", 0, {"plant": "Terre Haute"}),
    ("66C-10117-SP", "Atlantic", 0, {"year": 1966, "plant": "Specialty"}),
    ("A: XEX 501-1N  B: XEX 502-1N", "Parlophone (UK)", 1, {"side": "b", "number": "502"}),
    ("T-1-1150-D4 / T-2-1150-D2 anvil on both", "Capitol", 0, {"plant": "Scranton"}),
    ("VMGT 1021-1B, 2 at nine o'clock, KC at three", "London", 0, {"mother": 2, "stamper": "KC", "stamper_number": 43}),
    ("MG-10223-T3 ◇ printed by the matrix number", "Decca (US)", 0, {"plant": "Richmond"}),
    ("7-MG-1234", "Decca (US)", 0, {"prefix": "7", "number": "1234"}),
    ("LKS-45-D3  H", "Contemporary", 0, {"number": "LKS-45", "plant": "Hollywood"}),
    ("ILPS-9123 A//2U  1  RG", "Island (UK)", 0, {"side": "a", "cut": 2, "cut_suffix": "U", "stamper": "RG"}),
    ("P4RM-5522-1S", "RCA Victor", 0, {"year": 1963, "line": "custom"}),
    ("D4QB 0301", "RCA Victor", 0, {"year": 1944, "issuer": None}),
    ("QN 4401-A (etched, both sides) QN 4401-B", "Norbel", 1, {"lettering": "etched"}),
    ("ABC-123-A etched, STERLING stamped", "Norbel", 0, {"lettering": "etched", "cut_at": "Sterling"}),
    ("AS-77-A with a stamped MR in a circle", "Norbel", 0, {"lettering": None, "plating": "Monarch"}),
    ("ABC-123-A STERLING stamped", "Norbel", 0, {"lettering": None, "cut_at": "Sterling"}),
]


@pytest.mark.parametrize(("text", "label", "side", "want"), DIRT, ids=[f"{d[0]} {d[1]}" for d in DIRT])
def test_strings_as_they_are_typed(text: str, label: str, side: int, want: dict[str, Any]) -> None:
    got = sayso.read_runout(text, label)
    assert {k: got.sides[side].get(k) for k in want} == want


NEVER = [
    # text, label, field, why it must not be there (common practice, no source)
    ("XLP-47324-1AE", "Columbia (US)", "plant", "no plant from the suffix"),
    ("PAL-34701-2AA", "Columbia (US)", "plant", "the P of the prefix"),
    ("FPRM-1234-1S", "RCA Victor", "year", "F with a letter after it may be 1955 or 1976"),
    ("B2VB-0123", "RCA Victor", "year", "B with a figure after it is no 1972"),
    ("E7VB-0123", "RCA Victor", "year", "outside the years in which the older system is known"),
    ("XEX 501-1N 1 R", "Parlophone (UK)", "plant", "R is a stamper"),
    ("XEX 501-1N 1 GD", "Parlophone (UK)", "stamper_number", "sources read D differently"),
    ("ZAL-5512-3B 1 U", "Decca / London (UK)", "engineer_name", "sources differ on B"),
    ("6303 044 1F // 1 ▽ 670", "Philips", "pressing_country", "the land of the cut"),
    ("6303 044 1F // 1 ▽ 999", "Philips", "cut_country", "in no list"),
    ("ST-A-681234-XX", "Atlantic", "plant", "in no list"),
    ("XEX 501-1N 1 GK", "Parlophone (UK)", "stamper", "K is not in the code word"),
    ("XEX 501-1N 1 GK", "Parlophone (UK)", "engineer", "no initials from abroad where letters count stampers"),
    ("ZAL-5512-3W BIG label", "Decca / London (UK)", "stamper", "an ordinary word"),
    ("XEX 622-1N HARD to read", "Parlophone (UK)", "stamper", "an ordinary word"),
    ("V2PP-1234-1S", "RCA Victor", "year", "a letter that was skipped"),
    ("MG 4512 star in the wax", "Decca (US)", "plant", "the star counts only where it is printed on the label"),
    ("AS-77-A  MR (circled)", "Impulse!", "plant", "a plating mark"),
    ("XEX 501-1N MT", "Parlophone (UK)", "stamper", "tax letters or stamper, not to be told"),
    ("XZAL-3805-1E 1 U", "Corvale", "cut", "the label is not known to use that grammar"),
    ("RX-4401-1A", "Corvale", "lacquer", "no maker's grammar on an unknown label"),
    ("ABC-123-A  P  T  R", "Norbel", "plant", "single letters of an unknown label"),
    ("pressed from 1968 to 1971", "Norbel", "number", "talk is no number"),
    ("ST-1-2553-B8, star printed on the front cover", "Contemporary", "plant", "another label"),
]


@pytest.mark.parametrize(("text", "label", "field", "why"), NEVER, ids=[f"{n[0]} {n[2]}" for n in NEVER])
def test_nothing_is_claimed_that_is_not_certain(text: str, label: str, field: str, why: str) -> None:
    got = sayso.read_runout(text, label)
    assert all(s.get(field) is None for s in (got, *got.sides)), why


BOUNDS = [
    # text, label, hard floor or None
    ("J2RY-4321-3S", "RCA Victor", 1958),
    ("CPRS-1234-2S", "RCA Victor", None),  # C = 1973 is from memory
    ("(KT by the hole)", "Norbel (UK)", 1963),
    ("XEX 501-1N (MKT by the hole)", "Parlophone (UK)", 1963),  # the later letter counts
    ("XEX 501-1N (JT by the hole)", "Parlophone (UK)", None),  # not safe enough to convict anybody
    ("XARL-5001-1A 2 B RT", "Decca / London (UK)", None),
    ("ILPS 9052 A-1U", "Island (UK)", None),
    ("SR90262A-RFR1", "Mercury / EmArcy", 1962),
    ("SR90500A-CTFR1", "Mercury / EmArcy", None),
    ("ABC-123-A DMM", "Norbel", 1982),
    ("ABC-123-A MASTERDISK", "Norbel", 1973),
    ("ABC-123-A KENDUN-A", "Norbel", None),
    ("ST-1-2553-B8 0", "Capitol", None),
    ("A-591123-MO", "Atlantic", 1967),  # the code began in January 1967, whatever the year of the tape
    ("XSM 157345-1A   P", "Columbia (US)", 1960),
    ("KT 63 on the sleeve", "Norbel", None),
]


@pytest.mark.parametrize(("text", "label", "floor"), BOUNDS, ids=[b[0] for b in BOUNDS])
def test_only_published_and_safe_dates_are_hard(text: str, label: str, floor: int | None) -> None:
    got = sayso.read_runout(text, label)
    assert got["not_before"] == floor
    assert all(b["source"] and b["why"] for b in got["bounds"])


def test_a_late_cut_is_said_to_be_no_proof_of_a_late_pressing() -> None:
    got = sayso.read_runout("SRRS-6120-12S", "RCA Victor")
    assert any(u["code"] == "late_cut" and "not by itself a late pressing" in u["text"] for u in got["unusual"])
    assert not sayso.read_runout("SRRS-6120-1S", "RCA Victor")["unusual"]


def test_impossible_lacquer_letters_make_a_question_not_a_number() -> None:
    got = sayso.read_runout("XLP-50221-1AI", "Columbia (US)")
    assert [u["code"] for u in got["unusual"]] == ["impossible_lacquer"]
    assert "lacquer" not in got.sides[0]


def test_a_known_shape_on_an_unknown_label_is_only_remarked_upon() -> None:
    got = sayso.read_runout("XZAL-3805-1E", "Corvale")
    assert got["system"] is None
    assert [u["code"] for u in got["unusual"]] == ["other_maker"]


def test_without_a_label_only_unmistakable_numbers_are_read() -> None:
    assert sayso.read_runout("XZAL-3805-1E 1 U")["system"] == "decca_uk"
    assert sayso.read_runout("RX-4401-1A")["system"] is None


def test_fields_from_memory_are_named() -> None:
    side = sayso.read_runout("RPRM-1234-1S", "RCA Victor").sides[0]
    assert set(side["soft"]) == {"line", "size_inch", "channels"}
    assert side["year"] == 1964


def test_offsets_point_into_the_text_as_given() -> None:
    text = "matrix: ｘlp39042-1ab  side 2 xlp39043-1aa"
    for side in sayso.read_runout(text, "Columbia (US)").sides:
        assert text[side["start"] : side["end"]] == side["as_written"]


def test_the_result_is_plain_json_and_cannot_be_changed() -> None:
    got = sayso.read_runout("XEX 501-1N 1 G", "Parlophone (UK)")
    assert isinstance(got, RunOut)
    assert json.loads(json.dumps(got))["sides"][0]["stamper"] == "G"
    with pytest.raises(TypeError):
        got["system"] = "other"
    with pytest.raises(TypeError):
        got.sides[0].update(cut=9)


def test_answers_are_written_a_line_each(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    line = json.dumps({"id": "q1", "text": "XEX 501-1N", "label": None})
    assert json.loads(next(answers([line])))["id"] == "q1"
    file = tmp_path / "questions.jsonl"
    file.write_text(line + "\n\nnot json\n", encoding="utf-8")
    assert main([str(file)]) == 2
    assert "line 3" in capsys.readouterr().err
    assert main([str(tmp_path / "none.jsonl")]) == 2
