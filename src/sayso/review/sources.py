"""From files, folders and the standard input to raw rows, one at a time, whatever their number."""

from __future__ import annotations

import codecs
import json
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import BinaryIO

from sayso.intake.decode import LIMIT, decode, size_in_words
from sayso.intake.errors import IntakeError
from sayso.review.rows import Raw

LINES = frozenset({".jsonl", ".ndjson", ".jsonlines"})
TABLES = frozenset({".csv", ".tsv", ".tab"})
PAGES = frozenset({".html", ".htm", ".xhtml", ".mhtml", ".mht", ".txt", ".text", ".md"})
JSON_FILE = 64_000_000
"""A single JSON document larger than this many bytes has to be given as JSON Lines, which are read line by line."""


@dataclass
class Reading:
    """How to read: limits, the columns the user named, and where to say what was understood."""

    max_bytes: int = LIMIT
    columns: dict[str, str] = field(default_factory=dict)
    currency: str | None = None
    encoding: str | None = None
    """The encoding of all inputs as the user gave it; guessed for each where it is left out."""
    say: Callable[[str], None] = lambda _: None


def rows(inputs: Sequence[str], reading: Reading) -> Iterator[Raw]:
    """The rows of all inputs in order.

    An input that cannot be opened, or that holds no words to audit, is one row with a problem: the others are read.
    """
    for raw in _rows(inputs, reading):
        if reading.encoding and raw.record is not None and any("\ufffd" in str(v) for v in raw.record.values()):
            yield Raw(raw.source, raw.number, problem=f"holds bytes that are no {reading.encoding}")
        else:
            yield raw


def _rows(inputs: Sequence[str], reading: Reading) -> Iterator[Raw]:
    for name in inputs:
        path = Path(name)
        try:
            if name == "-":
                yield from _standard_input(reading)
            elif path.is_dir():
                yield from _folder(path, reading)
            else:
                yield from _file(path, reading)
        except OSError as error:
            yield Raw(name, 0, problem=_why(error))
        except IntakeError as error:
            yield Raw(name, 0, problem=str(error).removeprefix(f"{name}: "))


def _why(error: OSError) -> str:
    if isinstance(error, FileNotFoundError):
        return "there is no such file or folder; check the name"
    return f"cannot be read: {error.strerror or error}"


def _folder(folder: Path, reading: Reading) -> Iterator[Raw]:
    known = LINES | TABLES | PAGES | {".json"}
    found = False
    for path in sorted(folder.rglob("*")):
        inner = path.relative_to(folder).parts
        if path.suffix.lower() not in known or any(part.startswith(".") for part in inner):
            continue
        if any(part.endswith(("_files", "_data")) for part in inner[:-1]):
            continue  # what a browser saves beside a page
        if not path.is_file():
            continue
        found = True
        try:
            yield from _file(path, reading)
        except OSError as error:
            yield Raw(str(path), 0, problem=_why(error))
        except IntakeError as error:
            yield Raw(str(path), 0, problem=str(error).removeprefix(f"{path}: "))
    if not found:
        yield Raw(str(folder), 0, problem="the folder holds no listings (.txt, .html, .csv, .tsv, .json, .jsonl)")


def _file(path: Path, reading: Reading) -> Iterator[Raw]:
    ending = path.suffix.lower()
    if ending in PAGES:
        with path.open("rb"):
            pass
        yield Raw(str(path), 0, path=str(path))
        return
    with path.open("rb") as opened:
        file = _recoded(opened, reading)
        if ending in LINES:
            yield from _json_lines(file, str(path), reading)
        elif ending in TABLES:
            yield from _table(file, str(path), reading)
        elif ending == ".json":
            yield from _json_document(file, str(path))
        else:
            yield from _unknown(file, str(path), reading)


def _standard_input(reading: Reading) -> Iterator[Raw]:
    if sys.stdin is None or sys.stdin.closed:
        yield Raw("-", 0, problem="there is nothing on the standard input")
        return
    yield from _unknown(_recoded(sys.stdin.buffer, reading), "-", reading)


class _Recoded:
    """A stream in another encoding as one in UTF-8, read piece by piece; what cannot be read becomes U+FFFD."""

    def __init__(self, head: bytes, rest: BinaryIO, encoding: str) -> None:
        self._head, self._rest, self._name = head, rest, encoding
        self._decoder = codecs.getincrementaldecoder(encoding)(errors="replace")
        self._kept = bytearray()
        self._seen = 0  # no line ends in the first so many bytes of what is kept
        self._over = False

    def _more(self) -> bool:
        if self._over:
            return False
        data, self._head = self._head or self._rest.read(262_144), b""
        self._over = not data
        try:
            text = self._decoder.decode(data, final=self._over)
        except UnicodeError:  # no mark of the byte order at the start: 'replace' does not help there
            raise IntakeError(f"is not {self._name}; leave --encoding out and it is guessed") from None
        self._kept += text.encode("utf-8", "replace")
        return True

    def _take(self, size: int) -> bytes:
        out = bytes(self._kept[:size])
        del self._kept[:size]
        self._seen = 0
        return out

    def readline(self, size: int = -1) -> bytes:
        while (end := self._kept.find(b"\n", self._seen) + 1) == 0:
            self._seen = len(self._kept)
            if 0 <= size <= self._seen or not self._more():
                end = len(self._kept)
                break
        return self._take(min(end, size) if size >= 0 else end)

    def read(self, size: int = -1) -> bytes:
        while (size < 0 or len(self._kept) < size) and self._more():
            pass
        return self._take(size if size >= 0 else len(self._kept))


def _recoded(file: BinaryIO, reading: Reading) -> Stream:
    """The stream in UTF-8 where its encoding was given, or shows in its first bytes as one of two or four bytes a
    character; else as it is, to be read line by line."""
    head = file.read(512)
    name = reading.encoding or ""
    if not name and head.startswith((codecs.BOM_UTF32_LE, codecs.BOM_UTF32_BE)):
        name = "utf-32"
    elif not name and head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        name = "utf-16"
    elif not name and head.count(b"\x00") * 5 > len(head) and b"\x00\x00" not in head:
        name = "utf-16-le" if head[1:2] == b"\x00" else "utf-16-be"
    return _Recoded(head, file, name) if name else _Peeked(head, file)


class _Peeked:
    """A binary stream whose first bytes were looked at already."""

    def __init__(self, head: bytes, rest: Stream) -> None:
        self._head, self._rest = head, rest

    def readline(self, size: int = -1) -> bytes:
        if not self._head:
            return self._rest.readline(size)
        end = self._head.find(b"\n") + 1 or len(self._head)
        end = min(end, size) if size >= 0 else end
        line, self._head = self._head[:end], self._head[end:]
        if not line.endswith(b"\n") and not self._head and (size < 0 or len(line) < size):
            line += self._rest.readline(size - len(line) if size >= 0 else -1)
        return line

    def read(self, size: int = -1) -> bytes:
        if size >= 0 and len(self._head) >= size:
            out, self._head = self._head[:size], self._head[size:]
            return out
        out, self._head = self._head, b""
        return out + self._rest.read(size - len(out) if size >= 0 else -1)


Stream = BinaryIO | _Recoded | _Peeked


def _unknown(file: Stream, source: str, reading: Reading) -> Iterator[Raw]:
    """Input without a telling name: JSON Lines, a table, or one listing."""
    from sayso.intake.paste import is_html
    from sayso.review.table import looks_like_table

    head = file.read(65_536)
    stream: Stream = _Peeked(head, file)
    start = head.removeprefix(b"\xef\xbb\xbf").lstrip()
    if start.startswith(b"{"):
        yield from _json_lines(stream, source, reading)
        return
    if start.startswith(b"["):
        yield from _json_document(stream, source)
        return
    if head:
        try:
            text, _ = decode(head[:65_536].rpartition(b"\n")[0] or head, source)
        except IntakeError as error:
            yield Raw(source, 0, problem=str(error))
            return
        if not is_html(text.split("\n", 1)[0]) and looks_like_table(text):
            yield from _table(stream, source, reading)
            return
    data = stream.read(reading.max_bytes + 1)
    yield Raw(source, 0, data=data)


def lines(file: Stream, limit: int) -> Iterator[tuple[int, bytes | None]]:
    """(number, line) of a stream; a line longer than `limit` bytes is passed over and given as null."""
    number = 0
    while True:
        line = file.readline(limit + 1)
        if not line:
            return
        number += 1
        if len(line) > limit and not line.endswith(b"\n"):
            while line and not line.endswith(b"\n"):
                line = file.readline(1 << 20)
            yield number, None
            continue
        yield number, line


def too_long(limit: int) -> str:
    """What is said of a row over the limit."""
    return f"longer than the {size_in_words(limit)} read of one row; raise the limit with --max-bytes"


def _json_lines(file: Stream, source: str, reading: Reading) -> Iterator[Raw]:
    # JSON escapes make a line longer than the text that it holds (six bytes for one character at the most).
    limit = 6 * reading.max_bytes
    for number, line in lines(file, limit):
        if line is None:
            yield Raw(source, number, problem=too_long(reading.max_bytes))
            continue
        text = _line_text(line)
        if text.strip("\ufeff \t\r\n\x00"):
            yield _json_row(text, source, number)


def _line_text(line: bytes) -> str:
    try:
        return line.decode("utf-8").removeprefix("\ufeff")
    except UnicodeDecodeError:
        try:
            return decode(line)[0]
        except IntakeError:
            return line.decode("utf-8", "replace")


def _json_row(text: str, source: str, number: int) -> Raw:
    try:
        record = json.loads(text, strict=False)
    except RecursionError:
        return Raw(source, number, problem="nested too deeply; each line must be one flat object")
    except ValueError as error:
        detail = str(error).split(":")[0]
        return Raw(
            source, number, problem=f'not valid JSON ({detail}); each line must be like {{"title": …, "text": …}}'
        )
    return _record_row(record, source, number)


def _record_row(record: object, source: str, number: int) -> Raw:
    if not isinstance(record, dict):
        return Raw(source, number, problem='not an object; each one must be like {"title": …, "text": …}')
    return Raw(source, number, record=_unwrapped(record))


def _unwrapped(record: dict[str, object]) -> dict[str, object]:
    """The listing of a record that holds it under `listing`; markup is recognised where no format is given."""
    from sayso.intake.paste import is_html

    inner = record.get("listing")
    if isinstance(inner, dict) and "text" not in record and "title" not in record:
        record = {"id": record.get("id"), **inner}
    if "format" not in record and isinstance(record.get("text"), str) and is_html(str(record["text"])):
        record = {**record, "format": "html"}
    return record


def _json_document(file: Stream, source: str) -> Iterator[Raw]:
    data = file.read(JSON_FILE + 1)
    if len(data) > JSON_FILE:
        yield Raw(source, 0, problem="too large for one JSON document; write it as JSON Lines, one object a line")
        return
    try:
        value = json.loads(_line_text(data), strict=False)
    except (ValueError, RecursionError):
        yield Raw(source, 0, problem="not valid JSON")
        return
    if isinstance(value, dict) and isinstance(value.get("listings"), list):
        value = value["listings"]
    for number, record in enumerate(value if isinstance(value, list) else [value], 1):
        yield _record_row(record, source, number)


def _table(file: Stream, source: str, reading: Reading) -> Iterator[Raw]:
    from sayso.review.table import read_table

    yield from read_table(file, source, reading)
