"""Quoted words made safe to print: a listing must not be able to drive the reader's terminal.

Everything that prints words of others uses `safe`: reports, messages, the casebook, faults.
"""

from __future__ import annotations

import re

# What a terminal obeys or a reader cannot see for what it is: C0 and C1 controls except tab and newline (escape
# sequences begin with one of them: ECMA-48), DEL, line and paragraph separators, marks that turn the direction of
# writing round (Unicode Standard Annex 9), interlinear marks, invisible tag letters, and half characters.
_UNSAFE = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufff9-\ufffb\ud800-\udfff"
    "\U000e0000-\U000e007f]"
)


def safe(text: str) -> str:
    """`text` with such characters shown as '\N{REPLACEMENT CHARACTER}', one for one, so that offsets still hold."""
    return _UNSAFE.sub("\N{REPLACEMENT CHARACTER}", text)
