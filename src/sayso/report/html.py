"""The report as one self-contained web page: no network, no font, no script from elsewhere.

The page carries its own Content-Security-Policy, which names the one style sheet and the one script by their hashes:
whatever a listing might smuggle in would not run.
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Sequence
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

from sayso.report.html_build import Html, el, join
from sayso.report.html_parts import sections
from sayso.report.html_wishlist import Ranked, ranking
from sayso.report.words import Words

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.model import Audit
    from sayso.report.compared import Compared

__all__ = ["Ranked", "audit_html", "wishlist_html"]

TEMPLATES = Path(__file__).parent / "templates"


@cache
def asset(name: str) -> str:
    """A style sheet or script that comes with the program; `name` never comes from a request."""
    return (TEMPLATES / name).read_text(encoding="utf-8")


def audit_html(audit: Audit, lexicon: Lexicon) -> str:
    """One audit as a self-contained page."""
    say = Words(lexicon)
    title = say.headline(audit.listing)
    head = el("header", el("p", say.say("html.name"), class_="name"), el("h1", title, dir="auto"))
    return document(title, join(head, el("main", sections(audit, lexicon))), say)


def wishlist_html(
    audits: Sequence[Audit],
    lexicon: Lexicon,
    ranks: Sequence[Ranked] | None = None,
    copies: Sequence[Compared] = (),
) -> str:
    """Many audits, best first as given, each folded in. `ranks` says of each what to do and why; `copies` are records
    of which several copies are on the list."""
    say = Words(lexicon)
    title = say.say("html.wishlist", count=len(audits))
    head = el("header", el("p", say.say("html.name"), class_="name"), el("h1", title))
    return document(title, join(head, el("main", ranking(audits, lexicon, ranks, copies))), say)


def document(title: str, body: Html, say: Words) -> str:
    """A whole page with style and script inside it."""
    style, script = asset("report.css"), asset("report.js")
    policy = (
        f"default-src 'none'; style-src 'sha256-{_digest(style)}'; script-src 'sha256-{_digest(script)}'; "
        "base-uri 'none'; form-action 'none'"
    )
    head = el(
        "head",
        el("meta", charset="utf-8"),
        el("meta", http_equiv="Content-Security-Policy", content=policy),
        el("meta", name_="viewport", content="width=device-width, initial-scale=1"),
        el("meta", name_="color-scheme", content="light dark"),
        el("meta", name_="referrer", content="no-referrer"),
        el("title", f"{title} · {say.say('html.name')}"),
        el("style", Html(style)),
    )
    return "<!doctype html>\n" + el("html", head, el("body", body, el("script", Html(script))), lang="en") + "\n"


def _digest(text: str) -> str:
    return b64encode(sha256(text.encode()).digest()).decode()
