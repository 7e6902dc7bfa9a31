"""The parts of a pasted mail that are no answer: head lines, the buyer's own message below, a signature; and mail whose
markup or transfer encoding was pasted with it.
"""

from __future__ import annotations

import quopri
import re
from dataclasses import dataclass

from sayso.replies.words import Forms

_SIGNATURE = re.compile(r"^-- ?$", re.MULTILINE)
"""RFC 3676, 4.3: two dashes and a space on a line of their own; the space is often lost."""
_FIELD = re.compile(r"^[ \t>*]*([^\W\d_][\w .]{0,14}?)\*? ?[:\uff1a]\*?[ \t]*\S", re.MULTILINE)
_ENTITY = re.compile(r"&(?:nbsp|amp|lt|gt|quot|#\d{1,6}|#x[0-9a-f]{1,5}|[a-z]{4,8});", re.IGNORECASE)
_QUOTED = re.compile(r"=(?:[0-9A-F]{2}|\n)")
_ENOUGH = 3
"""So many signs of transfer encoding, and the text is taken for it."""


@dataclass(frozen=True)
class Mail:
    """Stretches of a reply: what is the buyer's, and what the seller sets under every mail."""

    theirs: tuple[tuple[int, int], ...] = ()
    signature: tuple[int, int] | None = None


def mail_parts(reply: str, forms: Forms) -> Mail:
    """Head lines, the message answered where it stands below the answer, and the signature. Pure."""
    lines, at = [], 0
    for line in reply.split("\n"):
        lines.append((at, at + len(line)))
        at += len(line) + 1
    heads = [i for i, (a, b) in enumerate(lines) if _is_head(reply[a:b], forms)]
    fields = [i for i, (a, b) in enumerate(lines) if _is_field(reply[a:b], forms)]
    heads += [i for i in fields if i + 1 in fields or i - 1 in fields or i - 1 in heads]
    theirs = [lines[i] for i in sorted(set(heads))]
    sign = _SIGNATURE.search(reply)
    if theirs:
        first = theirs[0][0]
        marked = any(re.match(r"\s*[>»]", reply[a:b]) for a, b in lines if a > first)
        own = reply[:first].strip()
        if own and not marked and not _only_points(own, forms):
            theirs = [(first, len(reply))]
    signature = None
    if sign is not None and reply[: sign.start()].strip() and not any(a <= sign.start() < b for a, b in theirs):
        stop = min((a for a, _ in theirs if a > sign.start()), default=len(reply))
        signature = (sign.start(), stop)
    return Mail(tuple(theirs), signature)


def _is_head(line: str, forms: Forms) -> bool:
    """'On 3 March, A. Buyer wrote:' and '----- Original message -----'."""
    text = line.strip(" \t>*_")
    if forms.first(("reply_mail_original",), text) and re.match(r"[-_]{2,}.*", text):
        return True
    wrote = forms.first(("reply_mail_wrote",), text)
    return wrote is not None and text.endswith((":", "\uff1a")) and re.search(r"\d|@", text) is not None


def _is_field(line: str, forms: Forms) -> bool:
    m = _FIELD.match(line)
    if m is None:
        return False
    hit = forms.starts("reply_mail_field", m.group(1))
    return hit is not None and hit.end == len(m.group(1))


def _only_points(text: str, forms: Forms) -> bool:
    """Whether the words above the buyer's message only say that the answers stand in it."""
    below = forms.first(("reply_below",), text)
    return below is not None and len(text) < 120


def readable(reply: str) -> str:
    """The words of a reply that was pasted as markup, with entities, or in the encoding of mail; else as it stands."""
    text = reply
    if len(_QUOTED.findall(text)) >= _ENOUGH and re.search(r"=(?:20|3D|C3|E2|\n)", text):
        data = quopri.decodestring(text.encode("utf-8", "replace"))
        try:
            text = data.decode("utf-8")
        except UnicodeDecodeError:
            text = data.decode("cp1252", "replace")
    from sayso.intake.paste import is_html

    if is_html(text):
        from sayso.intake.blocks import Reader
        from sayso.intake.page import parse
        from sayso.intake.styles import Sheet

        lines = Reader(Sheet()).lines(parse(text))
        words = "".join(("\n\n" if apart else "\n") + line for _, line, apart in lines).strip()
        return words or text
    if _ENTITY.search(text):
        import html

        return html.unescape(text).replace("\u00a0", " ")
    return text
