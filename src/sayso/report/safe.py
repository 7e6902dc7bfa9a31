"""Quoted words made safe to print: a listing must not be able to drive the reader's terminal."""

from __future__ import annotations

import re

# C0 and C1 controls except tab and newline, and the characters that turn the direction of writing round.
_UNSAFE = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")


def safe(text: str) -> str:
    """`text` with control characters shown as '\N{REPLACEMENT CHARACTER}', one for one, so that offsets still hold."""
    return _UNSAFE.sub("\N{REPLACEMENT CHARACTER}", text)
