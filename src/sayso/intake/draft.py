"""The canonical text, built line by line together with its segments, so that offsets never have to be searched for."""

from __future__ import annotations

import re
from collections.abc import Iterable

from sayso.model import Segment, SegmentKind

# Line ends of every kind become one; each replacement is a newline, so nothing else moves. A vertical tab and a form
# feed come from word processors, U+2028 and U+2029 from web forms.
_LINE_ENDS = re.compile("\r\n|[\r\v\f\x1c-\x1e\x85\u2028\u2029]")
_SURROGATE = re.compile("[\ud800-\udfff]")


def tidy(text: str) -> str:
    """`text` with uniform line ends, without a byte order mark, and with half characters shown as U+FFFD."""
    return _SURROGATE.sub("\ufffd", _LINE_ENDS.sub("\n", text.removeprefix("\ufeff")))


def one_line(text: str) -> str:
    """`text` on one line: runs of white space become one space."""
    return " ".join(tidy(text).split())


def flat(text: str) -> str:
    """`text` without line breaks, otherwise as it stands: for titles, whose words are quoted."""
    return tidy(text).replace("\n", " ").strip()


class Draft:
    """Collects pieces in reading order; `finish` gives the text and the segments that cover it."""

    def __init__(self) -> None:
        self._parts: list[str] = []
        self._length = 0
        self._segments: list[Segment] = []

    def add(self, kind: SegmentKind, text: str, *, gap: str = "\n") -> None:
        """Append `text`, parted from what precedes by `gap`; a piece of the same kind as the last one joins it."""
        if not text:
            return
        if self._length:
            self._parts.append(gap)
            self._length += len(gap)
        start, end = self._length, self._length + len(text)
        self._parts.append(text)
        self._length = end
        last = self._segments[-1] if self._segments else None
        if last is not None and last.kind == kind and kind != "title":
            self._segments[-1] = Segment(kind=kind, start=last.start, end=end)
        else:
            self._segments.append(Segment(kind=kind, start=start, end=end))

    def add_lines(self, lines: Iterable[tuple[SegmentKind, str, bool]]) -> None:
        """Append lines of (kind, text, whether a blank line precedes)."""
        for kind, text, apart in lines:
            self.add(kind, text, gap="\n\n" if apart or self._only_title() else "\n")

    def _only_title(self) -> bool:
        return len(self._segments) == 1 and self._segments[0].kind == "title"

    def finish(self) -> tuple[str, tuple[Segment, ...]]:
        """The canonical text and its segments."""
        return "".join(self._parts), tuple(self._segments)
