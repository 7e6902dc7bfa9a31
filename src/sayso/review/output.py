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

from sayso.review.rank import HEADINGS, ONE
from sayso.review.rows import Summary
from sayso.review.spool import Ranked

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
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


def cells(row: Ranked) -> dict[str, Any]:
    """One row of the ranking by column."""
    s = row.summary
    return dict(
        zip(
            COLUMNS,
            (
                row.rank,
                HEADINGS[s.verdict],
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


def csv_lines(rows: Iterable[Ranked]) -> Iterator[str]:
    """The ranking as CSV (RFC 4180), with a mark at the start so that spreadsheets read it as UTF-8."""
    buffer = io.StringIO()
    writer = csv.writer(buffer)
    buffer.write("\ufeff")
    writer.writerow(COLUMNS)
    for row in rows:
        writer.writerow([safe_cell(v) for v in cells(row).values()])
        yield buffer.getvalue()
        buffer.seek(0)
        buffer.truncate()
    if buffer.tell():
        yield buffer.getvalue()


def write_parquet(rows: Iterable[Ranked], path: Path, batch: int = 1_000) -> None:
    """The ranking as Parquet. Raises `ModuleNotFoundError` where pyarrow is not installed."""
    import pyarrow
    import pyarrow.parquet

    kinds = {"rank": pyarrow.int64(), "other_copies": pyarrow.int64(), "row": pyarrow.int64()}
    schema = pyarrow.schema([(name, kinds.get(name, pyarrow.string())) for name in COLUMNS])
    with pyarrow.parquet.ParquetWriter(path, schema) as writer:
        kept: list[dict[str, Any]] = []
        for row in rows:
            kept.append(cells(row))
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


def money(summary: Summary) -> str:
    """The price as it is shown."""
    return f"{summary.price} {summary.currency}".strip() if summary.price else ""


def one_line(text: str) -> str:
    """Text that stays on its line and moves no cursor."""
    return " ".join(re.sub(r"[\x00-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069]", " ", text).split())


def terminal(spool: Spool, lexicon: Lexicon, *, top: int, width: int) -> Iterator[str]:
    """The ranking for a terminal: per verdict the copies with reason and question, then copies side by side."""
    counts = spool.counts()
    total = sum(counts.values())
    yield f"{total:,} listing{'s' * (total != 1)} read. " + "  ".join(
        f"{HEADINGS[name]}: {count:,}." for name, count in counts.items()
    )
    last = ""
    for row in spool.ranked(top):
        if row.summary.verdict != last:
            last = row.summary.verdict
            yield ""
            yield f"{HEADINGS[last].upper()} ({counts[last]:,})"
        yield from _entry(row, width)
    if total > top:
        yield ""
        yield f"… and {total - top:,} more; --top N shows more, --csv FILE writes them all."
    heading = ["", "SEVERAL COPIES OF ONE RECORD: WHO SAYS WHAT"]
    for group in spool.groups(10):
        if all(state == "silent" for row in group for _, state, _ in row.summary.says):
            continue
        yield from heading
        heading = []
        yield from _side_by_side(group, lexicon, width)


def _entry(row: Ranked, width: int) -> Iterator[str]:
    s = row.summary
    price = money(s)
    head = f"{row.rank:>3}  "
    title = one_line(s.title) or s.id
    space = width - len(head) - (len(price) + 2 if price else 0)
    title = title if len(title) <= space else title[: max(space - 1, 8)] + "…"
    yield f"{head}{title:<{max(space, 1)}}  {price}".rstrip() if price else head + title
    for label, text in (
        ("", _place(row)),
        ("", f"Says the same as {row.same_as}." if row.same_as else ""),
        ("", one_line(s.reason)),
        ("Ask: ", one_line(s.question)),
    ):
        if text:
            yield from textwrap.wrap(label + text, width, initial_indent="     ", subsequent_indent="     ")


def _place(row: Ranked) -> str:
    """Where the listing stands, in the words of the input."""
    parts = [f"Row {row.number}" if row.number else row.source, one_line(row.summary.seller)]
    if row.summary.ceiling:
        parts.append(f"pay at most {row.summary.ceiling} {row.summary.currency}".strip())
    return "; ".join(p for p in parts if p) + "."


NAME = 23
"""Characters for the name of a feature in the side-by-side table."""
COLUMN = 17
"""Characters that one copy needs there at the least."""
MARKS = {
    "stated": "yes",
    "denied": "no",
    "hedged": "perhaps",
    "unknown": "does not know",
    "deferred": "see elsewhere",
    "silent": "–",
    "conflicting": "yes and no",
    "not found": "looked for, not found",
}


def _side_by_side(group: list[Ranked], lexicon: Lexicon, width: int) -> Iterator[str]:
    yield ""
    yield f"  {one_line(group[0].summary.title)[: width - 4]}"
    more = group[0].copies + 1 - len(group)
    letters = "ABCDEFGHIJKL"
    for i, row in enumerate(group):
        s = row.summary
        parts = (s.id, one_line(s.seller), money(s) or "no price", ONE[s.verdict])
        yield f"    {letters[i]}  {'; '.join(p for p in parts if p)}"[:width]
    if more > 0:
        yield f"    and {more} more with less to be said for them"
    # So many copies side by side that the words of each still have room; the others in a second table below.
    abreast = max(2, (width - 4 - NAME) // COLUMN)
    for start in range(0, len(group), abreast):
        yield ""
        yield from _table(group[start : start + abreast], letters[start:], lexicon, width)


def _table(group: list[Ranked], letters: str, lexicon: Lexicon, width: int) -> Iterator[str]:
    features: list[str] = []
    for row in group:
        features += [f for f, state, _ in row.summary.says if f not in features and state != "silent"]
    features.sort(key=list(lexicon.features).index)
    said = [{f: (state, value) for f, state, value in row.summary.says} for row in group]
    column = (width - 4 - NAME) // max(len(group), 2)
    yield "    " + " " * NAME + "".join(f"{letters[i]:<{column}}" for i in range(len(group))).rstrip()
    for feature in features:
        answers = [s.get(feature, ("silent", "")) for s in said]
        known = lexicon.features.get(feature)
        name = (known.name if known is not None else feature).removeprefix("whether this is ").removeprefix("the ")
        cells = [textwrap.wrap(name, NAME - 1) or [""]]
        cells += [textwrap.wrap(_answer(state, value), column - 2)[:3] or [""] for state, value in answers]
        for line in itertools.zip_longest(*cells, fillvalue=""):
            yield ("    " + f"{line[0]:<{NAME}}" + "".join(f"{part:<{column}}" for part in line[1:])).rstrip()


def _answer(state: str, value: str) -> str:
    if value and state in ("stated", "hedged", "denied"):
        return {"stated": "", "hedged": "perhaps ", "denied": "no "}[state] + one_line(value)
    return MARKS[state]
