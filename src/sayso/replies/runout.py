"""Strings of the run-out in a passage, found by their shape and by the catalogue number of the record."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

_NUMBER = re.compile(
    r"(?<![\w.,])([A-Z]{1,6})?[ .-]{0,2}(\d{2,4}(?:[ .-]\d{2,4}){0,2}|\d{1,6})(?!\w)(?![.,]\d)", re.ASCII
)
# What follows the number: letters and digits in groups, parted by a space, a stop, a stroke or dashes.
_GROUP = r"(?:(?:[ .]?-{1,2}[ ]?|//?|[ .]|(?=[A-Z]))(?:[A-Z](?:\d{1,3}[A-Z]?)?|[A-Z]{2}\d{1,3}|\d{1,3}[A-Z]{0,2}))"
_TAIL = rf"(?:{_GROUP}(?![A-Za-z0-9])|{_GROUP}(?=[ ./-]))"
_FREE = re.compile(
    rf"(?<![\w/-])[A-Z]{{1,5}}(?:[ .-]?[A-Z]{{1,3}})?[ .-]{{0,2}}\d{{2,6}}(?:[ .]\d{{2,6}})*{_TAIL}{{0,4}}(?!\w)",
    re.ASCII,
)
_SHORT = re.compile(
    r"(?<![\w/.-])(?:\d{1,2}[A-Z]{1,2}\d?|\d{1,2} [A-H]\d?|[AB]-?\d{1,2}[A-Z]?)(?![\w-]|[.,]\d)", re.ASCII
)


@dataclass(frozen=True)
class Code:
    """A string of the run-out in a passage, by offsets into it."""

    start: int
    end: int
    text: str
    sure: bool


def stems_of(*texts: str) -> tuple[tuple[str, str], ...]:
    """The catalogue numbers in these texts: letters and digits, without what parts them."""
    found: dict[tuple[str, str], None] = {}
    for text in texts:
        for m in _NUMBER.finditer(text):
            digits = re.sub(r"\D", "", m.group(2))
            year = not m.group(1) and re.fullmatch(r"(?:19|20)\d\d", digits)
            if len(digits) >= (1 if len(m.group(1) or "") > 1 else 2 if m.group(1) else 4) and not year:
                found[(m.group(1) or "", digits)] = None
    return tuple(found)


def codes_in(text: str, stems: Sequence[tuple[str, str]], *, loose: bool) -> list[Code]:
    """The codes in a passage, in order; with `loose`, also such as bear no catalogue number."""
    out: list[Code] = []

    def take(m: re.Match[str], sure: bool) -> None:
        if not any(m.start() < c.end and c.start < m.end() for c in out):
            out.append(Code(m.start(), m.end(), m.group(), sure))

    for shape in _shapes(stems):
        for m in shape.finditer(text):
            take(m, True)
    if loose:
        for shape in (_FREE, _SHORT):
            for m in shape.finditer(text):
                take(m, False)
    return sorted(out, key=lambda c: c.start)


def _shapes(stems: Sequence[tuple[str, str]]) -> Iterator[re.Pattern[str]]:
    for letters, digits in sorted(stems, key=lambda s: -len(s[1])):
        spaced = r"[ .-]?".join(digits)
        head = rf"(?:{letters}[ .-]{{0,2}}(?:[A-Z]{{1,2}}[ .-])?)" if letters else r"(?:[A-Z]{1,5}[ .-]{0,2})"
        must = "?" if len(digits) >= 4 else ""
        if letters:
            yield re.compile(
                rf"(?<![\w-])(?:{letters.lower()}[ .-]{{0,2}}){spaced}{_SMALL_TAIL}{{0,3}}(?!\w)", re.ASCII
            )
        yield re.compile(rf"(?<![\w-]){head}{must}{spaced}{_TAIL}{{0,4}}(?!\w)", re.ASCII)


_SMALL_TAIL = (
    r"(?:[ .]?-{1,2}[ ]?|//?|[ .])(?:[ab]\d{1,3}|[ab](?=\W*(?:[,;./\n]|$|\w+ [a-z]+ ?\d))|\d{1,2}[a-z]?)(?![A-Za-z0-9])"
)
"""What follows the number in small letters: only a side and its digits, so that no word is taken for it."""
