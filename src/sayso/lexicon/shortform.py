"""A short way to write what one knows of a group of labels: marks, initials, addresses, designs.

A file with the lists `plants` ({name, mark}), `cutting` ({initials, name}), `labels` ({name, addresses, designs}) and
`words` (the marks in other languages) is expanded into ordinary rows. It is meant for a collector's own notes.
"""

from __future__ import annotations

from typing import Any

SHORT = frozenset({"plants", "cutting", "labels", "words", "comment"})


def expand(data: dict[str, Any]) -> dict[str, Any]:
    """`data` with the short lists replaced by ordinary rows; other data are returned as they are."""
    if not SHORT & data.keys():
        return data
    rows: dict[str, Any] = {k: v for k, v in data.items() if k not in SHORT}
    rows.setdefault("term", [])
    return rows
