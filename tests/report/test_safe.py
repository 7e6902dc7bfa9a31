"""Words of others cannot drive a terminal. Sources: ECMA-48 (controls), Unicode Standard Annex 9 (direction)."""

from __future__ import annotations

import unicodedata
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sayso.cli import main
from sayso.report.safe import safe


@pytest.mark.parametrize(
    "nasty",
    [
        "\x1b[2J",
        "\x1b]0;title\x07",
        "\x1b]52;c;aGVsbG8=\x07",
        "\x9b31m",
        "\x90q\x9c",
        "a\rb",
        "a\x08b",
        "\x7f",
        "\u202egnp.exe",
        "\u2066x\u2069",
        "\u061c",
        "\u2028",
        "\U000e0041",
        "\ud800",
    ],
)
def test_nothing_of_it_is_left(nasty: str) -> None:
    shown = safe(f"VG+ {nasty} cover")
    assert len(shown) == len(f"VG+ {nasty} cover")
    bidi = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}
    for c in shown:
        assert unicodedata.category(c) not in ("Cc", "Cs", "Zl", "Zp")
        assert unicodedata.bidirectional(c) not in bidi


@given(st.text())
def test_length_stays_and_a_second_time_changes_nothing(text: str) -> None:
    assert len(safe(text)) == len(text)
    assert safe(safe(text)) == safe(text)


@given(st.text(st.characters(categories=["L", "N", "P", "S", "Zs"])))
def test_ordinary_writing_is_left_as_it_is(text: str) -> None:
    assert safe(text) == text


@pytest.mark.parametrize("command", [("audit",), ("ask",), ("review",)])
def test_every_command_that_prints_a_listing(
    command: tuple[str, ...], tmp_path: Path, capsysbinary: pytest.CaptureFixture[bytes]
) -> None:
    file = tmp_path / "x.txt"
    file.write_bytes("Low \x1b[2JWater\x07 LP\n\nKettle \u202eor so, I think\x9b.".encode())
    with pytest.raises(SystemExit):
        main([*command, str(file)])
    out, err = capsysbinary.readouterr()
    shown = (out + err).decode()
    assert not {"\x1b", "\x07", "\x9b", "\u202e"} & set(shown)


def test_a_fault_that_names_a_hostile_file(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["audit", "\x1b[2Jno-such-file"])
    assert "\x1b" not in capsys.readouterr().err
