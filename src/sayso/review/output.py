"""What a review writes: a table that no spreadsheet runs, Parquet, messages, and the ranking for a terminal."""

from __future__ import annotations

import csv
import io
import itertools
import re
import textwrap
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sayso.report.words import Words
from sayso.review.compare import comparisons, money, same
from sayso.review.spool import Ranked

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.report.compared import Compared
    from sayso.review.spool import Spool

COLUMNS = (
    *("rank", "verdict", "id", "title", "price", "currency", "pay_at_most", "reason", "question", "same_as"),
    *("other_copies", "seller", "url", "source", "row"),
)
# A cell that starts with one of these is run as a formula by spreadsheets (OWASP, CSV Injection; the wide forms are
# folded to the narrow ones by some of them).
_FORMULA = re.compile(r"^\s*[=+\-@\t\r\n|%＝＋－＠]")


def safe_cell(value: object) -> str:
    """A cell that stays text in a spreadsheet: what could start a formula is preceded by an apostrophe."""
    text = re.sub(r"[\x00-\x08\x0b\x0c\x0e-\x1f]", "", str(value))
    return "'" + text if _FORMULA.match(text) else text


def cells(row: Ranked, say: Words) -> dict[str, Any]:
    """One row of the ranking by column."""
    s = row.summary
    return dict(
        zip(
            COLUMNS,
            (
                row.rank,
                say.say(f"review.heading.{s.verdict}"),
                s.id,
                s.title,
                s.price,
                s.currency,
                s.ceiling,
                s.reason,
                s.question,
                row.same_as,
                row.copies,
                s.seller,
                s.url,
                row.source,
                row.number,
            ),
            strict=True,
        )
    )


def csv_lines(rows: Iterable[Ranked], say: Words) -> Iterator[str]:
    """The ranking as CSV (RFC 4180), with a mark at the start so that spreadsheets read it as UTF-8."""
    buffer = io.StringIO()
    writer = csv.writer(buffer)
    buffer.write("\ufeff")
    writer.writerow(COLUMNS)
    for row in rows:
        writer.writerow([safe_cell(v) for v in cells(row, say).values()])
        yield buffer.getvalue()
        buffer.seek(0)
        buffer.truncate()
    if buffer.tell():
        yield buffer.getvalue()


def write_parquet(rows: Iterable[Ranked], path: Path, say: Words, batch: int = 1_000) -> None:
    """The ranking as Parquet. Raises `ModuleNotFoundError` where pyarrow is not installed."""
    import pyarrow
    import pyarrow.parquet

    kinds = {"rank": pyarrow.int64(), "other_copies": pyarrow.int64(), "row": pyarrow.int64()}
    schema = pyarrow.schema([(name, kinds.get(name, pyarrow.string())) for name in COLUMNS])
    with pyarrow.parquet.ParquetWriter(path, schema) as writer:
        kept: list[dict[str, Any]] = []
        for row in rows:
            kept.append(cells(row, say))
            if len(kept) >= batch:
                writer.write_table(pyarrow.Table.from_pylist(kept, schema=schema))
                kept = []
        writer.write_table(pyarrow.Table.from_pylist(kept, schema=schema))


def write_messages(spool: Spool, folder: Path) -> int:
    """One file a seller with what to ask of all that he offers; returns how many. Raises `OSError`."""
    folder.mkdir(parents=True, exist_ok=True)
    number = 0
    for number, (seller, offers) in enumerate(spool.messages(), 1):
        name = slug(seller or offers[0].id or offers[0].title)
        parts = []
        for offer in offers:
            head = f"{offer.title}\n{offer.url}".strip() if len(offers) > 1 else ""
            parts.append(f"{head}\n\n{offer.message}".strip())
        rule = "\n\n" + "-" * 40 + "\n\n"
        text = rule.join(parts) + "\n"
        (folder / f"{number:04d}-{name}.txt").write_text(text, encoding="utf-8", errors="replace")
    return number


def slug(name: str) -> str:
    """A file name that every system takes."""
    import unicodedata

    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:50].rstrip("-") or "seller"


def one_line(text: str) -> str:
    """Text that stays on its line and moves no cursor."""
    return " ".join(re.sub(r"[\x00-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069]", " ", text).split())


def terminal(spool: Spool, lexicon: Lexicon, *, top: int, width: int) -> Iterator[str]:
    """The ranking for a terminal: per verdict the copies with reason and question, then copies side by side."""
    say = Words(lexicon)
    counts = spool.counts()
    total = sum(counts.values())
    headings = {name: say.say(f"review.heading.{name}") for name in counts}
    head = say.say("review.read.one") if total == 1 else say.say("review.read", count=f"{total:,}")
    figures = [say.say("review.count", heading=headings[name], count=f"{count:,}") for name, count in counts.items()]
    yield " ".join([head, "  ".join(figures)])
    last = ""
    for row in spool.ranked(top):
        if row.summary.verdict != last:
            last = row.summary.verdict
            yield ""
            yield f"{headings[last].upper()} ({counts[last]:,})"
        yield from _entry(row, say, width)
    if total > top:
        yield ""
        yield say.say("review.more", count=f"{total - top:,}")
    shown = comparisons(spool, lexicon, most=10)
    if shown:
        yield ""
        yield say.say("review.copies").upper()
    for one in shown:
        yield from _side_by_side(one, say, width)


def _entry(row: Ranked, say: Words, width: int) -> Iterator[str]:
    s = row.summary
    price = money(s)
    head = f"{row.rank:>3}  "
    title = one_line(s.title) or s.id
    space = width - len(head) - (len(price) + 2 if price else 0)
    title = title if len(title) <= space else title[: max(space - 1, 8)] + "…"
    yield f"{head}{title:<{max(space, 1)}}  {price}".rstrip() if price else head + title
    question = one_line(s.question)
    for text in (
        _place(row, say),
        same(row, say),
        one_line(s.reason),
        say.say("html.first_question", what=question) if question else "",
    ):
        if text:
            yield from textwrap.wrap(text, width, initial_indent="     ", subsequent_indent="     ")


def _place(row: Ranked, say: Words) -> str:
    """Where the listing stands, in the words of the input."""
    parts = [say.say("review.row", row=row.number) if row.number else row.source, one_line(row.summary.seller)]
    if row.summary.ceiling:
        amount = f"{row.summary.ceiling} {row.summary.currency}".strip()
        parts.append(say.say("review.at_most", amount=amount))
    return "; ".join(p for p in parts if p) + "."


NAME = 23
"""Characters for the name of a feature in the side-by-side table."""
COLUMN = 17
"""Characters that one copy needs there at the least."""


def _side_by_side(one: Compared, say: Words, width: int) -> Iterator[str]:
    yield ""
    yield f"  {one_line(one.title)[: width - 4]}"
    for copy in one.copies:
        parts = (copy.id, one_line(copy.seller), copy.price, copy.verdict.casefold())
        yield f"    {copy.letter}  {'; '.join(p for p in parts if p)}"[:width]
    if one.more > 0:
        yield f"    {say.say('review.others', count=one.more)}"
    # So many copies side by side that the words of each still have room; the others in a second table below.
    abreast = max(2, (width - 4 - NAME) // COLUMN)
    for start in range(0, len(one.copies), abreast):
        lines = list(_table(one, slice(start, start + abreast), say, width))
        if len(lines) > 1:  # these sellers say something
            yield ""
            yield from lines


def _table(one: Compared, part: slice, say: Words, width: int) -> Iterator[str]:
    letters = [copy.letter for copy in one.copies[part]]
    column = (width - 4 - NAME) // max(len(letters), 2)
    yield "    " + " " * NAME + "".join(f"{letter:<{column}}" for letter in letters).rstrip()
    nothing = say.say("review.cell.silent")
    for name, answers in one.rows:
        if all(answer == nothing for answer in answers[part]):
            continue
        cells = [textwrap.wrap(name, NAME - 1) or [""]]
        cells += [textwrap.wrap(one_line(answer), column - 2)[:3] or [""] for answer in answers[part]]
        for line in itertools.zip_longest(*cells, fillvalue=""):
            yield ("    " + f"{line[0]:<{NAME}}" + "".join(f"{cell:<{column}}" for cell in line[1:])).rstrip()
