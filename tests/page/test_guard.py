"""What the local page must refuse, and what it sends with every answer."""

from __future__ import annotations

import asyncio
import re
from typing import Any
from urllib.parse import quote

import pytest

pytest.importorskip("starlette")
pytest.importorskip("httpx")
from starlette.testclient import TestClient

from sayso.page import guard
from sayso.page.app import make_app
from tests.page.sample import HOSTILE, LEXICON, TEXT

HOME = "http://127.0.0.1:8123"
SAME = {"origin": HOME}


@pytest.fixture(scope="module")
def client() -> TestClient:
    return TestClient(make_app(LEXICON, 8123), base_url=HOME, raise_server_exceptions=False)


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example:8123", "127.0.0.1:9", "", "[::1]:8123"])
def test_another_host_name_is_refused(client: TestClient, host: str) -> None:
    # DNS rebinding: the Host header names whom the browser believes it talks to (RFC 9110, 7.2; status 421: 15.5.20).
    assert client.get("/", headers={"host": host}).status_code == 421


@pytest.mark.parametrize(
    "origin", [None, "null", "http://evil.example", "https://127.0.0.1:8123", "http://127.0.0.1:9"]
)
def test_a_post_from_elsewhere_is_refused(client: TestClient, origin: str | None) -> None:
    headers = {} if origin is None else {"origin": origin}
    for path in ("/", "/live", "/report", "/save", "/wishlist", "/cases/1/delete", "/cases/1/note"):
        assert client.post(path, data={"words": TEXT}, headers=headers).status_code == 403


@pytest.mark.parametrize("site", ["cross-site", "same-site", "none"])
def test_only_a_post_of_the_same_origin_is_taken(client: TestClient, site: str) -> None:
    # Fetch Metadata Request Headers (W3C): Sec-Fetch-Site. 'same-site' is another port: a page of another program.
    assert client.post("/save", data={"words": TEXT}, headers={**SAME, "sec-fetch-site": site}).status_code == 403


def test_what_takes_too_long_is_stopped() -> None:
    async def dawdling(scope: object, receive: object, send: object) -> None:
        await asyncio.sleep(30)

    async def refuse(scope: Any, receive: Any, send: Any) -> None:
        await send({"type": "http.response.start", "status": said[-1], "headers": []})
        await send({"type": "http.response.body", "body": b""})

    said: list[int] = []

    def refusal(status: int, phrase: str) -> Any:
        said.append(status)
        assert phrase == "page.fault.slow"
        return refuse

    door = guard.Guard(dawdling, port=8123, refuse=refusal, seconds=0.05)
    slow = TestClient(door, base_url=HOME)
    assert slow.get("/").status_code == 503


def test_a_body_that_never_ends_is_stopped() -> None:
    """A client that sends a little and then nothing must not hold the page for ever."""
    sent: list[dict[str, Any]] = []

    async def receive() -> dict[str, Any]:
        if not sent:
            await asyncio.sleep(30)
        return {"type": "http.request", "body": b"x", "more_body": True}

    async def send(message: dict[str, Any]) -> None:
        sent.append(message)

    async def never(scope: object, receive: object, send: object) -> None:
        raise AssertionError("the page must not be reached")

    async def refuse(scope: Any, receive: Any, send: Any) -> None:
        await send({"type": "http.response.start", "status": 503, "headers": []})

    door = guard.Guard(never, port=8123, refuse=lambda status, phrase: refuse, seconds=0.05)
    headers = [(b"host", b"127.0.0.1:8123"), (b"origin", HOME.encode())]
    scope = {"type": "http", "method": "POST", "path": "/live", "headers": headers}
    asyncio.run(door(scope, receive, send))
    assert [m.get("status") for m in sent] == [503]


def test_reading_asks_no_other_machine(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    """With every way out of this machine blocked, the page still reads, ranks and writes its report."""
    import socket

    def shut(*_: object, **__: object) -> None:
        raise AssertionError("the network was asked")

    for name in ("create_connection", "getaddrinfo", "gethostbyname"):
        monkeypatch.setattr(socket, name, shut)
    monkeypatch.setattr(socket.socket, "connect", shut)
    page = (
        b"<html><body><img src='http://127.0.0.1:9/x.png'><link href='http://127.0.0.1:9/x.css'>Original.</body></html>"
    )
    files = {"file": ("x.html", page, "text/html")}
    assert client.post("/live", data={"words": ""}, files=files, headers=SAME).status_code == 200
    assert client.post("/report", data={"words": TEXT}, headers=SAME).status_code == 200


def test_an_oversized_body_is_refused_whatever_its_head_says(client: TestClient) -> None:
    big = b"x" * (guard.MOST_BYTES + 1)
    assert client.post("/live", content=big, headers=SAME).status_code == 413
    parts = (big[i : i + 1_000_000] for i in range(0, len(big), 1_000_000))
    assert client.post("/live", content=parts, headers=SAME).status_code == 413


@pytest.mark.parametrize(
    "path",
    ["/../pyproject.toml", "/%2e%2e/%2e%2e/etc/passwd", "/static/../app.py", "/page.py", "//etc/passwd", "/\x00"],
)
def test_no_address_reaches_a_file(client: TestClient, path: str) -> None:
    answer = client.get(path.replace("\x00", "%00"))
    assert answer.status_code == 404
    assert "root:" not in answer.text


def test_every_answer_carries_the_policy(client: TestClient) -> None:
    for answer in (
        client.get("/"),
        client.get("/nothing"),
        client.get("/", headers={"host": "x"}),
        client.get("/page.css"),
        client.post("/live", data={}, headers=SAME),
    ):
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert answer.headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize("payload", HOSTILE)
def test_hostile_words_stay_words(client: TestClient, payload: str) -> None:
    form = {"words": f"{payload}\n\n{TEXT}".encode("utf-8", "replace").decode(), "currency": "GBP"}
    for path in ("/", "/live", "/report"):
        answer = client.post(path, data=form, headers=SAME)
        assert answer.status_code == 200
        low = answer.text.lower()
        for tag in ("<script>alert", "<img", "<svg onload", "<style>*", "<a href='https"):
            assert tag not in low
        for char in ("\u202e", "\x00", "\x1b"):
            assert char not in answer.text


@pytest.mark.parametrize(
    ("form", "told"),
    [
        ({"words": " "}, "Paste"),
        ({"words": TEXT, "price": "a lot"}, "a lot"),
        ({"words": TEXT, "currency": "pounds"}, "three letters"),
        ({"words": TEXT, "worth": "first", "currency": "GBP"}, "first"),
        ({"words": TEXT, "worth_first": "dear", "currency": "GBP"}, "dear"),
        ({"words": TEXT, "worth_first": "100"}, "Currency"),
    ],
)
def test_a_faulty_form_is_told_in_words_and_keeps_what_was_typed(
    client: TestClient, form: dict[str, str], told: str
) -> None:
    answer = client.post("/", data=form, headers=SAME)
    assert answer.status_code == 422
    assert told in answer.text
    if form["words"].strip():
        assert "Hourglass label" in answer.text


def test_a_wishlist_is_ranked_and_its_file_names_are_not_used(client: TestClient) -> None:
    table = "title,description,price\nA record,Original pressing with deep groove on both sides of the label,20\n"
    files = {"table": ("../../etc/cron.d/x.csv", table.encode(), "text/csv")}
    answer = client.post("/wishlist", files=files, headers=SAME)
    assert answer.status_code == 200
    assert "A record" in answer.text
    assert "cron" not in answer.text


def test_the_words_of_others_are_in_their_own_language(client: TestClient) -> None:
    # WCAG 2.2, 3.1.2 (Language of Parts): a screen reader must know in which language to read a passage.
    page = client.post("/live", data={"words": TEXT, "language": "fr"}, headers=SAME).text
    assert re.search(r'<div class="words" dir="auto" lang="en">', page)
    assert re.search(r'<pre [^>]*lang="fr"', page)


def test_a_long_wishlist_says_what_it_left_out(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    from sayso.page import lists

    monkeypatch.setattr(lists, "MOST_LISTINGS", 2)
    table = "title,description\n" + "A record,Original pressing\n" * 3
    page = client.post("/wishlist", files={"table": ("x.csv", table.encode(), "text/csv")}, headers=SAME).text
    assert "Only the first 2 listings were read" in page


def test_one_worth_alone_is_answered_with_what_is_missing(client: TestClient) -> None:
    form = {"words": TEXT, "worth_first": "300", "currency": "GBP"}
    assert "both are worth" in client.post("/live", data=form, headers=SAME).text
    assert "both are worth" not in client.post("/live", data={**form, "worth_later": "20"}, headers=SAME).text


def test_an_auction_is_told_and_how_many_bid(client: TestClient) -> None:
    form = {"words": TEXT, "price": "20", "currency": "GBP", "worth_first": "300", "worth_later": "20"}
    fixed = client.post("/live", data=form, headers=SAME).text
    auction = client.post("/live", data={**form, "auction": "yes", "bidders": "6"}, headers=SAME).text
    assert auction != fixed
    assert "x-fault" in client.post("/live", data={**form, "bidders": "many"}, headers=SAME).headers


# What must be on the page for each kind of thing a listing might smuggle in, in every place that shows its words.
SMUGGLED = {
    "script": "<script>alert(1)</script>",
    "event handler": "<img src=x onerror=alert(1)>",
    "attribute": '" onmouseover="alert(1)" x="',
    "css": "<style>*{display:none}</style>",
    "svg": "<svg onload=alert(1)><animate onbegin=alert(1)></svg>",
    "link": "<a href='javascript:alert(1)'>Deep groove</a>",
    "data link": "<a href='data:text/html,<script>alert(1)</script>'>x</a>",
    "end of the box": "</textarea><script>alert(1)</script>",
    "comment": "<!--><script>alert(1)</script>-->",
    "bidi": "\u202egnisserp lanigiro\u202c \u2066x\u2069",
    "null": "deep\x00 groove",
    "terminal": "\x1b]0;owned\x07\x1b[2J\x9b31m",
    "template": "{{7*7}} ${7*7} {0.__class__}",
}


def _elements(html: str) -> tuple[set[str], list[tuple[str, str]]]:
    from html.parser import HTMLParser

    tags: set[str] = set()
    attributes: list[tuple[str, str]] = []

    class Seen(HTMLParser):
        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            tags.add(tag)
            attributes.extend((name, value or "") for name, value in attrs)

    Seen().feed(html)
    return tags, attributes


@pytest.mark.parametrize("kind", SMUGGLED)
def test_nothing_smuggled_in_becomes_markup_anywhere(client: TestClient, tmp_path: Any, kind: str) -> None:
    smuggled = SMUGGLED[kind]
    own = TestClient(make_app(LEXICON, 8123, tmp_path / "b.sqlite"), base_url=HOME, headers=SAME)
    words = (
        f"LP {smuggled} mono\n\nOriginal pressing, deep groove {smuggled}, VG+. I was told {smuggled} the edge is flat."
    )
    cell = smuggled.replace('"', "")
    table = f'title,description,seller\n"LP {cell}","Original {cell}","{cell}"\n'
    ranking = own.post("/wishlist", files={"table": (f"{smuggled}.csv", table.encode(), "text/csv")})
    case = own.post("/save", data={"words": words})
    own.post(f"{case.url.path}/note", data={"seen": "1", "note": smuggled})
    pages = [
        own.post("/", data={"words": words, "price": smuggled, "currency": smuggled, "worth": smuggled}),
        own.post("/", data={"words": words}),
        own.post("/live", data={"words": words}),
        own.post("/report", data={"words": words}),
        ranking,
        own.get(f"{ranking.url.path}/1"),
        own.get(f"{ranking.url.path}/1?part=yes"),
        own.get(case.url.path),
        own.get("/cases"),
        own.get("/nothing/" + quote(smuggled)),
    ]
    for page in pages:
        tags, attributes = _elements(page.text)
        assert not tags & {"img", "animate", "iframe", "object", "embed", "base"}, page.url
        assert not [name for name, _ in attributes if name.startswith("on") or name in ("style", "srcdoc")], page.url
        for name, value in attributes:
            if name in ("href", "src", "action", "formaction"):
                assert value.startswith(("#", "/")), (page.url, value)
        assert page.text.count("<script") <= 2
        assert not {"\x00", "\x1b", "\x07", "\x9b", "\u202e", "\u2066"} & set(page.text), page.url
        assert "alert(1)" not in "".join(re.findall(r"<script[^>]*>(.*?)</script>", page.text, re.S))


def test_the_policy_makes_no_exception_for_inline_code(client: TestClient) -> None:
    # Content Security Policy Level 3 (W3C): no 'unsafe-…', no wildcard, no scheme source; frames and bases forbidden.
    parts = client.get("/").headers["content-security-policy"].split("; ")
    policy = {part.split()[0]: part.split()[1:] for part in parts}
    assert policy["default-src"] == ["'none'"]
    assert policy["frame-ancestors"] == policy["base-uri"] == ["'none'"]
    for name in ("script-src", "style-src", "connect-src", "img-src", "form-action"):
        assert policy[name] == ["'self'"]
    page = client.post("/", data={"words": TEXT}, headers=SAME).text
    assert not re.search(r"<script(?![^>]* src=)[^>]*>|<style|\sstyle=|\son\w+=", page)


def test_no_upload_is_written_where_a_name_says(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every file opened while a list is ranked lies in a folder of the program's own, or is one of its data files."""
    import builtins
    import tempfile
    from pathlib import Path

    opened: list[str] = []
    real = Path.open

    def spy(self: Path, *args: Any, **more: Any) -> Any:
        opened.append(str(self))
        return real(self, *args, **more)

    monkeypatch.setattr(Path, "open", spy)
    monkeypatch.setattr(builtins, "open", lambda name, *a, **k: spy(Path(str(name)), *a, **k))
    table = "title,description\nA record,Original pressing\n"
    for name in ("../../../tmp/evil.csv", "/etc/evil.csv", "..\\evil.csv", "a\x00b.csv", ""):
        client.post("/wishlist", files={"table": (name, table.encode(), "text/csv")}, headers=SAME)
    assert not [path for path in opened if "evil" in path]
    assert [path for path in opened if path.startswith(tempfile.gettempdir()) and path.endswith("1.csv")]
    roots = (tempfile.gettempdir(), str(Path(__file__).parents[2]), str(Path(re.__file__).parents[2]))
    assert all(path.startswith(roots) for path in opened if not path.startswith(("/usr", "/proc"))), opened
