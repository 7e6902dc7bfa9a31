"""What the seller says of this copy's age: years with their role, first pressing, reissue, channels."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import islice
from typing import Literal

from sayso.audit.bounds import MANY, Reader
from sayso.model import Claim, Span

DOUBT = 3
"""Years by which a year the seller only guesses is widened on both sides."""
REACH = 160
"""No statement of age has its year further off than this many characters."""
WORDS = {"fifties": 1950, "sixties": 1960, "seventies": 1970, "eighties": 1980, "nineties": 1990}


@dataclass(frozen=True)
class Stated:
    """A year, or edition, the seller gives this copy. `low` and `high` are years; null where none is given."""

    span: Span
    kind: Literal["pressed", "reissue", "first"]
    low: int | None = None
    high: int | None = None
    hedged: bool = False


def _span(year: str) -> tuple[int, int] | None:
    text = year.casefold()
    for word, first in WORDS.items():
        if word in text:
            return first, first + 9
    if m := re.search(r"(\d?\d?)(\d)0['’]?s", text):
        first = int((m[1] or "19") + m[2] + "0")
        return first, first + 9
    if m := re.match(r"(\d{4})[-/](\d{2,4})$", text):
        first = int(m[1])
        last = int(m[2]) if len(m[2]) == 4 else first // 100 * 100 + int(m[2])
        return (first, last) if first <= last <= first + 15 else (first, first)
    if m := re.match(r"['’](\d\d)", text):
        return 1900 + int(m[1]), 1900 + int(m[1])
    return (int(text[:4]), int(text[:4])) if text[:4].isdigit() else None


@lru_cache(maxsize=512)
def _compiled(pattern: str) -> re.Pattern[str]:
    return re.compile(pattern, re.IGNORECASE)


def _windows(reader: Reader) -> list[tuple[int, int]]:
    """The stretches round what may be a year: nothing further off can be part of a statement of age."""
    out: list[tuple[int, int]] = []
    text = reader.text
    for m in reader.use["year"].finditer(text, reader.mask):
        low, high = max(0, m.start() - REACH), min(len(text), m.end() + REACH)
        if out and low <= out[-1][1]:
            out[-1] = (out[-1][0], high)
        else:
            out.append((low, high))
    return out


def _near_years(pattern: re.Pattern[str], text: str, windows: Sequence[tuple[int, int]]) -> Iterator[re.Match[str]]:
    for low, high in windows:
        yield from pattern.finditer(text, low, high)


def find_stated(reader: Reader, claims: Sequence[Claim]) -> tuple[Stated, ...]:
    """Every statement of this copy's own age, in the order of the text. A released or recorded year is none."""
    found: list[Stated] = []
    taken: list[tuple[int, int]] = []
    other = {(c.start, c.end) for c in claims if c.feature == "edition.year" and c.role in ("released", "recorded")}
    windows = _windows(reader)
    mask = reader.mask
    for _, high in windows:  # a word cut off there reads as a whole one
        if reader.text[high - 1 : high + 1].isalnum():
            mask |= reader.mask_of(reader.text[max(0, high - REACH) : high])
    for name in ("year.reissue", "year.pressed"):
        for need, pattern in reader.rules.stated.get(name, ()):
            if (mask & need) != need:
                continue
            for m in islice(_near_years(_compiled(pattern), reader.text, windows), MANY):
                if any(a < m.end("y") and m.start("y") < b for a, b in taken):
                    continue
                span = _span(m["y"])
                if span is None or not _speaks(reader, m.start(), m.end(), name == "year.reissue"):
                    continue
                if any(a < m.end("y") and m.start("y") < b for a, b in other):
                    # 'First issue 1960' gives a release, and says that this copy is of it.
                    again = any(s.kind == "reissue" for s in found)
                    if again or not reader.has("edition.first_issue", m.group()):
                        continue
                hedged = _hedged(reader, m.start(), m.end())
                low, high = (span[0] - DOUBT, span[1] + DOUBT) if hedged else span
                taken.append(m.span("y"))
                kind: Literal["pressed", "reissue"] = "reissue" if name == "year.reissue" else "pressed"
                quote = m.group().strip(" ,:-")
                start = m.start() + m.group().index(quote)
                found.append(Stated(Span(start=start, end=start + len(quote), quote=quote), kind, low, high, hedged))
    for m in islice(reader.use["edition.first"].finditer(reader.text, reader.mask), MANY):
        if _speaks(reader, m.start(), m.end()) and not _hedged(reader, m.start(), m.end()):
            found.append(Stated(Span(start=m.start(), end=m.end(), quote=m.group()), "first"))
    for need, pattern in reader.rules.stated.get("edition.reissue", ()):
        for m in islice(_compiled(pattern).finditer(reader.text) if reader.can(need) else (), MANY):
            if _speaks(reader, m.start(), m.end(), True):
                found.append(Stated(Span(start=m.start(), end=m.end(), quote=m.group()), "reissue"))
    return tuple(sorted(found, key=lambda s: (s.span.start, s.span.end)))


def _speaks(reader: Reader, start: int, end: int, again: bool = False) -> bool:
    """Whether the words speak of this copy; `again`: they call it a later pressing, which is no other copy then."""
    if not reader.claims(start):
        return False
    low, high = reader.sentence(start)
    head, tail, sentence = reader.text[low:start], reader.text[end:high], reader.text[low:high]
    head = re.sub(r"(?:1[89]|20)\d\d(?: \w+)? $", "", head)
    if "?" in tail[:3] or reader.has("year.not", head) or reader.has("year.not.after", tail):
        return False
    if reader.has("not.other", sentence) or reader.has("jacket.other", reader.text[max(low, start - 24) : high][:80]):
        # A jacket that is owned to be another's leaves what is said of the disc standing.
        if reader.has("not.other", head[-40:]) or (not again and reader.has("not.other", reader.text[start:end])):
            return False
        if reader.has("jacket.other", reader.text[start : min(high, end + 12)]):
            return False
    return not reader.denied(start, end)


def _hedged(reader: Reader, start: int, end: int) -> bool:
    low, _ = reader.sentence(start)
    return reader.has("hedge.year", reader.text[max(low, start - 30) : end]) or reader.has(
        "doubt", reader.text[max(low, start - 30) : end]
    )


def title_year(reader: Reader) -> tuple[int, Span] | None:
    """The only year of the title, if it has one that stands by itself."""
    title = reader.listing.title
    at = reader.text.find(title) if title else -1
    found = list(re.finditer(r"(?<![\w#/-])(?:19[4-9]|20[0-2])\d(?![\w/-])", title)) if at == 0 else []
    if len({m.group() for m in found}) != 1:
        return None
    m = found[0]
    if reader.has("title.year.not", title[: m.start()]) or reader.has("title.year.not.after", title[m.end() :]):
        return None
    return int(m.group()), Span(start=m.start(), end=m.end(), quote=m.group())
