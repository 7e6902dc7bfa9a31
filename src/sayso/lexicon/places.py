"""The places in a sentence that are filled in: plain names only, so that words in a data file reach nothing else."""

from __future__ import annotations

import re
from collections.abc import Collection
from string import Formatter

_NAME = re.compile(r"[a-z][a-z_]*\d?")
_SPEC = re.compile(r"(?:[<>^]?\d{1,2})?")


def places(text: str) -> frozenset[str]:
    """The names in braces. Raises `ValueError` for braces that do not close and for anything but a name in them."""
    out = set()
    try:
        parsed = list(Formatter().parse(text))
    except ValueError as error:
        raise ValueError(f"{text[:60]!r}: the braces do not close ({error}); write {{{{ for a brace itself") from None
    for _, name, spec, conversion in parsed:
        if name is None:
            continue
        if conversion or not _NAME.fullmatch(name) or not _SPEC.fullmatch(spec or ""):
            raise ValueError(f"{text[:60]!r}: only a plain name may stand in braces")
        out.add(name)
    return frozenset(out)


def only(text: str, known: Collection[str]) -> str:
    """`text`, in which no other places than these may stand. Raises `ValueError`."""
    if unknown := places(text) - {*known}:
        allowed = ", ".join(f"{{{name}}}" for name in sorted(known)) or "none"
        raise ValueError(f"{text[:60]!r}: nothing is known to fill {{{min(unknown)}}} with; known here: {allowed}")
    return text
