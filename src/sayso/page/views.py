"""The local page as markup, in the builder and the words of the report."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from sayso.page.form import LIMITS
from sayso.report.html_build import Html, el, join
from sayso.report.words import Words

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.model import Audit


def frame(title: str, here: str, body: Html, say: Words, *, heading: str = "") -> str:
    """A whole page around `body`, of the part `here` of the page; its heading is its title where none is given."""
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
        el("h1", heading or title, dir="auto"),
    )
    scripts = [el("script", src="/report.js", defer=True), el("script", src="/page.js", defer=True)]
    whole = el("html", head, el("body", top, el("main", body), *scripts, class_=f"at-{here or 'fault'}"), lang="en")
    return f"<!doctype html>\n{whole}\n"


def reading(form: Mapping[str, str], result: Html, lexicon: Lexicon, *, fault: str = "") -> str:
    """The paste box with what was filled in, and the result beside it, or under it where there is little room."""
    say = Words(lexicon)
    body = el(
        "div",
        _entry(form, lexicon, say, fault),
        el(
            "div",
            el(
                "div",
                result or _welcome(say),
                id="result",
                tabindex="-1",
                role="region",
                aria_label=say.say("page.result"),
            ),
        ),
        class_="desk",
    )
    return frame(say.say("page.title"), "read", join(el("p", say.say("page.lead"), class_="lead"), body), say)


def fault_line(words: str) -> Html:
    """What is wrong, said at once to those who hear the page."""
    return el("p", words, class_="fault", role="alert")


def _welcome(say: Words) -> Html:
    """What stands where the result will be: what this is for, and how a purchase goes with it."""
    steps = [el("li", el("b", say.say(f"page.way.{n}.head")), " ", say.say(f"page.way.{n}")) for n in range(1, 6)]
    return join(
        el("h2", say.say("page.way")),
        el("ol", steps, class_="way"),
        el("p", say.say("caution.words"), class_="hint"),
    )


def text_field(name: str, form: Mapping[str, str], say: Words, *, label: str = "", **more: object) -> Html:
    """A labelled box for a word or a number."""
    box = el("input", type="text", id=f"f-{name}", name_=name, value=form.get(name, ""), autocomplete="off", **more)
    return el("div", el("label", say.say(label or f"page.{name}"), for_=f"f-{name}"), box)


def tongues(lexicon: Lexicon, say: Words) -> list[tuple[str, str]]:
    """The languages of a message by the names their readers know them by; the code where no name is known."""
    from sayso.questions import languages

    names = lexicon.phrases
    return [("", say.say("page.language_own")), *((x, names.get(f"language.{x}", x)) for x in languages(lexicon))]


def wordings(say: Words) -> list[tuple[str, str]]:
    """The ways to word a message."""
    return [(w, say.say(f"page.wording.{w}")) for w in ("open", "pointed")]


def _wording(form: Mapping[str, str], lexicon: Lexicon, say: Words, *more: Html) -> Html:
    """What few need, folded away while nothing of it is filled in."""
    limits = [(x, say.say(f"page.limit.{x}")) for x in (LIMITS[1], LIMITS[0], LIMITS[2])]
    return el(
        "details",
        el("summary", say.say("page.more")),
        el(
            "div",
            select("language", tongues(lexicon, say), form, say),
            select("wording", wordings(say), form, say),
            select("limit", limits, form, say),
            more,
            class_="folded-fields",
        ),
        open=any(form.get(name) not in (None, "", "open", LIMITS[1]) for name in FOLDED),
    )


FOLDED = ("language", "wording", "limit", "auction", "bidders", "worth")


def _entry(form: Mapping[str, str], lexicon: Lexicon, say: Words, fault: str) -> Html:
    auction = el(
        "label",
        el("input", type="checkbox", name_="auction", value="yes", checked=form.get("auction") == "yes"),
        " ",
        say.say("page.auction"),
        class_="tick",
    )
    more = _wording(
        form,
        lexicon,
        say,
        auction,
        text_field("bidders", form, say, inputmode="numeric", maxlength="3"),
        area("worth", say.say("page.worth"), form, rows=3, hint=say.say("page.worth_hint")),
    )
    return el(
        "form",
        area("words", say.say("page.words"), form, rows=10, hint=say.say("page.words_hint"), data_drop=True),
        el(
            "div",
            el("label", say.say("page.file"), for_="f-file"),
            el("input", type="file", id="f-file", name_="file", accept=".txt,.html,.htm,.mhtml,text/plain,text/html"),
        ),
        el("div", fault_line(fault) if fault else None, id="fault"),
        el(
            "div",
            text_field("price", form, say, inputmode="decimal"),
            text_field("shipping", form, say, inputmode="decimal"),
            text_field("currency", form, say, maxlength="3", placeholder="GBP"),
            class_="row",
        ),
        el(
            "fieldset",
            el("legend", say.say("page.worth_head")),
            el(
                "div",
                text_field("worth_first", form, say, inputmode="decimal"),
                text_field("worth_later", form, say, inputmode="decimal"),
                class_="row",
            ),
            class_="worths",
        ),
        more,
        el("p", el("button", say.say("page.read"), type="submit"), _save(say)),
        el("p", id="status", role="status", class_="hint"),
        action="/#result",
        method="post",
        enctype="multipart/form-data",
        id="read",
        data_reading=say.say("page.reading"),
        data_updated=say.say("page.updated"),
        data_see=say.say("page.see"),
        data_offline=say.say("page.offline"),
    )


def _save(say: Words, **more: object) -> Html:
    return el("button", say.say("page.save"), type="submit", formaction="/save", class_="second", **more)


def after_message(say: Words) -> Html:
    """Under the message of a listing just read: keep it, as a case or as a file."""
    words = say.say("page.download")
    file = el("button", words, type="submit", formaction="/report", class_="second", form="read")
    return join(
        el("p", _save(say, form="read"), file, class_="go-on"), el("p", say.say("page.save_hint"), class_="hint")
    )


def area(
    name: str,
    label: str,
    form: Mapping[str, str],
    *,
    rows: int,
    hint: str = "",
    lang: str | None = None,
    **more: object,
) -> Html:
    """A labelled box for longer words. A browser drops the first line break in it, so one is put there."""
    return el(
        "div",
        el("label", label, for_=f"f-{name}"),
        el("span", hint, class_="hint", id=f"f-{name}-h") if hint else None,
        el(
            "textarea",
            "\n" + form.get(name, ""),
            id=f"f-{name}",
            name_=name,
            rows=rows,
            dir="auto",
            spellcheck="false",
            aria_describedby=f"f-{name}-h" if hint else None,
            **more,
        ),
    )


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


def wishlist(
    form: Mapping[str, str],
    result: Html,
    lexicon: Lexicon,
    *,
    fault: str = "",
    problems: tuple[str, ...] = (),
    notes: tuple[str, ...] = (),
) -> str:
    """The form for a table, with what was filled in, and its ranking."""
    say = Words(lexicon)
    told = join(
        el("div", el("p", say.say("page.problems")), el("ul", [el("li", p) for p in problems]), class_="fault")
        if problems
        else None,
        el("details", el("summary", say.say("page.columns")), [el("p", n, class_="hint") for n in notes])
        if notes
        else None,
    )
    body = join(
        el("p", say.say("page.wishlist_lead"), class_="lead"),
        fault_line(fault) if fault else None,
        el(
            "form",
            el(
                "div",
                el("label", say.say("page.wishlist_file"), for_="f-table"),
                el("span", say.say("page.wishlist_hint"), class_="hint", id="f-table-h"),
                el(
                    "input",
                    type="file",
                    id="f-table",
                    name_="table",
                    multiple=True,
                    required=True,
                    accept=".csv,.tsv,.jsonl,.txt,.html,.htm,text/csv,text/plain,text/html",
                    aria_describedby="f-table-h",
                ),
                class_="drop",
            ),
            el(
                "div",
                text_field("worth_first", form, say, label="page.list_worth_first", inputmode="decimal"),
                text_field("worth_later", form, say, label="page.list_worth_later", inputmode="decimal"),
                text_field("currency", form, say, label="page.list_currency", maxlength="3", placeholder="GBP"),
                class_="row wide",
            ),
            el("p", say.say("page.list_worth_hint"), class_="hint"),
            _wording(form, lexicon, say),
            el("p", el("button", say.say("page.wishlist_go"), type="submit")),
            el("p", id="status", role="status", class_="hint"),
            action="/wishlist",
            method="post",
            enctype="multipart/form-data",
            id="rank",
            data_reading=say.say("page.list_reading"),
        ),
        el("div", told, result, id="list") if result else told,
    )
    return frame(say.say("page.wishlist"), "wishlist", body, say)


WISHES = ("worth_first", "worth_later", "worth", "currency", "language", "wording", "limit")
"""What the buyer says for all listings of a wishlist."""


def folded(n: int, audit: Audit, *, number: int, form: Mapping[str, str], lexicon: Lexicon) -> Html:
    """What stands in a fold of a wishlist: the way on, and where the audit is put when it is unfolded."""
    say = Words(lexicon)
    address = f"/wishlist/{number}/{n + 1}"
    link = el("p", el("a", say.say("page.list_open"), href=address))
    return join(alone(audit, form, lexicon), el("div", link, class_="later", data_part=f"{address}?part=yes"))


def of_list(audit: Audit, form: Mapping[str, str], back: str, lexicon: Lexicon) -> str:
    """One listing of a wishlist on a page of its own."""
    from sayso.report.html_parts import sections

    say = Words(lexicon)
    way = el("p", el("a", say.say("page.list_back"), href=back), class_="asked-of")
    body = join(way, alone(audit, form, lexicon), sections(audit, lexicon))
    return frame(say.headline(audit.listing), "wishlist", body, say)


def alone(audit: Audit, form: Mapping[str, str], lexicon: Lexicon) -> Html:
    """From one listing of a wishlist onwards: open it by itself, or save it as a case, with the same wishes."""
    say = Words(lexicon)
    listing = audit.listing
    money = {"price": listing.price, "currency": listing.currency or form.get("currency"), "shipping": listing.shipping}
    wishes = {k: form.get(k) for k in WISHES if k != "currency"}
    kept = {"words": listing.text, **money, **wishes, "auction": "yes" if listing.auction else None}
    hidden = [el("input", type="hidden", name_=k, value=v) for k, v in kept.items() if v not in (None, "")]
    buttons = el(
        "p",
        el("button", say.say("page.save"), type="submit", formaction="/save"),
        " ",
        el("button", say.say("page.alone"), type="submit", class_="second"),
    )
    return el("form", hidden, buttons, action="/", method="post", enctype="multipart/form-data", class_="alone")


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
