"""Pages and fragments: the words a reader sees, in blocks, and nothing else. Every listing here is invented."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sayso.intake import IntakeError, read_any, read_html
from tests.intake.test_intake_text import kinds, tiled

FRAGMENT = """<h1>Wanda Pell &ndash; Low Tide</h1>
<table><tr><th>Label</th><td>blue, <b>no</b> groove</td></tr><tr><td>Edge:</td><td>flat<br>thick</td></tr></table>
<dl><dt>Disc</dt><dd>VG+</dd><dt>Cover</dt><dd>VG</dd><dd>split</dd></dl>
<p>Plays well.<br>No skips.</p><ul><li>one</li><li>two</li></ul>"""


def test_blocks_rows_and_definitions_keep_their_lines() -> None:
    listing = read_html(FRAGMENT)
    assert listing.title == "Wanda Pell – Low Tide"
    assert listing.text == (
        "Wanda Pell – Low Tide\n\nLabel: blue, no groove\nEdge: flat; thick\n\nDisc: VG+\nCover: VG; split\n\n"
        "Plays well.\nNo skips.\n\none\ntwo"
    )
    assert [k for k, _ in kinds(listing)] == ["title", "specifics", "description"]
    tiled(listing)


@pytest.mark.parametrize(
    "hidden",
    [
        "<div hidden>SECRET original</div>",
        "<div style='display: none'>SECRET original</div>",
        "<span style='VISIBILITY:hidden'>SECRET original</span>",
        "<p style='font-size:0'>SECRET original</p>",
        "<div aria-hidden='true'>SECRET original</div>",
        "<style>.k{display:none}</style><div class='a k'>SECRET original</div>",
        "<style>@media screen{#z, b.y {visibility:hidden}}</style><b class='x y'>SECRET original</b>",
        "<style>.o .i{display:none!important}</style><div class=o><p><i class=i>SECRET original</i></p></div>",
        "<!-- SECRET original here -->",
        "<s>SECRET original</s>",
        "<del>SECRET original</del>",
        "<span style='text-decoration:line-through'>SECRET original</span>",
        "<script>var x = 'SECRET original'</script>",
        "<noscript>SECRET original</noscript>",
        "<template><p>SECRET original</p></template>",
        '<script type="application/ld+json">{"@type":"Product","name":"x","description":"SECRET original"}</script>',
        "<select><option>SECRET original</option></select>",
        "<input type=hidden value='SECRET original'>",
        "<img alt='SECRET original'>",
    ],
)
def test_what_a_reader_cannot_see_is_left_out(hidden: str) -> None:
    listing = read_html(f"<p>Plays well.</p>{hidden}<p>Cover VG.</p>", title="Low Tide")
    assert "SECRET" not in listing.text
    assert "Plays well." in listing.text
    assert "Cover VG." in listing.text


@pytest.mark.parametrize(
    "shown",
    [
        "<style>@media print{p{display:none}}</style>",
        "<style>p:hover{display:none}</style>",
        "<style>p{display:none} p{display:block}</style>",
        "<style>body{opacity:0}</style>",
        "<style>div > p{display:none}</style>",
        "<p hidden='until-found'></p>",
    ],
)
def test_what_a_reader_may_see_stays(shown: str) -> None:
    assert "Plays well." in read_html(f"{shown}<p>Plays well.</p>", title="Low Tide").text


def test_what_was_left_out_is_said() -> None:
    notes = " ".join(read_html("<p>VG<s>EX</s></p><!-- maybe a repro --><p hidden>first press</p>", title="x").notes)
    assert "“EX”" in notes
    assert "maybe a repro" in notes
    assert "first press" in notes


def test_a_whole_page_gives_its_listing_not_its_menus() -> None:
    page = """<!doctype html><html><head><title>Shop | Low Tide</title><meta charset=utf-8></head><body>
    <header><a href=/>Home</a></header><nav>All originals guaranteed</nav>
    <main><h1>Low Tide</h1><p>A later issue with a clean cover and a quiet disc.</p></main>
    <aside>Others: first pressing of High Tide</aside><footer>Shop</footer></body></html>"""
    listing = read_any(page)
    assert listing.text == "Low Tide\n\nA later issue with a clean cover and a quiet disc."


def test_a_table_with_heads_names_every_cell() -> None:
    html = """<table><tr><th>Side</th><th>Matrix</th><th>Mark</th></tr><tr><td>1</td><td>PX-1A</td><td>wheel</td></tr>
    <tr><td>2</td><td>PX-1B</td><td>none</td></tr></table>"""
    text = read_html(html, title="x").text
    assert "Side: 1 | Matrix: PX-1A | Mark: wheel\nSide: 2 | Matrix: PX-1B | Mark: none" in text


def test_a_layout_table_is_not_read_as_keys_and_values() -> None:
    prose = "Plays well. " * 60
    text = read_html(f"<table><tr><td>Photo</td><td><p>{prose}</p><p>Cover VG.</p></td></tr></table>", title="x").text
    assert "Photo:" not in text
    assert "\n\nCover VG." in text


def test_words_set_apart_only_by_style_do_not_run_together() -> None:
    assert "Speed 33" in read_html("<div><span>Speed</span><span>33</span></div>", title="x").text
    assert "original" in read_html("<p>or<b>ig</b>inal</p>", title="x").text


def test_an_ordered_list_keeps_its_numbers() -> None:
    assert "1. Harbour\n2. Sea" in read_html("<ol><li>Harbour<li>Sea</ol>", title="x").text


def test_a_page_without_words_is_refused() -> None:
    with pytest.raises(IntakeError, match="paste"):
        read_html("<html><body><script>1</script></body></html>")


def test_a_page_saved_as_a_web_archive() -> None:
    # The layout of RFC 2557, section 9: a multipart/related message whose first part is the page.
    archive = (
        "From: <Saved by a browser>\r\nSubject: =?utf-8?Q?Low=20Tide?=\r\nMIME-Version: 1.0\r\n"
        'Content-Type: multipart/related;\r\n\ttype="text/html";\r\n\tboundary="x1"\r\n\r\n'
        "--x1\r\nContent-Type: text/html\r\nContent-Transfer-Encoding: quoted-printable\r\n\r\n"
        '<html><body><h1>Low Tide</h1><p class=3D"a">Plays =\r\nwell, caf=C3=A9 copy.</p></body></html>\r\n'
        "--x1\r\nContent-Type: image/png\r\nContent-Transfer-Encoding: base64\r\n\r\niVBOR\r\n--x1--\r\n"
    )
    assert read_any(archive.encode(), "page.mhtml").text == "Low Tide\n\nPlays well, café copy."


PIECES = st.sampled_from(
    [
        "<p>",
        "</p>",
        "<div hidden>",
        "</div>",
        "<table>",
        "<tr>",
        "<td>",
        "</td>",
        "<th>x</th>",
        "</tr>",
        "</table>",
        "<dl>",
        "<dt>",
        "<dd>",
        "<br>",
        "<br/>",
        "<li>",
        "<ol>",
        "<s>",
        "</s>",
        "<script>",
        "</script>",
        "<style>p{display:none}",
        "</style>",
        "<!--",
        "-->",
        "<!x",
        "<![CDATA[",
        "]]>",
        "<?",
        "&amp;",
        "&#xD800;",
        "&#0;",
        "&nbsp",
        "&quot;",
        "<pre>",
        "</pre>",
        "<h1>",
        "</h1>",
        "<body>",
        "<html>",
        "<a href=",
        "'",
        '"',
        ">",
        "<",
        "=",
        "<svg>",
        "<template>",
        "<select>",
        "<b",
        "<textarea>",
    ]
)


@settings(max_examples=300, deadline=None)
@given(st.lists(st.one_of(PIECES, st.text(max_size=12)), max_size=40).map("".join))
def test_any_markup_is_read_alike_twice_or_refused(html: str) -> None:
    try:
        first = read_html(html)
    except IntakeError as error:
        first = None
        told = str(error)
    if first is None:
        assert "\n" not in told
        return
    assert first == read_html(html)
    tiled(first)
    first.model_dump_json()


@pytest.mark.parametrize(
    "unit",
    [
        "<div>x",
        "<p>x</p>",
        "<b><i>x",
        "<table><tr><td>a</td><td>b",
        "<li>",
        "</div>",
        "<dl><dt>a<dd>b",
        "<ol><li>a",
        "x<",
        "&#x",
        "<a b='",
        "<!--",
        "<style>a{",
        "<s>x",
    ],
)
def test_deep_and_broken_markup_is_read_or_refused(unit: str) -> None:
    with suppress(IntakeError):
        tiled(read_html("<p>word</p>" + unit * 8_000))


def test_a_few_marked_up_words_do_not_run_the_sellers_lines_together() -> None:
    listing = read_any("Low Water Songs LP\n\nLabel: <b>deep groove</b>\nCover: seam split &amp; ring wear\n")
    assert listing.title == "Low Water Songs LP"
    assert "Label: deep groove\nCover: seam split & ring wear" in listing.text
    blocks = read_any("<p>Low Water\nSongs LP</p><p>Label: deep\ngroove</p>")
    assert "Low Water Songs LP" in blocks.text, "in markup with blocks a line end is a space"
