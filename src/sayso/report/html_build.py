"""Markup built from values, so that nothing a seller wrote can become markup.

Every string is escaped on its way in; only `Html`, which nothing but this module and files of this package make, is
taken as it is. There is no other way to write markup in reports and on the page.
"""

from __future__ import annotations

import re
from html import escape
from typing import Final

from sayso.report.safe import safe

EMPTY: Final = frozenset({"meta", "link", "input", "br", "hr", "img"})


class Html(str):
    """Markup that is safe to send: a string that has been escaped, or built from such."""

    __slots__ = ()


def esc(value: object) -> Html:
    """A value as text: control and direction characters replaced, the five special characters escaped."""
    return value if isinstance(value, Html) else Html(escape(safe(str(value)), quote=True))


def join(*children: object) -> Html:
    """Children one after the other; lists are opened, null is left out."""
    out: list[str] = []
    for child in children:
        if child is None or child is False:
            continue
        out.append(join(*child) if isinstance(child, list | tuple) else esc(child))
    return Html("".join(out))


def el(name: str, /, *children: object, **attributes: object) -> Html:
    """One element. `class_` gives `class`, `aria_label` gives `aria-label`; null and false attributes are left out."""
    written = []
    for key, value in attributes.items():
        if value is None or value is False:
            continue
        key = key.rstrip("_").replace("_", "-")
        written.append(f" {key}" if value is True else f' {key}="{esc(value)}"')
    head = f"<{name}{''.join(written)}>"
    return Html(head) if name in EMPTY else Html(f"{head}{join(*children)}</{name}>")


def quoted(words: str, language: str | None = None, **more: object) -> Html:
    """Words of somebody else, on one line, in the language a screen reader must read them in (WCAG 2.2, 3.1.2)."""
    return el("q", " ".join(words.split()), dir="auto", lang=None if language == "en" else language, **more)


def unbroken(text: str) -> str:
    """A sentence of ours in which no line ends between a number and what it counts: '28 %', 'GBP 75'."""
    return re.sub(r"(?<=\d) (?=%)|(?<=\b[A-Z]{3}) (?=\d)", "\u00a0", text)


def stopped(text: str) -> str:
    """A sentence of ours with its full stop, so that what follows on the same line begins a new one."""
    bare = text.rstrip()
    return bare if not bare or bare[-1] in ".!?…" or bare[-2:] in (".)", '."', ".'") else f"{bare}."
