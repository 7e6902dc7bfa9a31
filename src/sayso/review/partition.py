"""The audit of a batch of rows as one plain function, for this process, a pool of processes or a cluster."""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from sayso.intake.errors import IntakeError
from sayso.review.rows import Done, Raw, Settings

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.model import Listing


def audit_partition(rows: Sequence[Raw], settings: Settings) -> list[Done]:
    """Audit `rows`; one `Done` for each, in their order. Nothing that a row holds makes it raise.

    Everything it needs is in its arguments, so another engine can call it on its own partitions. Raises
    `LexiconError` where the lexicon itself is faulty.
    """
    from sayso.lexicon import load_lexicon

    lexicon = load_lexicon(settings.lexicon)
    return [audit_row(row, settings, lexicon) for row in rows]


def audit_row(row: Raw, settings: Settings, lexicon: Lexicon) -> Done:
    """Audit one row. What is wrong with it is said in `Done.problem`."""
    if row.problem:
        return Done(row.source, row.number, problem=row.problem)
    from sayso.engine import audit_listing
    from sayso.report.jsonform import to_json_bytes

    try:
        listing = read_row(row, settings, lexicon)
        audit = audit_listing(listing, lexicon, **settings.options)
        line = to_json_bytes(audit) if settings.want_json or settings.want_packed else None
        packed = zlib.compress(line, 1) if line is not None and settings.want_packed else None
        summary = None
        if settings.want_summary:
            from sayso.review.rank import summarise

            summary = summarise(audit, lexicon)
    except IntakeError as error:
        return Done(row.source, row.number, problem=" ".join(str(error).split()))
    except (MemoryError, RecursionError):
        return Done(row.source, row.number, problem="too large to be audited in the memory there is")
    except Exception as error:  # one row among thousands must not take the others with it
        kind = type(error).__name__
        return Done(row.source, row.number, problem=f"could not be audited ({kind}: {str(error)[:200]})")
    return Done(row.source, row.number, line if settings.want_json else None, summary, packed=packed)


def recalled(row: Raw, line: bytes, settings: Settings, lexicon: Lexicon) -> Done:
    """The row as an earlier run finished it: `line` is the next of the lines that run wrote.

    A row without a line of its own was a bad one then, and is one now.
    """
    from sayso.model import Audit
    from sayso.review.rank import summarise

    if row.problem:
        return Done(row.source, row.number, problem=row.problem)
    try:
        listing = read_row(row, settings, lexicon)
        audit = Audit.model_validate_json(line)
    except (IntakeError, ValueError) as error:
        return Done(row.source, row.number, problem=" ".join(str(error).split()))
    if audit.listing.id.encode("utf-8", "replace") != listing.id.encode("utf-8", "replace"):
        return Done(row.source, row.number, problem="could not be audited")
    packed = zlib.compress(line, 1) if settings.want_packed else None
    return Done(row.source, row.number, line, summarise(audit, lexicon), packed=packed)


def read_row(row: Raw, settings: Settings, lexicon: Lexicon) -> Listing:
    """The listing of a row. Raises `IntakeError`."""
    from sayso.intake.decode import size_in_words
    from sayso.intake.paste import read_any, read_file
    from sayso.intake.record import read_record

    if row.record is not None:
        record = row.record
        size = sum(len(v.encode("utf-8", "replace")) for v in record.values() if isinstance(v, str))
        if size > settings.max_bytes:
            raise IntakeError(
                f"{size_in_words(size)} of text, more than the {size_in_words(settings.max_bytes)} "
                "read of one listing; raise the limit with --max-bytes"
            )
        known = record if record.get("id") not in (None, "") else {**record, "id": _name(row)}
        listing = read_record(known, lexicon=lexicon)
    elif row.data is not None:
        listing = read_any(row.data, "", max_bytes=settings.max_bytes, id=_name(row), lexicon=lexicon)
    else:
        path = Path(row.path or row.source)
        if settings.encoding is None:
            listing = read_file(path, max_bytes=settings.max_bytes, lexicon=lexicon)
        else:
            data = file_bytes(path, settings.max_bytes, settings.encoding)
            listing = read_any(data, path.name, max_bytes=settings.max_bytes, lexicon=lexicon)
    if settings.currency and listing.price is not None and listing.currency is None:
        listing = listing.model_copy(update={"currency": settings.currency})
    return listing


def file_bytes(path: Path, max_bytes: int, encoding: str | None) -> bytes:
    """What is in a file, in UTF-8 where its encoding was given, and one byte more than `max_bytes` at the most.

    Raises `IntakeError`.
    """
    try:
        with path.open("rb") as file:
            data = file.read(max_bytes + 1)
    except OSError as error:
        raise IntakeError(f"cannot be read: {error.strerror or error}") from None
    if encoding is None or len(data) > max_bytes:
        return data
    try:
        return data.decode(encoding).removeprefix("\ufeff").encode("utf-8", "replace")
    except UnicodeError:
        raise IntakeError(f"is not {encoding}; leave --encoding out and it is guessed") from None


def _name(row: Raw) -> str:
    stem = Path(row.source).stem if row.source != "-" else "input"
    return f"{stem}-{row.number}" if row.number else stem
