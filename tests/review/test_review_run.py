"""The command from outside: what comes out, in which order, and what survives. Every listing is invented."""

from __future__ import annotations

import csv
import json
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

SAYSO = [sys.executable, "-m", "sayso.cli", "review"]


def run(*args: object, stdin: bytes | None = None) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run([*SAYSO, *map(str, args)], input=stdin or b"", capture_output=True, timeout=120, check=False)


def table(path: Path, count: int, start: int = 0) -> Path:
    with path.open("w", encoding="utf-8") as file:
        for n in range(start, start + count):
            words = f"Harbour Lamps no. {n}. Original pressing, blue label. Disc VG+, sleeve VG. Lot {n * 7919 % 977}."
            file.write(json.dumps({"id": f"h{n}", "title": f"Wanda Pell - Song {n} LP", "text": words}) + "\n")
    return path


def ids(data: bytes) -> list[str]:
    return [json.loads(line)["listing"]["id"] for line in data.splitlines()]


def test_an_audit_a_line_in_the_order_of_the_input(tmp_path: Path) -> None:
    done = run(table(tmp_path / "w.jsonl", 150), "--json", "--jobs", 2)
    assert done.returncode == 0, done.stderr
    assert ids(done.stdout) == [f"h{n}" for n in range(150)]
    assert json.loads(done.stdout.splitlines()[0])["schema"] == "sayso.audit/1"


def test_one_process_and_two_give_the_same_bytes(tmp_path: Path) -> None:
    path = table(tmp_path / "w.jsonl", 100)
    assert run(path, "--json", "--jobs", 1).stdout == run(path, "--json", "--jobs", 2).stdout


def test_a_pipe_of_csv_and_of_json_lines_and_of_one_listing() -> None:
    assert ids(run("-", "--json", stdin=b"id,title,text\na,Low Tide,Plays.\n").stdout) == ["a"]
    assert ids(run("-", "--json", stdin=b'{"id":"b","text":"Plays."}\n').stdout) == ["b"]
    assert ids(run("--json", stdin=b"Low Tide LP\n\nPlays, well.").stdout) == ["input"]


def test_bad_rows_are_told_and_do_not_stop_the_rest_unless_strict(tmp_path: Path) -> None:
    path = tmp_path / "w.jsonl"
    path.write_bytes(b'{"id":"a","text":"Plays."}\n{oops\n{"id":"c","text":"Plays."}\n')
    done = run(path, "--json")
    assert done.returncode == 0
    assert ids(done.stdout) == ["a", "c"]
    assert b"row 2" in done.stderr
    strict = run(path, "--json", "--strict")
    assert strict.returncode == 2
    assert b"row 2" in strict.stderr


@pytest.mark.parametrize(
    "args",
    [
        ("gone.csv", "--json"),
        ("--resume", "x.jsonl"),
        ("--json", "--out", "o.jsonl", "x.jsonl"),
        ("--column", "nonsense", "x.jsonl"),
        ("--currency", "pounds", "x.jsonl"),
        ("--jobs", "0", "x.jsonl"),
        ("--lexicon", "gone.toml", "x.jsonl"),
        ("--csv", "no/such/folder/x.csv", "x.jsonl"),
    ],
)
def test_unusable_input_and_arguments(tmp_path: Path, args: tuple[str, ...]) -> None:
    table(tmp_path / "x.jsonl", 2)
    done = subprocess.run([*SAYSO, *args], capture_output=True, timeout=60, cwd=tmp_path, input=b"", check=False)
    assert done.returncode == 2
    assert b"Traceback" not in done.stderr
    assert done.stderr.strip()


def test_an_empty_file_and_one_without_a_text_column(tmp_path: Path) -> None:
    (tmp_path / "e.csv").write_bytes(b"")
    (tmp_path / "n.csv").write_bytes(b"Colour,Weight\nred,3\n")
    for name in ("e.csv", "n.csv"):
        done = run(tmp_path / name)
        assert done.returncode == 2
        assert b"Traceback" not in done.stderr


def test_the_ranking_as_table_csv_and_messages(tmp_path: Path) -> None:
    path = tmp_path / "w.csv"
    path.write_text(
        "id,title,text,price,seller\n"
        'a,"=cmd|calc","Wanda Pell LP. Original pressing.",£30,Ann\n'
        "b,Wanda Pell - Low Tide LP,Original first pressing. Blue label. Lovely sound from start to end.,£40,Bob\n"
        "c,WANDA PELL  low tide LP!,Original first pressing. Blue label. Lovely sound from start to end,£44,Cy\n"
        "d,Wanda Pell - Low Tide LP,A later reissue with a barcode on the back of the sleeve.,£9,Bob\n",
        encoding="utf-8",
    )
    out = tmp_path / "out.csv"
    done = run(path, "--csv", out, "--ask", tmp_path / "messages")
    assert done.returncode == 0, done.stderr
    assert b"listings read" in done.stdout
    found = {r["id"]: r for r in csv.DictReader(out.read_text(encoding="utf-8-sig").splitlines())}
    assert set(found) == set("abcd")
    assert found["a"]["title"].startswith("'=")
    assert "row" in found["c"]["same_as"]
    assert not found["b"]["same_as"]
    assert sorted(int(r["rank"]) for r in found.values()) == [1, 2, 3, 4]
    assert all(r["reason"] for r in found.values())
    assert list((tmp_path / "messages").glob("*.txt"))


def test_the_page_and_the_parquet_file(tmp_path: Path) -> None:
    pytest.importorskip("pyarrow")
    import pyarrow.parquet

    path = table(tmp_path / "w.jsonl", 3)
    done = run(path, "--html", tmp_path / "w.html", "--parquet", tmp_path / "w.parquet")
    assert done.returncode == 0, done.stderr
    page = (tmp_path / "w.html").read_text(encoding="utf-8")
    assert all(f"Wanda Pell - Song {n} LP" in page for n in range(3))
    found = pyarrow.parquet.read_table(tmp_path / "w.parquet").to_pylist()
    assert sorted(r["id"] for r in found) == ["h0", "h1", "h2"]


def test_copies_of_one_title_are_recognised(tmp_path: Path) -> None:
    path = tmp_path / "w.csv"
    path.write_text(
        "id,title,text\n"
        "a,Orla Fenn - Winter Signals LP,The blue label with the ridge and the initials in the run-out ring.\n"
        "b,ORLA FENN winter signals FIRST PRESS label 88,Sleeve a bit worn and the record plays with a light crackle.\n"
        "c,Orla Fenn - Summer Signals LP,Another record altogether by the same singer and on the same label.\n",
        encoding="utf-8",
    )
    run(path, "--csv", tmp_path / "out.csv")
    found = {r["id"]: r for r in csv.DictReader((tmp_path / "out.csv").read_text("utf-8-sig").splitlines())}
    assert [found[i]["other_copies"] for i in "abc"] == ["1", "1", "0"]


def test_an_interrupted_run_goes_on_without_losing_or_doubling_rows(tmp_path: Path) -> None:
    path, out = table(tmp_path / "w.jsonl", 1_000), tmp_path / "o.jsonl"
    process = subprocess.Popen(
        [*SAYSO, str(path), "--out", str(out), "--jobs", "2"], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE
    )
    began = time.monotonic()
    while (not out.exists() or out.stat().st_size < 200_000) and time.monotonic() - began < 60:
        time.sleep(0.02)
    process.send_signal(signal.SIGINT)
    _, told = process.communicate(timeout=60)
    if process.returncode != 0:  # a fast machine may have finished before it was told
        assert process.returncode == 130
        assert b"--resume" in told
        assert b"Traceback" not in told
    with out.open("ab") as file:
        file.write(b'{"torn')
    again = run(path, "--out", out, "--resume", "--jobs", 2)
    assert again.returncode == 0, again.stderr
    assert ids(out.read_bytes()) == [f"h{n}" for n in range(1_000)]
    other = run(table(tmp_path / "v.jsonl", 3), "--out", out, "--resume")
    assert other.returncode == 2
    assert b"other files" in other.stderr


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_full_disk_is_one_clear_line(tmp_path: Path) -> None:
    path = table(tmp_path / "w.jsonl", 300)
    with open("/dev/full", "wb") as full:
        done = subprocess.run(
            [*SAYSO, str(path), "--json", "--jobs", "1"], stdout=full, stderr=-1, timeout=60, check=False
        )
    assert done.returncode == 2
    assert b"Traceback" not in done.stderr
    assert b"No space left" in done.stderr


def test_a_closed_pipe_ends_quietly(tmp_path: Path) -> None:
    path = table(tmp_path / "w.jsonl", 300)
    shell = f"{' '.join(SAYSO)} {path} --json --jobs 1 | head -n 1"
    done = subprocess.run(["bash", "-c", shell], capture_output=True, timeout=60, check=False)
    assert len(done.stdout.splitlines()) == 1
    assert b"Traceback" not in done.stderr


def workers() -> list[int]:
    """The processes that audit for this one: children of the process they are forked from."""
    found = []
    for entry in Path("/proc").glob("[0-9]*"):
        try:
            parent = int((entry / "stat").read_text().rpartition(")")[2].split()[1])
            command = (entry / "cmdline").read_bytes()
            above = (Path("/proc") / str(parent) / "stat").read_text().rpartition(")")[2].split()[1]
        except (OSError, IndexError, ValueError):
            continue
        if b"forkserver" in command and int(above) == os.getpid():
            found.append(int(entry.name))
    return found


def test_a_killed_worker_costs_no_row(tmp_path: Path) -> None:
    from sayso.review.pool import ALONE, audit_rows
    from sayso.review.rows import Settings
    from sayso.review.sources import Reading, rows

    if not Path("/proc/self/stat").exists():
        pytest.skip("needs the process table")
    path = table(tmp_path / "w.jsonl", 700)
    seen: list[int] = []
    killed = False
    for batch in audit_rows(rows([str(path)], Reading()), Settings(), 2):
        seen += [d.number for d in batch if d.json]
        if len(seen) > ALONE + 60 and not killed:
            [first, *_] = workers()
            os.kill(first, signal.SIGKILL)
            killed = True
    assert killed
    assert seen == list(range(1, 701))


def test_no_process_stays_behind_a_run_that_was_killed_and_it_resumes(tmp_path: Path) -> None:
    if not Path("/proc/self/stat").exists():
        pytest.skip("needs the process table")
    path, out, whole = table(tmp_path / "w.jsonl", 600), tmp_path / "o.jsonl", tmp_path / "whole.csv"
    mark = f"SAYSO_TEST={tmp_path}".encode()

    def left() -> list[str]:
        found = []
        for entry in Path("/proc").glob("[0-9]*"):
            try:
                if mark in (entry / "environ").read_bytes().split(b"\0"):
                    found.append(entry.name)
            except OSError:
                continue
        return found

    with subprocess.Popen(
        [*SAYSO, str(path), "--out", str(out), "--csv", str(tmp_path / "x.csv"), "--jobs", "2"],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env={**os.environ, "SAYSO_TEST": str(tmp_path)},
    ) as process:
        progress = tmp_path / "o.jsonl.progress"
        began = time.monotonic()
        while time.monotonic() - began < 90:
            if progress.exists() and json.loads(progress.read_text())["rows"] > 150:
                break
            time.sleep(0.02)
        process.kill()
    assert process.returncode == -signal.SIGKILL
    began = time.monotonic()
    while left() and time.monotonic() - began < 30:
        time.sleep(0.1)
    assert not left()
    again = run(path, "--out", out, "--csv", tmp_path / "resumed.csv", "--resume", "--jobs", 2)
    assert again.returncode == 0, again.stderr
    assert ids(out.read_bytes()) == [f"h{n}" for n in range(600)]
    assert run(path, "--csv", whole, "--jobs", 2).returncode == 0
    assert (tmp_path / "resumed.csv").read_bytes() == whole.read_bytes()


def test_copies_of_one_title_stand_side_by_side_with_what_each_seller_says(tmp_path: Path) -> None:
    path = tmp_path / "w.csv"
    path.write_text(
        "id,title,text,seller,price\n"
        "a,Orla Fenn - Winter Signals LP,Deep groove on both sides. Mono. Vinyl VG+.,ann,£30\n"
        "b,Orla Fenn - Winter Signals LP,No deep groove on this one. Stereo copy. Vinyl EX.,bob,£9\n"
        "c,Orla Fenn - Winter Signals LP,Perhaps a first pressing. The vinyl is VG only.,cy,\n"
        "d,Orla Fenn - Winter Signals LP,Cannot find any deep groove here. Vinyl NM.,di,£12\n",
        encoding="utf-8",
    )
    told = run(path).stdout.decode()
    table_ = told[told.index("WHO SAYS WHAT") :]
    for letter, seller in zip("ABCD", ("ann", "bob", "cy", "di"), strict=True):
        assert re.search(rf"(?m)^    [ABCD]  {'abcd'['ABCD'.index(letter)]}; {seller}; ", table_)
    said = " ".join(table_.split())
    for words in ("no Deep groove", "Mono", "Stereo", "perhaps first pressing", "looked for, not", "no price"):
        assert words.lower() in said.lower(), words
    assert max(map(len, table_.splitlines())) <= 80


def test_one_missing_file_is_one_line(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "sayso.cli", "review", str(tmp_path / "none.csv")], capture_output=True, text=True
    )
    assert done.returncode == 2
    assert len(done.stderr.splitlines()) == 1
    assert "none.csv" in done.stderr


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_a_full_disk_is_said_in_one_line(tmp_path: Path) -> None:
    table = tmp_path / "list.csv"
    table.write_text("title,text\nLow Water Songs,Original pressing with deep groove\n")
    command = [sys.executable, "-m", "sayso.cli", "review", str(table), "--quiet", "--csv", "/dev/full"]
    done = subprocess.run(command, capture_output=True, text=True)
    assert done.returncode == 2
    assert len(done.stderr.splitlines()) == 1
    assert "/dev/full" in done.stderr
