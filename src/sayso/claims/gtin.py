"""The check digit of a bar-code number (GTIN-8, -12, -13, -14).

A right check digit shows only that the number was read properly, and nothing of where the record was made.
Source: GS1, 'How to calculate your check digit'.
"""

from __future__ import annotations

import re

LENGTHS = frozenset({8, 12, 13, 14})


def check_digit(body: str) -> int:
    """The digit that belongs behind `body`. Raises `ValueError` where that is not figures alone."""
    if not re.fullmatch(r"[0-9]+", body):
        raise ValueError(f"{body!r} is not a row of figures")
    total = sum(int(c) * (3 if i % 2 == 0 else 1) for i, c in enumerate(reversed(body)))
    return -total % 10


def is_gtin(number: str) -> bool:
    """Whether a number, blanks and dashes aside, has the length and the check digit of a bar code."""
    plain = re.sub(r"[\s-]", "", number)
    return len(plain) in LENGTHS and plain.isascii() and plain.isdigit() and check_digit(plain[:-1]) == int(plain[-1])
