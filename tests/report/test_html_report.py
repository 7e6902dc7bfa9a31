"""The report as a file: nothing from elsewhere, nothing lost, nothing of a seller's made into markup."""

from __future__ import annotations

from base64 import b64encode
from hashlib import sha256
from html.parser import HTMLParser

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sayso.report.compared import Compared, Copy
from sayso.report.drawing import _lines, _span, draw, faults_by_place, parts, standing
from sayso.report.html import Ranked, audit_html, wishlist_html
from sayso.report.html_build import el, esc
from sayso.report.words import Words
from tests.page.sample import HOSTILE, LEXICON, hostile_audit, rich_audit

ELEMENTS = frozenset(
    {
        "html",
        "head",
        "meta",
        "title",
        "style",
        "body",
        "header",
        "main",
        "nav",
        "section",
        "p",
        "h1",
        "h2",
        "h3",
        "h4",
        "div",
        "span",
        "a",
        "b",
        "q",
        "small",
        "ul",
        "ol",
        "li",
        "dl",
        "dt",
        "dd",
        "figure",
        "figcaption",
        "details",
        "summary",
        "pre",
        "button",
        "table",
        "caption",
        "thead",
        "tbody",
        "tr",
        "th",
        "td",
        "script",
        "fieldset",
        "legend",
        "label",
        "input",
        "svg",
        "desc",
        "defs",
        "pattern",
        "path",
        "circle",
        "rect",
        "g",
        "text",
        "tspan",
        "textpath",
    }
)


class Seen(HTMLParser):
    """The elements, attributes and text that a browser would find."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str]] = []
        self.ids: list[str] = []
        self.text = ""
        self.inside: dict[str, str] = {}
        self._now = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self._now = tag
        self.attributes += [(name, value or "") for name, value in attrs]
        self.ids += [value or "" for name, value in attrs if name == "id"]

    def handle_data(self, data: str) -> None:
        self.text += data
        if self._now in ("style", "script"):
            self.inside[self._now] = self.inside.get(self._now, "") + data

    def handle_endtag(self, tag: str) -> None:
        self._now = ""


@pytest.mark.parametrize("payload", HOSTILE)
def test_words_never_become_markup(payload: str) -> None:
    seen = Seen(audit_html(hostile_audit(payload), LEXICON))
    assert set(seen.tags) <= ELEMENTS
    assert seen.tags.count("script") == seen.tags.count("style") == 1
    for name, value in seen.attributes:
        assert not name.startswith("on")
        assert name not in ("style", "src", "srcdoc", "formaction")
        if name == "href":
            assert value.startswith("#")


@given(st.text(max_size=60))
@settings(max_examples=60, deadline=None)
def test_any_text_is_one_text_node(text: str) -> None:
    page = el("p", text, title=text)
    seen = Seen(page)
    assert seen.tags == ["p"]
    assert len(seen.attributes) == 1
    assert esc(esc(text)) == esc(text)


def test_the_policy_names_the_style_and_the_script_by_their_hashes() -> None:
    # Content Security Policy Level 3 (W3C), 'hash-source': base64 of the SHA-256 of the text between the tags.
    seen = Seen(audit_html(rich_audit(), LEXICON))
    policy = next(value for name, value in seen.attributes if name == "content" and "default-src" in value)
    assert policy.startswith("default-src 'none'")
    assert "unsafe" not in policy
    for tag, text in seen.inside.items():
        assert b64encode(sha256(text.encode()).digest()).decode() in policy, tag


def test_nothing_is_fetched_from_elsewhere() -> None:
    page = audit_html(rich_audit(), LEXICON)
    assert "http://" not in page
    assert "https://" not in page
    assert "@import" not in page


def test_ids_are_unique_and_every_link_leads_somewhere() -> None:
    one = rich_audit()
    seen = Seen(wishlist_html([one, one, one], LEXICON))
    assert len(seen.ids) == len(set(seen.ids))
    known = set(seen.ids)
    for name, value in seen.attributes:
        if name == "href":
            assert value[1:] in known
        if name in ("aria-describedby", "aria-labelledby"):
            assert set(value.split()) <= known


def test_the_page_says_what_the_audit_holds() -> None:
    audit = rich_audit()
    text = " ".join(Seen(audit_html(audit, LEXICON)).text.split())
    assert audit.odds is not None
    wanted = [audit.answer, audit.message, *audit.cautions, *audit.silence]
    wanted += [c.why for c in audit.conflicts] + [b.source for b in audit.dating.bounds]
    wanted += [p.name for p in audit.odds.pressings] + [m.sentence for m in audit.odds.moved_by]
    wanted += ["GBP 120", "GBP 74", "GBP 48", "GBP 55 to GBP 98"]
    for words in wanted:
        assert " ".join(words.split()) in text


def test_every_state_is_a_word_beside_its_sign() -> None:
    text = Seen(audit_html(rich_audit(), LEXICON)).text
    for state in ("stated", "denied", "hedged", "silent"):
        assert Words(LEXICON).state(state) in text


def test_a_part_nobody_speaks_of_is_hatched_and_called_so() -> None:
    audit = rich_audit()
    inner = next(p for p in parts(audit, Words(LEXICON)) if p.zone == "inner")
    assert inner.standing == "silent"
    assert 'fill="url(#r-hatch-p)"' in draw(audit, LEXICON)
    assert standing([f.model_copy(update={"state": "stated"}) for f in audit.findings]) == "said"


def test_the_drawing_keeps_the_published_proportions() -> None:
    # JIS S8502-1973: outside 301 mm, music from 293 mm, closing groove 106.4 mm, label 102 mm on a 12-inch disc.
    page = str(draw(rich_audit(), LEXICON))
    for diameter in (301, 293, 102):
        radius = f"{diameter / 2:.2f}".rstrip("0").rstrip(".")
        assert f"a{radius} {radius} 0 1 0" in page
    assert 'r="53.2"' in page


def test_copies_of_one_record_stand_side_by_side() -> None:
    copies = (Copy("A", 1, "7", "quay", "40 GBP", "Worth a question"), Copy("B", 2, "9", "<b>pier", "", "Not worth it"))
    one = Compared("Low Water Songs", copies, 1, (("pressing plant's mark", ("no kettle", "–")),))
    audit = rich_audit()
    rank = Ranked("ask", "why", "what?", None, "Says the same as list.csv, row 4.", "quay")
    page = wishlist_html([audit, audit], LEXICON, [rank, rank], [one])
    assert "<b>pier" not in page
    assert "no kettle" in page
    assert 'href="#w-a1"' in page
    assert "Says the same as list.csv, row 4." in page
    assert Words(LEXICON).say("review.others", count=1) in page


def test_what_is_inside_a_sealed_copy_is_not_called_unsaid() -> None:
    from sayso.engine import audit_listing
    from sayso.intake import read_text

    listing = read_text("Low Water Songs\n\nStill sealed, barcode on the back.")
    drawn = parts(audit_listing(listing, LEXICON), Words(LEXICON))
    words = {p.zone: p.words for p in drawn}
    assert words["dead wax"] == words["label"] == "cannot be seen while sealed"
    assert words["jacket"] != "cannot be seen while sealed"
    assert {p.zone: p.how(Words(LEXICON)) for p in drawn}["dead wax"] == "cannot be seen while sealed"


@pytest.mark.parametrize(
    ("words", "place"),
    [
        ("seam split at the bottom", "jacket"),
        ("light crackle between the bands", "playing surface"),
        ("name in ink on the back cover", "jacket"),
        ("writing on label", "label"),
        ("a few hairlines", "playing surface"),
        ("Hülle mit Ringabrieb", "jacket"),
    ],
)
def test_a_fault_is_drawn_on_the_part_that_has_it(words: str, place: str) -> None:
    # Common practice, no source: a seam is the jacket's, crackle the disc's.
    from sayso.engine import audit_text

    audit = audit_text(f"Low Water Songs LP\n\n{words}.", LEXICON)
    found = faults_by_place(audit, Words(LEXICON))
    assert list(found) == [place], found
    part = next(p for p in parts(audit, Words(LEXICON)) if p.zone == place)
    assert part.standing != "silent"


@given(
    st.lists(st.text(st.characters(categories=["L", "N"]), min_size=1, max_size=40), max_size=6),
    st.lists(st.floats(4, 30), min_size=1, max_size=7),
)
@settings(max_examples=60, deadline=None)
def test_no_line_of_the_drawing_is_wider_than_its_place(quotes: list[str], rooms: list[float]) -> None:
    lines, whole = _lines(quotes, rooms)
    assert len(lines) <= len(rooms)
    for line, room in zip(lines, rooms, strict=False):
        assert _span(line) <= room + 1e-9
    if whole:
        assert "".join(lines).replace(" ", "") == "".join(quotes).replace(" ", "")


def test_a_listing_without_a_title_is_called_by_its_first_words() -> None:
    audit = rich_audit()
    bare = audit.listing.model_copy(update={"title": "", "text": "*** An old   record\n" + "with many words " * 20})
    name = Words(LEXICON).headline(bare)
    assert name.startswith("An old record with many words")
    assert name.endswith(" …")
    assert len(name) < 100


@pytest.mark.parametrize(
    ("date", "told"),
    [("1974", "1974"), ("1974-06", "June 1974"), ("1974-06-26", "26 June 1974"), ("1974-13", "1974-13"), ("?", "?")],
)
def test_dates_are_written_as_one_writes_them(date: str, told: str) -> None:
    assert Words(LEXICON).date(date) == told


def test_the_seller_is_quoted_in_his_own_language() -> None:
    # WCAG 2.2, 3.1.2 (Language of Parts)
    from sayso.engine import audit_text

    page = audit_html(
        audit_text("Platte\n\nErstpressung, Rille im Etikett, Hülle mit Einriss, wie neu.", LEXICON), LEXICON
    )
    assert '<q dir="auto" lang="de">' in page
