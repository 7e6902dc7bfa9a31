"""Plain text: where the title ends and the description begins."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from sayso.intake.draft import Draft, flat, tidy
from sayso.intake.errors import IntakeError
from sayso.model import Format, Listing, SegmentKind

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

LONGEST_TITLE = 160
"""A first line longer than this many characters is prose, not a title (a convention of this program)."""
_SENTENCE_END = re.compile(r"[.!?…。!?][\"'”’)\]]*$")
_GREETING_END = re.compile(r"[,:;]$")


def split_title(text: str) -> tuple[str, str]:
    """(title, body) of a pasted text: a first line that is short, and stands apart or is no sentence, is a title."""
    stripped = text.strip()
    head, newline, rest = stripped.partition("\n")
    head = head.rstrip()
    if len(head) > LONGEST_TITLE or _GREETING_END.search(head) or head.startswith(">"):
        return "", stripped
    if not newline:
        return ("", stripped) if _SENTENCE_END.search(head) else (head, "")
    if _SENTENCE_END.search(head) and (rest[:1] != "\n" or head.count(". ")):
        return "", stripped
    return head, rest


def read_text(
    text: str,
    *,
    title: str | None = None,
    id: str = "listing",
    format: Format = "text",
    lexicon: Lexicon | None = None,
    **known: Any,
) -> Listing:
    """A listing from plain text as typed or pasted.

    `title` is the title where it is known apart; otherwise the first line is taken where it looks like one. `known`
    are further fields of `Listing` (price, currency, url, notes ...). Raises `IntakeError` where there is nothing.
    """
    clean = tidy(text)
    if title is None:
        title, body = ("", clean.strip()) if format == "reply" else split_title(clean)
    else:
        body = clean
    title = flat(title)
    if not title and not body.strip():
        raise IntakeError("the listing is empty; paste the seller's words, or name a file that holds them")
    kind: SegmentKind = "reply" if format == "reply" else "description"
    draft = Draft()
    draft.add("title", title)
    if title:
        body = body.lstrip("\n")
    draft.add(kind, body if body.strip() else "", gap="\n\n")
    canonical, segments = draft.finish()
    if format == "text":
        known = with_price(canonical, known, lexicon)
    return Listing(id=id, text=canonical, title=title, format=format, segments=segments, **known)


def with_price(text: str, known: dict[str, Any], lexicon: Lexicon | None = None) -> dict[str, Any]:
    """`known` with the money that the words of the listing ask, where it is not known already."""
    if known.get("price") is not None:
        return known
    from sayso.intake.money import asking_price, money_words

    asked = asking_price(text, words=money_words(lexicon))
    found: dict[str, Any] = {"price": asked.price, "shipping": asked.shipping}
    if asked.price is not None:
        found["currency"] = asked.currency
    out = known | {k: v for k, v in found.items() if v is not None and known.get(k) is None}
    if asked.auction:
        out["auction"] = True
    if asked.notes:
        out["notes"] = (*known.get("notes", ()), *asked.notes)
    return out
