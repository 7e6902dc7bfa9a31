"""`sayso audit`, `ask` and `schema` from outside: what they print, what they refuse, how they exit."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest

WORDS = "Orfleet Ramblers - Low Water Songs - Sandglass SGL 1207 original\n\nDeep groove both sides. Vinyl VG+.\n"


def sayso(*arguments: str, stdin: str | bytes = b"", **environment: str) -> subprocess.CompletedProcess[str]:
    data = stdin.encode() if isinstance(stdin, str) else stdin
    done = subprocess.run(
        [sys.executable, "-m", "sayso.cli", *arguments],
        input=data,
        capture_output=True,
        env={**os.environ, "XDG_CONFIG_HOME": "/nonexistent", "NO_COLOR": "1", **environment},
        check=False,
    )
    return subprocess.CompletedProcess(
        done.args, done.returncode, done.stdout.decode("utf-8"), done.stderr.decode("utf-8")
    )


@pytest.fixture
def listing(tmp_path: Path) -> Path:
    path = tmp_path / "listing.txt"
    path.write_text(WORDS, encoding="utf-8")
    return path


def test_the_answer_comes_first_and_fits_eighty_columns(listing: Path) -> None:
    done = sayso("audit", str(listing))
    assert done.returncode == 0, done.stderr
    lines = done.stdout.splitlines()
    headings = [n for n, x in enumerate(lines) if x.isupper() and not x.startswith(" ")]
    assert lines[0]
    assert headings[0] >= 1
    assert max(map(len, lines)) <= 80
    assert "\x1b" not in done.stdout
    for heading in ("THE SELLER'S WORDS", "MESSAGE TO SEND", "BEFORE YOU PAY"):
        assert heading in lines


def test_file_pipe_and_dash_give_the_same(listing: Path) -> None:
    report = sayso("audit", str(listing)).stdout
    assert sayso("audit", "-", stdin=WORDS).stdout == sayso("audit", stdin=WORDS).stdout == report


def test_json_is_one_audit_that_keeps_its_schema(listing: Path) -> None:
    schema = json.loads(sayso("schema").stdout)
    # JSON Schema draft 2020-12, checked by the reference library jsonschema
    jsonschema.Draft202012Validator.check_schema(schema)
    done = sayso("audit", str(listing), "--json", "--price", "1,200.50", "--currency", "gbp")
    assert done.stdout.count("\n") == 1
    audit = json.loads(done.stdout)
    jsonschema.validate(audit, schema, cls=jsonschema.Draft202012Validator)
    assert audit["schema"] == "sayso.audit/1"
    assert (audit["listing"]["price"], audit["listing"]["currency"]) == (1200.5, "GBP")
    assert len(audit["findings"]) == 33
    text = audit["listing"]["text"]
    assert all(text[c["start"] : c["end"]] == c["quote"] for c in audit["claims"])


def test_same_input_same_bytes(listing: Path) -> None:
    one = sayso("audit", str(listing), "--json", PYTHONHASHSEED="1").stdout
    assert one == sayso("audit", str(listing), "--json", PYTHONHASHSEED="2").stdout


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["audit", "missing.txt"], "missing.txt"),
        (["audit", "{empty}"], "empty"),
        (["audit", "{binary}"], "binary"),
        (["audit", "{folder}"], "folder"),
        (["audit", "{big}"], "--max-bytes"),
        (["audit", "{good}", "--max-bytes", "10"], "--max-bytes"),
        (["audit", "{good}", "--max-bytes", "0"], "--max-bytes"),
        (["audit", "{good}", "--price", "cheap"], "--price"),
        (["audit", "{good}", "--price", "-4"], "--price"),
        (["audit", "{good}", "--price", "nan"], "--price"),
        (["audit", "{good}", "--currency", "dollars"], "--currency"),
        (["audit", "{good}", "--worth", "320"], "NAME=AMOUNT"),
        (["audit", "{good}", "--language", "xx"], "--language"),
        (["audit", "{good}", "--max-chars", "5"], "--max-chars"),
        (["audit", "{good}", "--max-questions", "-1"], "--max-questions"),
        (["audit", "{good}", "--max-regret", "3"], "--max-regret"),
        (["audit", "{good}", "--fail-on", "mood"], "decisive-silence"),
        (["audit", "{good}", "--why", "deadwax.colour"], "deadwax.plant_mark"),
        (["audit", "{good}", "--json", "--why", "deadwax.matrix"], "exclude"),
        (["audit", "{good}", "--lexicon", "nowhere.toml"], "nowhere.toml"),
        (["audit", "{good}", "--lexicon", "{broken}"], "broken.toml"),
        (["audit", "{good}", "--encoding", "klingon"], "--encoding"),
        (["audit", "{latin}", "--encoding", "utf-8"], "utf-8"),
        (["ask", "{good}", "--label", "Sandglass"], "--label"),
        (["audit", "{good}", "--record", "SGL 1207"], "--lexicon"),
        (["audit", "{good}", "--bogus"], "--bogus"),
        (["audit", "{good}", "--max-questions", "many"], "--max-questions"),
        (["adit"], "adit"),
        (["ask", "--kind", "odd"], "original"),
        (["ask", "--max-questions", "0"], "--max-questions"),
        (["audit", "{good}", "--html", "{folder}/none/out.html"], "out.html"),
    ],
)
def test_what_cannot_be_used_gets_one_line_and_exit_two(arguments: list[str], says: str, tmp_path: Path) -> None:
    files = {
        "empty": b"  \n",
        "binary": bytes(range(256)) * 8,
        "big": b"a record " * 250_000,
        "good": WORDS.encode(),
        "latin": "pressé".encode("latin-1"),
        "broken.toml": b"[[term\n",
    }
    for name, data in files.items():
        (tmp_path / name).write_bytes(data)
    places = {n.partition(".")[0]: str(tmp_path / n) for n in files} | {"folder": str(tmp_path)}
    done = sayso(*(a.format(**places) for a in arguments))
    assert done.returncode == 2, done.stdout[:300]
    assert done.stdout == ""
    assert len(done.stderr.splitlines()) == 1
    assert says in done.stderr
    assert "Traceback" not in done.stderr


def test_more_bytes_can_be_allowed(tmp_path: Path) -> None:
    path = tmp_path / "big.txt"
    path.write_text("It is a record. " * 130_000, encoding="utf-8")
    assert sayso("audit", str(path)).returncode == 2
    assert sayso("audit", str(path), "--json", "--max-bytes", "3000000").returncode == 0


def test_fail_on_sets_the_exit_code(listing: Path) -> None:
    assert sayso("audit", str(listing), "--json", "--fail-on", "decisive-silence").returncode == 1
    assert sayso("audit", str(listing), "--json", "--fail-on", "conflict").returncode == 0


def test_a_listing_cannot_drive_the_terminal(tmp_path: Path) -> None:
    path = tmp_path / "nasty.txt"
    path.write_bytes("An LP \x1b]0;gotcha\x07 \x1b[2J and \u202eflipped\u202c words\x9b31m".encode())
    for arguments in (["audit", str(path)], ["audit", str(path), "--why", "format.size"], ["ask", str(path)]):
        out = sayso(*arguments).stdout
        assert not {c for c in out if ord(c) < 32 and c != "\n"}
        assert not set(out) & set("\x9b\u202e\u202c\x07")


def test_a_closed_pipe_is_no_error(listing: Path) -> None:
    done = subprocess.run(
        ["bash", "-c", f"set -o pipefail; {sys.executable} -m sayso.cli audit {listing} | head -n 1"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert "Traceback" not in done.stderr


def test_output_survives_an_ascii_locale(listing: Path) -> None:
    done = sayso("audit", str(listing), LC_ALL="C", PYTHONIOENCODING="ascii", PYTHONUTF8="0")
    assert done.returncode == 0, done.stderr
    assert "run-out" in done.stdout


def test_why_shows_what_decided(listing: Path) -> None:
    out = sayso("audit", str(listing), "--why", "deadwax.plant_mark").stdout
    assert "deadwax.plant_mark" in out
    assert "No words in the listing speak of it." in out


def test_ask_prints_only_the_message(listing: Path) -> None:
    report = json.loads(sayso("audit", str(listing), "--json").stdout)
    assert sayso("ask", str(listing)).stdout.rstrip("\n") == report["message"]
    rows = json.loads(sayso("ask", str(listing), "--json").stdout)
    assert [r["n"] for r in rows] == list(range(1, len(rows) + 1))
    assert [r["features"] for r in rows] == [q["features"] for q in report["questions"]]


def test_ask_without_a_listing() -> None:
    out = sayso("ask", "--label", "Sandglass", "--max-questions", "2").stdout
    assert "a record on Sandglass" in out
    assert "3." not in out
    assert "Platte auf Sandglass" in sayso("ask", "--label", "Sandglass", "--language", "de").stdout
    original = sayso("ask", "--kind", "original").stdout
    assert original != sayso("ask", "--kind", "later").stdout
    assert "look" in sayso("ask").stdout or "lamp" in sayso("ask").stdout


def test_language_of_the_questions(listing: Path) -> None:
    assert "Guten Tag" in sayso("audit", str(listing), "--language", "de").stdout
    assert "はじめまして" in sayso("ask", str(listing), "--language", "JA").stdout


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="a disk that is always full is a thing of Linux")
@pytest.mark.parametrize("command", [("audit",), ("audit", "--json"), ("ask",), ("schema",), ("lexicon", "list")])
def test_a_full_disk_is_told_in_one_line(command: tuple[str, ...], listing: Path) -> None:
    given = [str(listing)] if command[0] in ("audit", "ask") else []
    with open("/dev/full", "wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "sayso.cli", *command, *given],
            stdout=full,
            stderr=subprocess.PIPE,
            check=False,
        )
    told = done.stderr.decode()
    assert done.returncode == 2
    assert told.startswith("sayso: ")
    assert len(told.splitlines()) == 1
