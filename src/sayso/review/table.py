"""CSV and TSV as spreadsheets export them: any delimiter, any column names, mixed encodings, quoted line breaks."""

from __future__ import annotations

import csv
import itertools
from collections.abc import Iterator
from typing import TYPE_CHECKING, BinaryIO

from sayso.intake.decode import decode
from sayso.intake.errors import IntakeError
from sayso.review.columns import Columns, match_columns
from sayso.review.rows import Raw

if TYPE_CHECKING:
    from sayso.review.sources import Reading, _Peeked

DELIMITERS = (",", ";", "\t", "|")
HEAD_ROWS = 12
"""The head of a table is looked for in so many first rows; exports often begin with a title or an empty row."""
SAMPLE = 200
"""Rows looked at to learn how the prices of the column are written."""
_TOO_LONG = "\x1a"


def looks_like_table(text: str) -> bool:
    """True where the first lines of `text` have one delimiter in common and name known columns."""
    first = [line for line in text.split("\n")[:HEAD_ROWS] if line.strip()]
    if len(first) < 2:
        return False
    delimiter = find_delimiter(text)
    for row in csv.reader(first, delimiter=delimiter):
        if len(row) > 1 and {"title", "text"} & set(match_columns(row).by_meaning):
            return True
    return False


def find_delimiter(text: str) -> str:
    """The delimiter that parts the first rows into the most columns evenly; a first line 'sep=;' says it outright."""
    head = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    if head[:4].lower() == "sep=" and len(head) > 4:
        return head[4] if head[4] not in "\r\n" else ","
    best, columns = ",", (0.0, 1)
    sample = head[:65_536].split("\n")[:40]
    for delimiter in DELIMITERS:
        try:
            widths = [len(row) for row in csv.reader(sample, delimiter=delimiter) if row]
        except csv.Error:
            continue
        if not widths:
            continue
        width = max(set(widths), key=lambda w: (widths.count(w), w))
        score = (widths.count(width) / len(widths) if width > 1 else 0.0, width)
        head_width = max(widths[:3])
        if head_width > 1 and score > columns:
            best, columns = delimiter, score
    return best


def read_table(file: BinaryIO | _Peeked, source: str, reading: Reading) -> Iterator[Raw]:
    """The rows of a table. A bad row is a `Raw` with a problem. Raises `IntakeError` where no column holds words."""
    head = file.read(262_144)
    if not head.strip(b"\xef\xbb\xbf\xff\xfe\x00 \t\r\n"):
        yield Raw(source, 0, problem="the file is empty")
        return
    if head.startswith((b"\xff\xfe", b"\xfe\xff")) or head[:200].count(b"\x00") > 20:
        lines = _wide_lines(head, file, reading.max_bytes)
        sample, _ = decode(head, source)
    else:
        # A whole file is seldom in one encoding once two spreadsheets have been pasted together: each line that is no
        # UTF-8 is read in the encoding of the others that are none.
        odd = b"\n".join(line for line in head.split(b"\n")[:-1] if not _utf8(line))
        other = _encoding_of(odd, source)
        sample = "\n".join(_decoded(line, other) for line in head.split(b"\n"))
        lines = _text_lines(head, file, other, reading.max_bytes)
    delimiter = find_delimiter(sample)
    reader = _Reader(lines, delimiter, reading.max_bytes)
    first: list[tuple[int, list[str] | str]] = list(itertools.islice(reader, HEAD_ROWS + SAMPLE))
    at, columns = _find_head(first, reading)
    if columns is None:
        names = next((row for _, row in first if isinstance(row, list) and len(row) > 0), [])
        shown = ", ".join(f"“{n.strip()[:30]}”" for n in names[:12]) or "none"
        raise IntakeError(
            f"{source}: no column looks like the title or the words of a listing (columns: {shown}); "
            "say which it is with --column text=NAME"
        )
    columns = columns.with_samples(
        [row for _, row in first[at + 1 :] if isinstance(row, list)], currency=reading.currency
    )
    reading.say(f"{source}: {columns.explain()}")
    for number, row in itertools.chain(first[at + 1 :], reader):
        if isinstance(row, str):
            yield Raw(source, number, problem=row)
            continue
        if not any(cell.strip() for cell in row):
            continue
        record, problem = columns.record(row)
        yield Raw(source, number, record=record if not problem else None, problem=problem)


def _find_head(first: list[tuple[int, list[str] | str]], reading: Reading) -> tuple[int, Columns | None]:
    best: tuple[int, Columns | None] = (0, None)
    most = 0
    for at, (_, row) in enumerate(first[:HEAD_ROWS]):
        if not isinstance(row, list) or not any(c.strip() for c in row):
            continue
        columns = match_columns(row, reading.columns)
        if columns.usable and len(columns.by_meaning) > most:
            best, most = (at, columns), len(columns.by_meaning)
    return best


class _Reader:
    """Rows with the number a spreadsheet shows for them; what the csv module refuses comes out as words."""

    def __init__(self, lines: Iterator[str], delimiter: str, max_bytes: int) -> None:
        csv.field_size_limit(max(max_bytes, 131_072))
        self._rows = csv.reader(lines, delimiter=delimiter)
        self._limit = max_bytes
        self._number = 0

    def __iter__(self) -> Iterator[tuple[int, list[str] | str]]:
        return self

    def __next__(self) -> tuple[int, list[str] | str]:
        from sayso.review.sources import too_long

        self._number += 1
        try:
            row = next(self._rows)
        except csv.Error as error:
            if "limit" in str(error):
                return self._number, too_long(self._limit)
            return self._number, f"not readable as a table row ({error})"
        if self._number == 1 and len(row) >= 1 and row[0].lower().startswith("sep="):
            return self._number, []
        if any(_TOO_LONG in cell for cell in row):
            return self._number, too_long(self._limit)
        return self._number, row


def _utf8(line: bytes) -> bool:
    try:
        line.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def _encoding_of(odd: bytes, source: str) -> str:
    if not odd:
        return "cp1252"
    from sayso.intake.decode import encoding_of

    return encoding_of(odd) or "cp1252"


def _decoded(line: bytes, other: str) -> str:
    try:
        return line.decode("utf-8")
    except UnicodeDecodeError:
        return line.decode(other, errors="replace")


def _text_lines(head: bytes, file: BinaryIO | _Peeked, other: str, limit: int) -> Iterator[str]:
    from sayso.review.sources import _Peeked, lines

    stream = _Peeked(head.removeprefix(b"\xef\xbb\xbf"), file)  # type: ignore[arg-type]
    for _, line in lines(stream, limit):
        if line is None:
            yield _TOO_LONG + "\n"
        else:
            # Old exports end their lines with a carriage return alone; NUL bytes stop the csv module.
            yield from (
                _decoded(line, other).replace("\x00", "").replace("\r\n", "\n").splitlines(keepends=True)
                if (b"\r" in line.rstrip(b"\r\n") and b'"' not in line)
                else (_decoded(line, other).replace("\x00", ""),)
            )


def _wide_lines(head: bytes, file: BinaryIO | _Peeked, limit: int) -> Iterator[str]:
    """Lines of UTF-16, as some spreadsheets export 'Unicode text'."""
    import codecs

    name = "utf-16"
    if not head.startswith((b"\xff\xfe", b"\xfe\xff")):
        name = "utf-16-le" if head[1:2] == b"\x00" else "utf-16-be"
    decoder = codecs.getincrementaldecoder(name)(errors="replace")
    rest, data, dropped = "", head, False
    while data:
        rest += decoder.decode(data)
        *whole, rest = rest.split("\n")
        for line in whole:
            yield _TOO_LONG + "\n" if dropped else line.removeprefix("\ufeff").replace("\x00", "") + "\n"
            dropped = False
        if len(rest) > limit:
            rest, dropped = "", True
        data = file.read(262_144)
    rest += decoder.decode(b"", final=True)
    if rest:
        yield rest
