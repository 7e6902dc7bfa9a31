"""Beautiful Soup's tree over the standard library's parser, with the end tags that HTML lets writers leave out."""

from __future__ import annotations

from typing import Any

from bs4 import BeautifulSoup

_BLOCKS = tuple(
    """
    p div ul ol dl table h1 h2 h3 h4 h5 h6 hr pre form section article header footer main nav aside address
    blockquote center details dir fieldset figure menu
""".split()  # noqa: SIM905
)
_P = (frozenset({"p"}), frozenset({"div", "li", "td", "th", "dd", "dt", "table", "blockquote", "section", "button"}))
# Start tag → (open elements that it ends, elements that it does not look beyond). HTML standard, section 13.1.2.4
# (optional tags).
IMPLIED: dict[str, tuple[frozenset[str], frozenset[str]]] = {
    **dict.fromkeys(_BLOCKS, _P),
    "li": (frozenset({"li"}), frozenset({"ul", "ol", "menu", "table"})),
    **dict.fromkeys(("dt", "dd"), (frozenset({"dt", "dd"}), frozenset({"dl", "table"}))),
    **dict.fromkeys(("td", "th"), (frozenset({"td", "th"}), frozenset({"tr", "table"}))),
    "tr": (frozenset({"tr"}), frozenset({"table"})),
    **dict.fromkeys(("tbody", "thead", "tfoot"), (frozenset({"tbody", "thead", "tfoot"}), frozenset({"table"}))),
    "option": (frozenset({"option"}), frozenset({"select", "datalist"})),
}
LOOK_BACK = 40
"""Open elements looked through; deeper nesting than this between an item and the next is no writing by hand."""


class Tree(BeautifulSoup):
    """`BeautifulSoup` that closes `<li>`, `<p>`, `<td>` and their like where the next one begins."""

    def handle_starttag(self, name: str, *args: Any, **more: Any) -> Any:
        """Close what `name` ends, then open it."""
        rule = IMPLIED.get(name)
        if rule is not None:
            ends, stops = rule
            found = ""
            for tag in self.tagStack[: -LOOK_BACK - 1 : -1]:
                if tag.name in ends:
                    found = tag.name
                    break
                if tag.name in stops:
                    break
            if found:
                self.handle_endtag(found)
        return super().handle_starttag(name, *args, **more)


OPEN = 50
"""More '<' than this before the next '>' are no tags; the parser would look at each of them to the end of the input."""


def defused(html: str) -> str:
    """`html` with runs of '<' that open nothing written as '&lt;', so that reading it takes time in proportion."""
    pieces = html.split(">")
    for i, piece in enumerate(pieces):
        if piece.count("<") > OPEN:
            head, _, tail = piece.rpartition("<")
            pieces[i] = head.replace("<", "&lt;") + "<" + tail
    return ">".join(pieces)
