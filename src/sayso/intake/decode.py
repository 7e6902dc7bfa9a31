"""Bytes to text: the encoding is declared, UTF-8, or found by charset-normalizer; what was guessed is told."""

from __future__ import annotations

import codecs
import re

from sayso.intake.errors import IntakeError

LIMIT = 2_000_000
"""Bytes read of one listing unless the caller raises it."""
MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
# First bytes of files that people drop in by mistake (each format's own specification).
SIGNATURES = (
    (b"%PDF-", "a PDF"),
    (b"PK\x03\x04", "a word-processor, spreadsheet or zip file"),
    (b"\xd0\xcf\x11\xe0", "an old word-processor or spreadsheet file"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"RIFF", "a picture or sound file"),
    (b"\x1f\x8b", "a compressed file"),
    (b"ID3", "a sound file"),
    (b"SQLite format 3", "a database"),
    (b"PAR1", "a Parquet file"),
    (b"{\\rtf", "a rich-text file"),
)
# Encodings that listings are found in; charset-normalizer chooses among these.
CANDIDATES = [
    "cp1252",
    "iso8859_15",
    "cp1250",
    "cp1251",
    "cp1253",
    "cp1254",
    "cp932",
    "euc_jp",
    "gb18030",
    "big5",
    "euc_kr",
    "koi8_r",
    "mac_roman",
    "utf_16_le",
    "utf_16_be",
]
_DECLARED = re.compile(rb"<meta[^>]{0,200}charset\s*=\s*[\"']?\s*([\w.:-]{2,30})", re.I)
_HIGH = re.compile(rb"[\x80-\xff]")
_LONE = re.compile(rb"(?<![\x80-\xff])[\x80-\xff](?![\x80-\xff])")
_CONTROL = re.compile(rb"[\x00-\x08\x0e-\x1a\x1c-\x1f\x7f]")


def size_in_words(size: int) -> str:
    """So many bytes as one says them: '12 bytes', '3.4 kB', '2 MB' (SI: a kB is 1,000 bytes)."""
    if size < 1000:
        return f"{size} bytes"
    return f"{round(size / 1e3, 1):g} kB" if size < 1_000_000 else f"{round(size / 1e6, 1):g} MB"


def refuse_size(size: int, limit: int, what: str) -> None:
    """Raise `IntakeError` where `size` bytes are more than `limit`."""
    if size > limit:
        raise IntakeError(
            f"{what} is {size_in_words(size)}, more than the {size_in_words(limit)} read at once; "
            "cut it down to the listing, or raise the limit with --max-bytes"
        )


def decode(data: bytes, what: str = "the input") -> tuple[str, tuple[str, ...]]:
    """(text, notes) of `data`. Raises `IntakeError` for files that are not text. `what` names the input in errors."""
    for signature, kind in SIGNATURES:
        if data.startswith(signature):
            raise IntakeError(f"{what} is {kind}, not text; copy the words of the listing out of it and paste those")
    for mark, name in MARKS:
        if data.startswith(mark):
            return data.decode(name, errors="replace"), ()
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        return _guess(data, what)
    if is_binary(data):
        return _guess(data, what)
    return text, ()


def is_binary(data: bytes) -> bool:
    """True where `data` has the signs of a file that is no text: zeros, or many control characters."""
    head = data[:65_536]
    return (b"\x00" in head and head.count(b"\x00") > 1) or len(_CONTROL.findall(head)) * 20 > len(head)


def _guess(data: bytes, what: str) -> tuple[str, tuple[str, ...]]:
    declared = _DECLARED.search(data[:4_096])
    if declared is not None:
        try:
            name = codecs.lookup(declared[1].decode("ascii")).name
            # Browsers read what calls itself Latin-1 as Windows-1252 (Encoding Standard, labels of windows-1252).
            name = "cp1252" if name in ("iso8859-1", "ascii") else name
            return data.decode(name), (f"The text was read as {name}, as the page says.",)
        except (LookupError, UnicodeDecodeError, ValueError):
            pass
    name = encoding_of(data)
    if name:
        return data.decode(name, errors="replace"), (f"The text is not UTF-8; it was read as {name}.",)
    if is_binary(data):
        raise IntakeError(f"{what} is not text; give the words of the listing as text or as a saved page")
    return data.decode("utf-8", errors="replace"), (
        "The encoding of the text is unknown; what could not be read is shown as \ufffd.",
    )


def encoding_of(data: bytes) -> str:
    """The encoding that charset-normalizer finds among the usual ones for listings, or nothing."""
    head = data[:20_000]
    high = len(_HIGH.findall(head))
    # In Latin script letters with signs are few and stand alone; in the scripts of East Asia they come in runs. On so
    # little evidence as a listing gives, statistics would often name some rarer code page.
    if high * 4 < len(head) and len(_LONE.findall(head)) * 2 >= high and not is_binary(data) and _fits(data, "cp1252"):
        return "cp1252"
    from charset_normalizer import from_bytes

    best = from_bytes(data[:200_000], cp_isolation=CANDIDATES, threshold=0.25, enable_fallback=False).best()
    name = best.encoding if best is not None else ""
    return name if name and (b"\x00" in data or _fits(data, name)) else ""


def _fits(data: bytes, name: str) -> bool:
    try:
        data.decode(name)
    except UnicodeDecodeError:
        return False
    return True
