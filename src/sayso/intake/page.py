"""A saved page or a pasted fragment of HTML: its visible words, and what its own data say of title and price."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from sayso.intake.draft import Draft, flat, one_line, tidy
from sayso.intake.errors import IntakeError
from sayso.intake.text import LONGEST_TITLE, split_title, with_price
from sayso.model import Listing

if TYPE_CHECKING:
    from bs4 import BeautifulSoup, Tag

    from sayso.intake.blocks import Line
    from sayso.lexicon import Lexicon

_WHOLE = re.compile(r"<(?:!doctype\s+html|html|head|body)\b", re.I)
_MARKUP = re.compile(r"[<&]")


def parse(html: str) -> BeautifulSoup:
    """The element tree of any text at all; broken markup is mended, never refused."""
    import warnings

    from bs4 import MarkupResemblesLocatorWarning, XMLParsedAsHTMLWarning

    from sayso.intake.tree import Tree, defused

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", MarkupResemblesLocatorWarning)
        warnings.simplefilter("ignore", XMLParsedAsHTMLWarning)
        try:
            return Tree(defused(html), "html.parser")
        except Exception:  # the parser gives up on some broken declarations: read those as words
            return Tree(re.sub(r"<(?=[!?])", "&lt;", html), "html.parser")


def plain(markup: str) -> str:
    """A short piece of HTML (a title) as one line of text, entities and tags resolved."""
    if not _MARKUP.search(markup):
        return flat(markup)
    from sayso.intake.blocks import Reader
    from sayso.intake.styles import Sheet

    return one_line(" ".join(line for _, line, _ in Reader(Sheet()).lines(parse(tidy(markup)))))


def read_html(
    html: str,
    *,
    title: str | None = None,
    id: str = "listing",
    lexicon: Lexicon | None = None,
    **known: Any,
) -> Listing:
    """A listing from HTML, a whole saved page or a fragment.

    The visible words become the text, in blocks as a reader sees them. Titles, prices and currencies in the data of
    the page (schema.org, Open Graph) are taken where the visible page names none; they are no words of the seller.
    `known` are fields of `Listing` that are known apart and win. Raises `IntakeError` where no words are visible.
    """
    from sayso.intake.blocks import Reader
    from sayso.intake.pagedata import read_data
    from sayso.intake.styles import Sheet

    source = tidy(html)
    whole = bool(_WHOLE.search(source[:4_000]))
    soup = parse(source)
    sheet = Sheet(str(tag.string or "") for tag in soup.find_all("style"))
    reader = Reader(sheet, whole_page=whole)
    root = _listing_part(soup) if whole else soup
    data = read_data(soup)
    heading = _heading(root, reader) if title is None else None
    lines = reader.lines(root, skip=heading)
    notes = [*known.pop("notes", ()), *reader.omitted.notes()]
    if title is not None:
        name = plain(title)
    elif heading is not None:
        name = one_line(reader.words(heading))
    else:
        name, lines = _first_title(lines)
        if not name and data.title:
            name = data.title
            notes.append("The title is taken from the data of the page.")
        if not name and whole and soup.title is not None:
            name = one_line(soup.title.get_text())
    if not any(text for _, text, _ in lines) and data.description:
        lines = [("description", one_line(plain(part)), False) for part in data.description.split("\n") if part.strip()]
        lines = [line for line in lines if line[1]]
        notes.append("The page shows no description; the one in its data was read instead.")
    draft = Draft()
    draft.add("title", name)
    draft.add_lines(lines)
    text, segments = draft.finish()
    if not text:
        raise IntakeError(
            "the page shows no words (it may be filled in by a script); open it, select the listing, copy and paste it"
        )
    for key, value in data.money().items():
        if known.get(key) is None:
            known[key] = value
    notes += data.notes
    if whole and soup.find(["iframe", "frame"], src=True) is not None and sum(len(t) for _, t, _ in lines) < 400:
        notes.append("Part of the page is a frame that was not saved with it; paste the description too.")
    known = with_price(text, {**known, "notes": tuple(notes)}, lexicon)
    return Listing(id=id, text=text, title=name, format="html", segments=segments, **known)


def _listing_part(soup: BeautifulSoup) -> Tag:
    """The part of a saved page that holds the listing: its main element where there is exactly one, else the body."""
    mains = soup.select("main, [role=main]", limit=3)
    outer = [m for m in mains if not any(p in mains for p in m.parents)]
    if len(outer) == 1 and len(outer[0].get_text(strip=True)) >= 40:
        return outer[0]
    return soup.body if soup.body is not None and soup.body.contents else soup


def _heading(root: Tag, reader: Any) -> Tag | None:
    """The first visible main heading, which is the title of the listing."""
    for tag in root.find_all("h1", limit=5):
        if reader.words(tag) and not any(reader._sheet.hides(p) or p.has_attr("hidden") for p in [tag, *tag.parents]):
            return tag
    return None


def _first_title(lines: list[Line]) -> tuple[str, list[Line]]:
    """A title from the first line of a fragment, where it stands apart and is no sentence; and the other lines."""
    if len(lines) > 1 and lines[0][0] == "description" and lines[1][2] and len(lines[0][1]) <= LONGEST_TITLE:
        name, _ = split_title(lines[0][1] + "\n\nx")
        if name:
            return name, lines[1:]
    return "", lines
