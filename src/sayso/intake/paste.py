"""Anything a buyer can paste or save: text, a page, a fragment, one JSON record; from a file or from memory."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import TYPE_CHECKING

from sayso.intake.decode import LIMIT, decode, refuse_size
from sayso.intake.errors import IntakeError
from sayso.model import Listing

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

PAGE_ENDINGS = (".html", ".htm", ".xhtml")
_PAGE = re.compile(r"<(?:!doctype\s+html|html|head|body)\b[^<]*>", re.I)
_ELEMENTS = (
    "p|div|span|b|i|u|em|strong|font|center|table|tbody|tr|td|th|ul|ol|li|dl|dt|dd|h[1-6]|a|section|article|main|"
    "blockquote|small|s|del|strike|pre|style|script"
)
_CLOSED = re.compile(rf"</(?:{_ELEMENTS})\s*>", re.I)
_SINGLE = re.compile(r"<(?:br|hr|p|li|img)\b[^<>]{0,300}/?>", re.I)

_LINES = re.compile(
    r"<(?:!doctype|html|head|body|p|div|br|hr|table|tr|td|ul|ol|li|dl|dt|dd|h[1-6]|section|article|main|blockquote|"
    r"center|pre|style|script)\b",
    re.I,
)


def is_html(text: str) -> bool:
    """True where `text` is markup: a whole page, or a fragment with known elements that are closed or single."""
    if _PAGE.search(text[:4_000]):
        return True
    return bool(_CLOSED.search(text) or _SINGLE.search(text))


def read_any(
    data: bytes | str,
    name: str = "",
    *,
    max_bytes: int = LIMIT,
    id: str | None = None,
    lexicon: Lexicon | None = None,
) -> Listing:
    """A listing from whatever was pasted or read. `name` is the file's name, for its ending and for messages.

    Raises `IntakeError`, one line saying what to do, for empty, binary and oversized input.
    """
    from sayso.intake.page import read_html
    from sayso.intake.text import read_text

    what = name or "the input"
    notes: tuple[str, ...] = ()
    if isinstance(data, bytes):
        refuse_size(len(data), max_bytes, what)
        data = _archived(data)
        text, notes = decode(data, what)
    else:
        refuse_size(len(data.encode("utf-8", "surrogatepass")), max_bytes, what)
        text = data
    if not text.strip("\ufeff\u200b \t\r\n\v\f\x00"):
        raise IntakeError(f"{what} is empty; paste the seller's words, or name a file that holds them")
    known = id or (Path(name).stem if name else "") or "listing"
    ending = Path(name).suffix.lower()
    if text.lstrip()[:1] == "{" and ending in ("", ".json"):
        listing = _json_record(text, known, lexicon)
        if listing is not None:
            return listing.model_copy(update={"notes": (*notes, *listing.notes)})
    if ending in PAGE_ENDINGS or is_html(text):
        if ending not in PAGE_ENDINGS and not _LINES.search(text):
            # Only some words are marked up: the lines are the seller's own.
            text = "".join(f"<p>{part.replace(chr(10), '<br>')}</p>" for part in re.split(r"\n[ \t\r]*\n\s*", text))
        return read_html(text, id=known, lexicon=lexicon, notes=notes)
    return read_text(text, id=known, lexicon=lexicon, notes=notes)


_ARCHIVE = re.compile(rb"\A(?:[\w-]+:[^\n]*\r?\n(?:[ \t][^\n]*\r?\n)*)*?MIME-Version:", re.I)


def _archived(data: bytes) -> bytes:
    """The page inside a web archive (MHTML, RFC 2557: what browsers save as one file); other bytes as they are."""
    if not _ARCHIVE.match(data[:8_192]):
        return data
    from email import message_from_bytes

    for part in message_from_bytes(data).walk():
        if part.get_content_type() == "text/html":
            page = part.get_payload(decode=True)
            return page if isinstance(page, bytes) and page.strip() else data
    return data


def _json_record(text: str, id: str, lexicon: Lexicon | None) -> Listing | None:
    from sayso.intake.record import read_record

    try:
        record = json.loads(text)
    except (ValueError, RecursionError):
        return None
    if not isinstance(record, dict) or not isinstance(record.get("text", record.get("title")), str):
        return None
    return read_record({"id": id, **record}, lexicon=lexicon)


def read_file(
    path: Path | str, *, max_bytes: int = LIMIT, id: str | None = None, lexicon: Lexicon | None = None
) -> Listing:
    """A listing from a file. Raises `IntakeError` where it is missing, unreadable, too large, or no text."""
    path = Path(path)
    try:
        if path.is_dir():
            raise IntakeError(f"{path} is a folder; name one file, or use `sayso review {path}`")
        with path.open("rb") as file:
            # Read one byte more than allowed: the size that is announced may be wrong, or there may be none (a pipe).
            data = file.read(max_bytes + 1)
            size = max(path.stat().st_size, len(data))
    except FileNotFoundError:
        raise IntakeError(f"there is no file {path}; check the name, or use - to paste the words") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise IntakeError(f"{path} cannot be read: {reason}") from None
    if len(data) > max_bytes:
        refuse_size(size, max_bytes, str(path))
    return read_any(data, path.name, max_bytes=max_bytes, id=id, lexicon=lexicon)
