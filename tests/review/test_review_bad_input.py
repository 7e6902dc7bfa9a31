"""What a feed can hold besides listings: a row without end, files that cannot be read. Every listing is invented."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
import tracemalloc
from collections.abc import Iterator
from pathlib import Path

import pytest

from sayso.review.rows import Raw
from sayso.review.sources import Reading, _json_lines, _unknown
from sayso.review.table import read_table

GIGABYTE = 1_000_000_000
SAYSO = [sys.executable, "-m", "sayso.cli", "review"]


class Endless(io.RawIOBase):
    """A head, a row of `size` bytes that is never in memory as a whole, and a tail."""

    def __init__(self, head: bytes, size: int, tail: bytes) -> None:
        self._parts: list[bytes | int] = [head, size, tail]
        self.given = 0

    def readline(self, size: int | None = -1) -> bytes:
        wanted = size if size is not None and size >= 0 else 1 << 30
        out = b""
        while len(out) < wanted and not out.endswith(b"\n") and self._parts:
            part = self._parts[0]
            room = wanted - len(out)
            if isinstance(part, int):
                took = min(part, room)
                out += b"x" * took
                self._parts[0] = part - took
                if part == took:
                    self._parts.pop(0)
                continue
            end = part.find(b"\n") + 1 or len(part)
            took = min(end, room)
            out, rest = out + part[:took], part[took:]
            if rest:
                self._parts[0] = rest
            else:
                self._parts.pop(0)
        self.given += len(out)
        return out

    def read(self, size: int = -1) -> bytes:
        out = b""
        while len(out) < size and (line := self.readline(size - len(out))):
            out += line
        return out


def peak(rows: Iterator[Raw]) -> tuple[list[Raw], float]:
    """The rows, and the most memory that reading them took at once, in MB."""
    tracemalloc.start()
    try:
        found = list(rows)
        return found, tracemalloc.get_traced_memory()[1] / 1e6
    finally:
        tracemalloc.stop()


@pytest.mark.parametrize("ends", [b'"\nB,plays\n', b"\nB,plays\n"])
def test_a_row_of_a_gigabyte_in_a_table_is_passed_over_and_told(ends: bytes) -> None:
    quote = b'"' if ends.startswith(b'"') else b""
    stream = Endless(b"title,text\nZ,plays\nA," + quote, GIGABYTE, ends)
    found, most = peak(read_table(stream, "feed.csv", Reading()))  # type: ignore[arg-type]
    assert stream.given > GIGABYTE
    assert most < 60
    assert [(r.number, bool(r.problem)) for r in found] == [(2, False), (3, True), (4, False)]
    assert "--max-bytes" in found[1].problem
    assert found[2].record is not None
    assert found[2].record["title"] == "B"


def test_a_row_of_a_gigabyte_in_json_lines_is_passed_over_and_told() -> None:
    stream = Endless(b'{"text": "plays"}\n{"text": "', GIGABYTE, b'"}\n{"text": "fine"}\n')
    found, most = peak(_json_lines(stream, "feed.jsonl", Reading()))  # type: ignore[arg-type]
    assert most < 60
    assert [(r.number, bool(r.problem)) for r in found] == [(1, False), (2, True), (3, False)]


def test_a_gigabyte_without_any_line_is_read_no_further_than_one_listing() -> None:
    stream = Endless(b"Low Tide LP\n\nPlays. ", GIGABYTE, b"")
    found, most = peak(_unknown(stream, "-", Reading()))  # type: ignore[arg-type]
    assert most < 60
    assert stream.given < 10_000_000
    assert len(found) == 1


def test_unreadable_files_among_many_are_told_and_the_others_are_done(tmp_path: Path) -> None:
    folder = tmp_path / "listings"
    folder.mkdir()
    for name in ("a", "b", "c"):
        (folder / f"{name}.txt").write_text(f"Low Tide LP no. {name}\n\nPlays well, VG+.", encoding="utf-8")
    (folder / "broken.txt").write_bytes(b"\x00\xff\x00\xfe\x01\x02" * 400)
    (folder / "empty.txt").write_bytes(b"")
    (folder / "picture.html").write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 10)
    (folder / "table.csv").mkdir()
    (folder / "loop.txt").symlink_to(folder / "loop.txt")
    (folder / "odd.txt").write_bytes("Ebbe LP\n\nL\xf6wen-Label, spielt gut.".encode("cp1252"))
    locked = folder / "locked.txt"
    locked.write_text("Low Tide LP\n\nPlays.", encoding="utf-8")
    locked.chmod(0)
    done = subprocess.run(
        [*SAYSO, str(folder), str(tmp_path / "missing.csv"), "--json"], capture_output=True, timeout=120, check=False
    )
    told = done.stderr.decode()
    assert done.returncode == 0, told
    assert "Traceback" not in told
    ids = [json.loads(line)["listing"]["id"] for line in done.stdout.splitlines()]
    assert {"a", "b", "c", "odd"} <= {i.removesuffix(".txt") for i in ids}
    for name in ("broken.txt", "empty.txt", "picture.html", "missing.csv"):
        assert name in told, told
    if os.geteuid() != 0:  # root reads everything
        assert "locked.txt" in told
    assert told.count("\n") <= 12, "one line each"
    strict = subprocess.run([*SAYSO, str(folder), "--json", "--strict"], capture_output=True, timeout=120, check=False)
    assert strict.returncode == 2


def test_a_price_in_another_currency_than_its_field_is_told_and_never_converted(tmp_path: Path) -> None:
    path = tmp_path / "w.csv"
    rows = ["title,text,price,currency", "A,plays,€40,GBP", "B,plays,$40,CAD", "C,plays,-40,GBP", "D,plays,40,GBP"]
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    lines = [
        json.dumps({"id": "e", "text": "plays", "price": "5 EUR", "currency": "GBP"}),
        json.dumps({"id": "f", "text": "plays", "price": -5, "currency": "GBP"}),
    ]
    (tmp_path / "w.jsonl").write_text("\n".join(lines) + "\n", encoding="utf-8")
    done = subprocess.run(
        [*SAYSO, str(path), str(tmp_path / "w.jsonl"), "--json"], capture_output=True, timeout=120, check=False
    )
    listings = [json.loads(line)["listing"] for line in done.stdout.splitlines()]
    told = [(x["price"], x["currency"], bool(x["notes"])) for x in listings]
    assert told == [
        (40.0, "EUR", True),
        (40.0, "CAD", False),
        (None, "GBP", True),
        (40.0, "GBP", False),
        (5.0, "EUR", True),
        (None, "GBP", True),
    ]
