"""CSV and TSV as spreadsheets export them: any delimiter, any column names, mixed encodings, quoted line breaks."""

from __future__ import annotations

import csv
import itertools
from collections import deque
from collections.abc import Iterator
from typing import TYPE_CHECKING

from sayso.intake.decode import is_binary
from sayso.intake.errors import IntakeError
from sayso.review.columns import Columns, match_columns
from sayso.review.rows import Raw

if TYPE_CHECKING:
    from sayso.review.sources import Reading, Stream

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


def read_table(file: Stream, source: str, reading: Reading) -> Iterator[Raw]:
    """The rows of a table. A bad row is a `Raw` with a problem. Raises `IntakeError` where no column holds words."""
    head = file.read(262_144)
    if not head.strip(b"\xef\xbb\xbf\xff\xfe\x00 \t\r\n"):
        yield Raw(source, 0, problem="the file is empty")
        return
    if is_binary(head):
        raise IntakeError(f"{source}: it is not text; export the table as CSV, or the words as text")
    # A whole file is seldom in one encoding once two spreadsheets have been pasted together: each line that is no
    # UTF-8 is read in the encoding of the others that are none.
    odd = b"\n".join(line for line in head.split(b"\n")[:-1] if not _utf8(line))
    other = _encoding_of(odd)
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
    for wanted, name in reading.columns.items():
        if not any(columns.named(at, name) for at in columns.by_meaning.get(wanted, ())):
            shown = ", ".join(f"“{n.strip()[:30]}”" for n in columns.names[:12])
            raise IntakeError(f"{source}: there is no column “{name}” (columns: {shown}); mend --column {wanted}=NAME")
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


class _Tape:
    """Lines one after another, with those of the row under way kept, so that they can be read again."""

    def __init__(self, lines: Iterator[str], limit: int) -> None:
        self._lines, self._limit = lines, limit
        self._again: deque[str] = deque()
        self.row: list[str] = []
        self._size = 0

    def __iter__(self) -> Iterator[str]:
        return self

    def __next__(self) -> str:
        line = self._again.popleft() if self._again else next(self._lines)
        self._size += len(line)
        if self._size <= 2 * self._limit:
            self.row.append(line)
        return line

    def begin(self) -> None:
        """A new row begins."""
        self.row, self._size = [], 0

    def back(self) -> None:
        """All lines of this row but the first are read again."""
        self._again.extendleft(reversed(self.row[1:]))


class _Reader:
    """Rows with the number a spreadsheet shows for them; what the csv module refuses comes out as words."""

    def __init__(self, lines: Iterator[str], delimiter: str, max_bytes: int) -> None:
        csv.field_size_limit(max(max_bytes, 131_072))
        self._tape = _Tape(lines, max(max_bytes, 131_072))
        self._rows = csv.reader(self._tape, delimiter=delimiter)
        self._delimiter = delimiter
        self._limit = max_bytes
        self._number = 0
        self._width = 0

    def __iter__(self) -> Iterator[tuple[int, list[str] | str]]:
        return self

    def __next__(self) -> tuple[int, list[str] | str]:
        from sayso.review.sources import too_long

        self._number += 1
        self._tape.begin()
        try:
            row = next(self._rows)
        except csv.Error as error:
            if self._swallowed([]):
                return self._number, self._left_open()
            if "limit" in str(error):
                return self._number, too_long(self._limit)
            return self._number, f"not readable as a table row ({error})"
        if self._number == 1 and len(row) >= 1 and row[0].lower().startswith("sep="):
            return self._number, []
        if self._swallowed(row):
            return self._number, self._left_open()
        if any(_TOO_LONG in cell for cell in row):
            return self._number, too_long(self._limit)
        self._width = max(self._width, len(row)) if self._number <= HEAD_ROWS else self._width
        return self._number, row

    def _swallowed(self, row: list[str]) -> bool:
        """True where a quote that is never closed drew whole rows into one cell: the row has the wrong number of
        cells or breaks the rules of quoting, and a line that it drew in is a row by itself."""
        drawn = self._tape.row[1:4]
        if not drawn or self._width < 2 or not any(self._cells([line]) == self._width for line in drawn):
            return False
        return len(row) != self._width or self._cells(self._tape.row, strict=True) is None

    def _cells(self, lines: list[str], *, strict: bool = False) -> int | None:
        try:
            return len(next(csv.reader(lines, delimiter=self._delimiter, strict=strict), []))
        except csv.Error:
            return None

    def _left_open(self) -> str:
        self._tape.back()
        self._rows = csv.reader(self._tape, delimiter=self._delimiter)
        return "a quote is opened in this row and never closed; add the missing quote"


def _utf8(line: bytes) -> bool:
    try:
        line.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def _encoding_of(odd: bytes) -> str:
    if not odd:
        return "cp1252"
    from sayso.intake.decode import encoding_of

    return encoding_of(odd) or "cp1252"


def _decoded(line: bytes, other: str) -> str:
    try:
        return line.decode("utf-8")
    except UnicodeDecodeError:
        return line.decode(other, errors="replace")


def _text_lines(head: bytes, file: Stream, other: str, limit: int) -> Iterator[str]:
    from sayso.review.sources import _Peeked, lines

    stream = _Peeked(head.removeprefix(b"\xef\xbb\xbf"), file)
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
