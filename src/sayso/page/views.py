"""The local page as markup, in the builder and the words of the report."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from sayso.report.html_build import Html, el, join
from sayso.report.words import Words

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.model import Audit


def frame(title: str, here: str, body: Html, say: Words) -> str:
    """A whole page around `body`; `here` is the part of the page it belongs to."""
    links = [
        el("a", say.say(f"page.nav.{name}"), href=href, aria_current="page" if name == here else None)
        for name, href in (("read", "/"), ("wishlist", "/wishlist"), ("cases", "/cases"))
    ]
    head = el(
        "head",
        el("meta", charset="utf-8"),
        el("meta", name_="viewport", content="width=device-width, initial-scale=1"),
        el("meta", name_="color-scheme", content="light dark"),
        el("title", f"{title} · {say.say('html.name')}"),
        el("link", rel="stylesheet", href="/report.css"),
        el("link", rel="stylesheet", href="/page.css"),
        el("link", rel="icon", href="/icon.svg", type="image/svg+xml"),
    )
    top = el(
        "header",
        el("a", say.say("page.skip"), href="#result", class_="skip") if here == "read" else None,
        el(
            "div",
            el("p", say.say("html.name"), class_="name"),
            el("nav", links, aria_label=say.say("page.nav")),
            class_="top",
        ),
        el("h1", title, dir="auto"),
    )
    scripts = [el("script", src="/report.js", defer=True), el("script", src="/page.js", defer=True)]
    whole = el("html", head, el("body", top, el("main", body), *scripts), lang="en")
    return f"<!doctype html>\n{whole}\n"


def reading(form: Mapping[str, str], result: Html, lexicon: Lexicon, *, fault: str = "") -> str:
    """The paste box with what was filled in, and the result under it."""
    say = Words(lexicon)
    from sayso.questions import languages

    def field(name: str, hint: str = "", **more: object) -> Html:
        note = el("span", say.say(hint), class_="hint", id=f"f-{name}-h") if hint else None
        box = el(
            "input",
            type="text",
            id=f"f-{name}",
            name_=name,
            value=form.get(name, ""),
            autocomplete="off",
            aria_describedby=f"f-{name}-h" if hint else None,
            **more,
        )
        return el("div", el("label", say.say(f"page.{name}"), for_=f"f-{name}"), box, note)

    tongues = [("", say.say("page.language_own")), *((x, x) for x in languages(lexicon))]
    body = join(
        el("p", say.say("page.lead"), class_="lead") if not result else None,
        el("p", fault, class_="fault", role="alert") if fault else None,
        el(
            "form",
            el(
                "div",
                el("label", say.say("page.words"), for_="f-words"),
                el("span", say.say("page.words_hint"), class_="hint", id="f-words-h"),
                el(
                    "textarea",
                    "\n" + form.get("words", ""),
                    id="f-words",
                    name_="words",
                    rows=10,
                    spellcheck="false",
                    aria_describedby="f-words-h",
                    dir="auto",
                    data_drop=True,
                ),
            ),
            el(
                "div",
                el("label", say.say("page.file"), for_="f-file"),
                el(
                    "input",
                    type="file",
                    id="f-file",
                    name_="file",
                    accept=".txt,.html,.htm,.mhtml,text/plain,text/html",
                ),
            ),
            el(
                "div",
                field("price", inputmode="decimal"),
                field("currency", "page.currency_hint", maxlength="3"),
                field("shipping", inputmode="decimal"),
                class_="row",
            ),
            el(
                "details",
                el("summary", say.say("page.more")),
                el(
                    "div",
                    el(
                        "div",
                        el("label", say.say("page.worth"), for_="f-worth"),
                        el(
                            "textarea",
                            "\n" + form.get("worth", ""),
                            id="f-worth",
                            name_="worth",
                            rows=3,
                            aria_describedby="f-worth-h",
                        ),
                        el("span", say.say("page.worth_hint"), class_="hint", id="f-worth-h"),
                    ),
                    select("language", tongues, form, say),
                    select("wording", [(w, say.say(f"page.wording.{w}")) for w in ("open", "pointed")], form, say),
                    class_="row",
                ),
            ),
            el(
                "p",
                el("button", say.say("page.read"), type="submit"),
                " ",
                el("button", say.say("page.save"), type="submit", formaction="/save", class_="second"),
                " ",
                el("button", say.say("page.download"), type="submit", formaction="/report", class_="second"),
            ),
            el("p", say.say("page.save_hint"), class_="hint"),
            action="/",
            method="post",
            enctype="multipart/form-data",
            id="read",
            data_updated=say.say("page.updated"),
            data_reading=say.say("page.reading"),
            data_offline=say.say("page.offline"),
        ),
        el("p", id="status", role="status", class_="hint"),
        el(
            "div",
            result or el("p", say.say("page.waiting"), class_="hint"),
            id="result",
            tabindex="-1",
            role="region",
            aria_label=say.say("page.result"),
        ),
    )
    return frame(say.say("page.title"), "read", body, say)


def select(
    name: str, options: Sequence[tuple[str, str]], form: Mapping[str, str], say: Words, *, label: str = ""
) -> Html:
    """A labelled choice."""
    chosen = form.get(name, options[0][0])
    return el(
        "div",
        el("label", label or say.say(f"page.{name}"), for_=f"f-{name}"),
        el(
            "select",
            [el("option", words, value=value, selected=value == chosen) for value, words in options],
            id=f"f-{name}",
            name_=name,
        ),
    )


def wishlist(result: Html, lexicon: Lexicon, *, fault: str = "", problems: tuple[str, ...] = ()) -> str:
    """The form for a table, and its ranking."""
    say = Words(lexicon)
    body = join(
        el("p", say.say("page.wishlist_lead"), class_="lead"),
        el("p", fault, class_="fault", role="alert") if fault else None,
        el(
            "form",
            el(
                "div",
                el("label", say.say("page.wishlist_file"), for_="f-table"),
                el("input", type="file", id="f-table", name_="table", multiple=True, required=True),
            ),
            el("p", el("button", say.say("page.wishlist_go"), type="submit")),
            action="/wishlist",
            method="post",
            enctype="multipart/form-data",
        ),
        el("div", el("p", say.say("page.problems")), el("ul", [el("li", p) for p in problems]), class_="fault")
        if problems
        else None,
        result,
    )
    return frame(say.say("page.wishlist"), "wishlist", body, say)


def alone(audit: Audit, *, lexicon: Lexicon) -> Html:
    """From one listing of a wishlist onwards: open it by itself, or save it as a case."""
    say = Words(lexicon)
    listing = audit.listing
    kept = {"words": listing.text, "price": listing.price, "currency": listing.currency, "shipping": listing.shipping}
    hidden = [el("input", type="hidden", name_=k, value=v) for k, v in kept.items() if v is not None]
    buttons = el(
        "p",
        el("button", say.say("page.save"), type="submit", formaction="/save"),
        " ",
        el("button", say.say("page.alone"), type="submit", class_="second"),
    )
    return el("form", hidden, buttons, action="/", method="post", enctype="multipart/form-data")


def fault_page(phrase: str, lexicon: Lexicon) -> str:
    """A page that says what went wrong and leads back."""
    from sayso.page.guard import MOST_BYTES

    say = Words(lexicon)
    words = say.lexicon.phrases[phrase].replace("{limit}", f"{MOST_BYTES // 1_000_000} MB")
    return fault_text(words, lexicon)


def fault_text(words: str, lexicon: Lexicon) -> str:
    """The same, for what is wrong in words of its own."""
    say = Words(lexicon)
    body = join(el("p", words, class_="fault", role="alert"), el("p", el("a", say.say("page.back"), href="/")))
    return frame(say.say("page.fault.title"), "", body, say)
