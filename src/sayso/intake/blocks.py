"""The visible words of a page, line by line as a reader sees them; what is left out is told."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any, ClassVar

from bs4.element import CData, Comment, NavigableString, PreformattedString, Tag

from sayso.intake.styles import Sheet, hides, strikes
from sayso.model import SegmentKind

Line = tuple[SegmentKind, str, bool]
"""Kind, text, and whether a blank line precedes it."""


def _names(words: str) -> frozenset[str]:
    return frozenset(words.split())


# Elements that start a line of their own, and those set off by a blank line (HTML standard, section 15.3: rendering).
LINE = _names("""
    div li dt dd tr caption legend summary option address figure figcaption details optgroup thead tbody tfoot
""")
APART = _names("""
    p h1 h2 h3 h4 h5 h6 ul ol dl table blockquote pre section article header footer main aside nav form fieldset
    hr center menu hgroup search body textarea
""")
NEVER = _names("""
    script style template noscript head title meta link base svg math object embed audio video canvas iframe
    frame frameset noframes map area param source track select datalist button input dialog rp
""")
STRUCK = frozenset({"s", "del", "strike"})
FURNITURE = frozenset({"nav", "aside", "footer"})
"""Parts of a whole page that belong to the shop and not to the listing."""
KEPT_CELL = 400
"""A table cell longer than this is a container of prose, not the value of a key."""
_SPACES = re.compile(r"[ \t\n\r\f\v\u00a0\u1680\u2000-\u200a\u202f\u205f\u3000]+")
_INVISIBLE = re.compile("[\u00ad\u200b-\u200f\u202a-\u202e\u2060\ufeff]")
EXCERPT = 70


def excerpt(text: str) -> str:
    """The first words of `text`, on one line, to be shown in a note."""
    flat = " ".join(text.split())
    return flat if len(flat) <= EXCERPT else flat[: EXCERPT - 1].rstrip() + "…"


class Omissions:
    """What was left out, counted by reason, with the first words of each kind."""

    REASONS: ClassVar[dict[str, str]] = {
        "hidden": "Text that the page hides was left out",
        "struck": "Struck-out text was left out",
        "comment": "A comment in the source of the page was left out",
        "furniture": "Menus, side columns and the foot of the page were left out",
    }

    def __init__(self) -> None:
        self._first: dict[str, str] = {}

    def add(self, reason: str, text: str) -> None:
        """Remember that text was left out for `reason`."""
        if text.strip() and reason not in self._first:
            self._first[reason] = excerpt(text)

    def notes(self) -> tuple[str, ...]:
        """One plain sentence a reason."""
        return tuple(
            f"{why}." if reason == "furniture" else f"{why}: “{self._first[reason]}”."
            for reason, why in self.REASONS.items()
            if reason in self._first
        )


class _Writer:
    """Collects lines; white space is folded as a browser folds it."""

    def __init__(self) -> None:
        self.lines: list[Line] = []
        self.kind: SegmentKind = "description"
        self._buffer: list[str] = []
        self._apart = False

    def text(self, piece: str, *, keep: bool = False) -> None:
        piece = _INVISIBLE.sub("", piece)
        if keep:
            first, *others = piece.expandtabs(4).split("\n")
            self._buffer.append(first)
            for line in others:
                self.end_line()
                self._buffer.append(line)
        elif piece:
            self._buffer.append(_SPACES.sub(" ", piece))

    def touch(self) -> None:
        """Part two boxes that a style sheet sets apart but the source writes without a space between."""
        if self._buffer and self._buffer[-1][-1:].isalnum():
            self._buffer.append(" ")

    def has_words(self) -> bool:
        """True where the line begun holds anything."""
        return any(not piece.isspace() for piece in self._buffer[-8:])

    def end_line(self) -> None:
        line = _SPACES.sub(" ", "".join(self._buffer)).strip()
        self._buffer.clear()
        if line:
            self.put(self.kind, line)

    def put(self, kind: SegmentKind, line: str) -> None:
        self.lines.append((kind, line, self._apart and bool(self.lines)))
        self._apart = False

    def set_apart(self) -> None:
        self.end_line()
        self._apart = True


class Reader:
    """Walks an element tree once, without recursion over its depth."""

    def __init__(self, sheet: Sheet, *, whole_page: bool = False) -> None:
        self._sheet = sheet
        self._whole_page = whole_page
        self.omitted = Omissions()
        self._numbers: dict[int, int] = {}

    def lines(self, root: Tag, *, skip: Tag | None = None) -> list[Line]:
        """The visible lines under `root`, without the element `skip`."""
        writer = _Writer()
        # A stack of (element, state): state 0 opens an element, state 1 closes it.
        stack: list[tuple[Any, int, SegmentKind]] = [(root, 0, "description")]
        keep = 0
        while stack:
            node, state, kind = stack.pop()
            if not isinstance(node, Tag):
                if isinstance(node, PreformattedString) and not isinstance(node, CData):
                    if isinstance(node, Comment):
                        self.omitted.add("comment", _comment_words(str(node)))
                    continue
                writer.text(str(node), keep=keep > 0)
                continue
            if state:
                self._leave(node, writer)
                keep -= node.name in ("pre", "textarea")
                writer.kind = kind
                continue
            if node is skip or not self._visible(node, root):
                continue
            before = writer.kind
            if self._as_pairs(node, writer):
                continue
            keep += node.name in ("pre", "textarea")
            self._enter(node, writer, node is root)
            stack.append((node, 1, before))
            stack.extend((child, 0, before) for child in reversed(node.contents))
        writer.end_line()
        return writer.lines

    def words(self, node: Tag) -> str:
        """The visible words of a small element on one line; its own line breaks become semicolons."""
        outside, self.omitted = self.omitted, Omissions()
        try:
            return "; ".join(line.rstrip(";, ") for _, line, _ in self.lines(node))
        finally:
            self.omitted = outside

    def _visible(self, node: Tag, root: Tag) -> bool:
        name = node.name
        if name in NEVER:
            return name == "dialog" and node.has_attr("open")
        if node is root or name in ("html", "body"):
            return True
        reason = ""
        style = str(node.get("style") or "")
        if name in STRUCK or strikes(style):
            reason = "struck"
        elif (
            (node.has_attr("hidden") and str(node.get("hidden")).lower() != "until-found")
            or str(node.get("aria-hidden") or "").lower() == "true"
            or hides(style)
            or self._sheet.hides(node)
        ):
            reason = "hidden"
        elif self._whole_page and (name in FURNITURE or str(node.get("role") or "") in ("navigation", "complementary")):
            reason = "furniture"
        if reason:
            self.omitted.add(reason, _first_words(node))
        return not reason

    def _enter(self, node: Tag, writer: _Writer, is_root: bool) -> None:
        name = node.name
        if name == "br":
            writer.end_line()
        elif name in APART:
            writer.set_apart()
        elif name in LINE:
            writer.end_line()
            if name == "li" and node.parent is not None and node.parent.name == "ol":
                number = self._numbers[id(node.parent)] = self._numbers.get(id(node.parent), 0) + 1
                writer.text(f"{number}. ")
        elif name in ("td", "th"):
            if not is_root and writer.has_words():
                writer.text(" | ")
        elif name in ("span", "a", "label", "time", "data"):
            if isinstance(node.previous_sibling, Tag):
                writer.touch()
        elif name == "figcaption":
            writer.end_line()
        if name == "figcaption":
            writer.kind = "caption"

    def _leave(self, node: Tag, writer: _Writer) -> None:
        if node.name in APART and node.name != "hr":
            writer.set_apart()
        elif node.name in LINE:
            writer.end_line()

    def _as_pairs(self, node: Tag, writer: _Writer) -> bool:
        """Write a row of a table, or a term of a definition list with its details, as 'Key: value' lines."""
        if node.name == "dl":
            return self._definitions(node, writer)
        if node.name == "table":
            return self._headed_table(node, writer)
        if node.name == "tr":
            cells = _cells(node)
            if len(cells) < 2 or len(cells) % 2 or not all(_is_short(c) for c in cells):
                return False
            if len(cells) > 2 and not all(_keyish(c) for c in cells[::2]):
                return False
            writer.end_line()
            self._pairs(zip(cells[::2], cells[1::2], strict=True), writer)
            return True
        return False

    def _pairs(self, pairs: Any, writer: _Writer) -> None:
        for key, value in pairs:
            self._pair(self._cell(key), self._cell(value), writer)

    def _cell(self, node: Tag) -> str:
        return self.words(node) if self._visible_quietly(node) else ""

    def _visible_quietly(self, node: Tag) -> bool:
        return self._visible(node, node.parent or node)

    @staticmethod
    def _pair(key: str, value: str, writer: _Writer) -> None:
        key = key.rstrip(": ")
        if key and value:
            joint = " " if key[-1] in "?:" else ": "
            writer.put("specifics", f"{key}{joint}{value}")
        elif key or value:
            writer.put("specifics", f"{key}:" if key else value)

    def _definitions(self, node: Tag, writer: _Writer) -> bool:
        parts = _within(node, ("dt", "dd"), through=("div",))
        if not parts or not all(_is_short(p) for p in parts):
            return False
        writer.set_apart()
        key, values = "", list[str]()

        def flush() -> None:
            if key or values:
                self._pair(key, "; ".join(values), writer)

        for part in parts:
            words = self._cell(part)
            if part.name == "dt":
                flush()
                key, values = words, []
            elif words:
                values.append(words)
        flush()
        writer.set_apart()
        return True

    def _headed_table(self, node: Tag, writer: _Writer) -> bool:
        """A table whose first row names its columns: each row becomes one line of 'Column: value' parts."""
        rows = _within(node, ("tr",), through=("thead", "tbody", "tfoot"))
        if len(rows) < 2:
            return False
        heads = _cells(rows[0])
        if len(heads) < 2 or not all(h.name == "th" for h in heads):
            return False
        body = [_cells(r) for r in rows[1:]]
        if not all(len(b) == len(heads) and all(_is_short(c) for c in b) for b in body):
            return False
        if len(heads) == 2 or any(b[0].name != b[1].name for b in body):
            return False  # two columns read as key and value anyway
        names = [self._cell(h).rstrip(": ") for h in heads]
        writer.set_apart()
        for cells in body:
            pairs = zip(names, (self._cell(c) for c in cells), strict=True)
            line = " | ".join(f"{n}: {v}" if n else v for n, v in pairs if v)
            if line:
                writer.put("specifics", line)
        writer.set_apart()
        return True


def _cells(row: Tag) -> list[Tag]:
    return [c for c in row.contents if isinstance(c, Tag) and c.name in ("td", "th")]


def _within(node: Tag, names: tuple[str, ...], *, through: tuple[str, ...]) -> list[Tag]:
    """Children with one of `names`, also those directly inside the elements `through`."""
    found: list[Tag] = []
    for child in node.contents:
        if isinstance(child, Tag):
            if child.name in names:
                found.append(child)
            elif child.name in through:
                found += [c for c in child.contents if isinstance(c, Tag) and c.name in names]
    return found


def _under(node: Tag) -> Iterator[Any]:
    """What lies under `node`, in order. Unlike `descendants` it costs nothing before the first step."""
    stack = list(reversed(node.contents))
    while stack:
        item = stack.pop()
        yield item
        if isinstance(item, Tag):
            stack.extend(reversed(item.contents))


def _is_short(cell: Tag) -> bool:
    """True for a cell that can stand on one line: few words, no tables, lists or headings in it."""
    length = 0
    for nodes, node in enumerate(_under(cell), 1):
        if isinstance(node, Tag):
            if node.name in ("table", "dl", "h1", "h2", "h3", "h4", "pre", "form", "section", "article"):
                return False
        elif isinstance(node, NavigableString):
            length += len(node)
        if nodes > 80 or length > KEPT_CELL:
            return False
    return True


def _keyish(cell: Tag) -> bool:
    inside = list(_under(cell))  # short cells only, as `_is_short` has found
    text = "".join(str(n) for n in inside if isinstance(n, NavigableString)).strip()
    bold = any(isinstance(n, Tag) and n.name in ("b", "strong") for n in inside)
    return cell.name == "th" or text.endswith(":") or bold


def _first_words(node: Tag) -> str:
    words: list[str] = []
    for piece in _under(node):
        if isinstance(piece, NavigableString) and not isinstance(piece, PreformattedString):
            if piece.parent is not None and piece.parent.name in NEVER:
                continue
            words.append(str(piece))
            if sum(map(len, words)) > 4 * EXCERPT:
                break
    return " ".join(words)


def _comment_words(comment: str) -> str:
    """The words of a comment; conditional and template comments, which no seller wrote, have none."""
    if comment.lstrip().startswith(("[if", "<![", "#", "/", "?")) or not re.search(r"\w \w|\w{3}\W* \w", comment):
        return ""
    return re.sub(r"<[^>]*>", " ", comment)
