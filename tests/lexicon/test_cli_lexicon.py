"""`sayso lexicon` as a user meets it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from sayso.cli import main


@pytest.fixture(autouse=True)
def _no_user_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("platformdirs.user_config_path", lambda name: tmp_path / "config" / name)


def run(capsys: pytest.CaptureFixture[str], *args: str) -> tuple[int, str, str]:
    try:
        main(["lexicon", *args])
        code = 0
    except SystemExit as end:
        code = int(end.code or 0)
    out, err = capsys.readouterr()
    return code, out, err


def test_list_what_rests_on_memory(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "list", "--basis", "memory", "--json")
    rows = json.loads(out)
    assert code == 0
    assert {r["id"] for r in rows} >= {"kendun", "monarch-mr", "rca_line"}
    assert "dmm" not in {r["id"] for r in rows}
    # A label whose history is published may still have eras that nobody was found to publish.
    told = {r["id"]: r["from_memory"] for r in rows if r["kind"] == "label"}
    assert "era 5" in told["prestige"]
    assert "era 1 catalogue_from" in told["prestige"]
    assert "stock_reuse" in told["prestige"]


def test_list_one_kind(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, err = run(capsys, "list", "--kind", "mark")
    assert len(out.splitlines()) == 111
    assert "111 entries" in err


def test_show_gives_basis_source_and_caution(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "show", "sterling")
    for word in ("basis: published", "source: ", "caution: ", "earliest: 1968"):
        assert word in out


def test_a_label_is_a_time_table_that_says_what_is_from_memory(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "show", "prestige")
    rows = [line for line in out.splitlines() if "|" in line]
    assert len(rows) == 5
    assert rows[0].strip().startswith("1956–1958 |█")
    assert "[from memory: catalogue from]" in rows[0]
    assert "[from memory]" in rows[4]


def test_words_of_a_file_cannot_drive_the_terminal(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text('[[label]]\nname = "N\\u001b[31mX"\nbasis = "memory"\ncountry = "\\u202eUK"\n', encoding="utf-8")
    for command in (["list"], ["show", "n-31mx"], ["check", str(file)]):
        out = run(capsys, *command, *(() if command[0] == "check" else ("--lexicon", str(file))))[1]
        assert "\x1b" not in out
        assert "\u202e" not in out


def test_an_unknown_id_is_one_line_with_a_hint(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "show", "sterlin")
    assert (code, out) == (2, "")
    assert err.count("\n") == 1
    assert "did you mean sterling" in err


def test_wrong_choices_are_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(capsys, "list", "--kind", "cow")[0] == 2
    assert run(capsys, "list", "--basis", "hearsay")[0] == 2


def test_check_of_what_is_in_use(capsys: pytest.CaptureFixture[str]) -> None:
    code, _, err = run(capsys, "check")
    assert code == 0
    assert "0 errors" in err


def test_check_of_a_damaged_file(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text("[[mark]]\nid = 'x'\n", encoding="utf-8")
    code, out, err = run(capsys, "check", str(file))
    assert code == 1
    assert "mine.toml: mark x, key kind: this key is missing" in out
    assert "errors" in err


def test_check_runs_the_examples_of_a_users_own_system(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text(
        "[[system]]\nid = 'norbel'\nname = 'Norbel'\nlabels = ['Norbel']\n"
        "basis = 'common practice'\nsource = 'invented'\n"
        "examples = [{ text = 'NB-123', gives = [{ number = '124' }], basis = 'invented' }]\n"
        "[[system.patterns]]\nregex = '(?P<prefix>NB){s}(?P<number>{d}{3})'\ndigits = ['number']\n",
        encoding="utf-8",
    )
    code, out, _ = run(capsys, "check", str(file))
    assert code == 1
    assert "gives number '123', not '124'" in out


def test_a_damaged_overlay_is_one_line(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text("[[", encoding="utf-8")
    code, _, err = run(capsys, "list", "--lexicon", str(file))
    assert code == 2
    assert err.startswith("sayso: ")
    assert err.count("\n") == 1


def test_read_a_run_out(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "read", "XEX 501-1N 1 G (KT by the hole)", "--label", "Parlophone (UK)")
    assert code == 0
    for words in ("EMI (UK)", "stamper number: 1", "tax letters: KT", "not before 1963-07-01", "caution: "):
        assert words in out
    _, out, _ = run(capsys, "read", "ABC-123-A", "--json")
    assert json.loads(out)["system"] is None


def test_show_a_label_as_a_time_table(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    from sayso.lexicon.dossier_form import filled, form

    file = tmp_path / "norbel.toml"
    file.write_text(filled(form("Norbel", tmp_path)), encoding="utf-8")
    _, out, _ = run(capsys, "show", "norbel", "--lexicon", str(file))
    assert "time table (1954 to 1962)" in out
    assert "1954–1961" in out
    assert "█" in out
    _, out, _ = run(capsys, "show", "norbel-abc-1007", "--lexicon", str(file))
    assert "pressing first: first pressing (1957–1961; 500 copies, counts as first)" in out
    assert "settled by: deadwax.plant_mark = anchor (first)" in out


@pytest.mark.parametrize("name", ["Norbel", 'The "Grey" Label', "Éditions Mélyne", "音盤", "back\\slash", "{0} {name}"])
def test_a_new_label_passes_the_check_as_printed_and_as_filled_in(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, name: str
) -> None:
    from sayso.lexicon import Lexicon
    from sayso.lexicon.check import check
    from sayso.lexicon.dossier_form import filled

    file = tmp_path / "new.toml"
    assert run(capsys, "new", "label", name, "--out", str(file))[0] == 0
    assert not [str(p) for p in check([file])]
    file.write_text(filled(file.read_text(encoding="utf-8")), encoding="utf-8")
    assert not [str(p) for p in check([file])]
    assert name in {x.name for x in Lexicon((file,)).labels.values()}


def test_a_new_label_never_overwrites(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "new.toml"
    file.write_text("mine", encoding="utf-8")
    code, _, err = run(capsys, "new", "label", "Norbel", "--out", str(file))
    assert code == 2
    assert "exists already" in err
    assert file.read_text(encoding="utf-8") == "mine"
    assert run(capsys, "new", "label", " ")[0] == 2
    assert run(capsys, "new", "label", "Norbel", "--out", str(tmp_path / "no" / "new.toml"))[0] == 2
