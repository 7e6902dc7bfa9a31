"""The casebook on the page: what is kept, what is refused, and that hostile words stay words."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path

import pytest

pytest.importorskip("starlette")
pytest.importorskip("httpx")
from starlette.testclient import TestClient

from sayso.casebook import open_casebook
from sayso.lexicon import load_lexicon
from sayso.page.app import make_app
from sayso.report.conversation import arrival_text, reply_text
from tests.page.sample import HOSTILE

EXAMPLES = Path(__file__).parents[2] / "examples"
LEXICON = load_lexicon([EXAMPLES / "sandglass.toml"], user=False)
HOME = "http://127.0.0.1:8123"
SAME = {"origin": HOME}
LISTING = (EXAMPLES / "conversation" / "1-listing.txt").read_text(encoding="utf-8")
REPLY = (EXAMPLES / "conversation" / "2-reply.txt").read_text(encoding="utf-8")
CHANGED = (EXAMPLES / "conversation" / "3-listing-changed.txt").read_text(encoding="utf-8")


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return tmp_path / "book.sqlite"


@pytest.fixture
def client(book: Path) -> TestClient:
    app = make_app(LEXICON, 8123, book)
    return TestClient(app, base_url=HOME, raise_server_exceptions=False, follow_redirects=False, headers=SAME)


def saved(client: TestClient, words: str = LISTING, **more: str) -> str:
    answer = client.post("/save", data={"words": words, **more})
    assert answer.status_code == 303
    return str(answer.headers["location"]).partition("?")[0]


def seen(client: TestClient, case: str) -> str:
    found = re.search(r'name="seen" value="(\d+)"', client.get(case).text)
    assert found
    return found[1]


def do(client: TestClient, case: str, what: str, **form: str) -> str:
    answer = client.post(f"{case}/{what}", data={"seen": seen(client, case), **form})
    assert answer.status_code == 303, answer.text
    return str(answer.headers["location"])


def shown(html: str) -> str:
    """The words of a page, as they are read."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


def test_looking_begins_no_casebook(client: TestClient, book: Path) -> None:
    assert "No case yet" in client.get("/cases").text
    assert client.get("/cases/1").status_code == 404
    assert not book.exists()
    client.post("/live", data={"words": LISTING})
    client.post("/", data={"words": LISTING})
    assert not book.exists(), "nothing is kept unless it is saved"


def test_a_purchase_is_kept_step_by_step(client: TestClient, book: Path) -> None:
    case = saved(client)
    assert do(client, case, "sent") == case
    reply = do(client, case, "reply", reply=REPLY)
    assert reply == f"{case}/3"
    do(client, case, "decide", do="bought", paid="95", why="fair")
    do(client, case, "note", note="ask for a stiff box")
    assert do(client, case, "update", words=CHANGED) == f"{case}/6"
    arrived = do(client, case, "arrive", **{"result:parcel.packing": "as described", **wrong(client, case)})
    assert arrived == f"{case}/7"
    with open_casebook(book) as held:
        kinds = [e.kind for e in held.load_case(1).events]
    assert kinds == ["listing", "questions", "reply", "decision", "note", "listing", "arrival"]
    for place in range(1, 8):
        assert client.get(f"{case}/{place}").status_code == 200
    assert client.get(f"{case}/8").status_code == 404
    assert client.get("/cases").text.count(f'href="{case}"') == 1


def wrong(client: TestClient, case: str) -> dict[str, str]:
    names = re.findall(r'name="result:(label\.[a-z_]+)"', client.get(f"{case}/arrive").text)
    return {f"result:{names[0]}": "not as described", f"seen:{names[0]}": "another label"}


def test_the_page_says_of_a_reply_what_the_terminal_says(client: TestClient, book: Path) -> None:
    case = saved(client)
    do(client, case, "sent")
    words = shown(client.get(do(client, case, "reply", reply=REPLY)).text)
    from sayso.replies.nouns import Reply

    with open_casebook(book) as held:
        event = held.load_case(1).of("reply")[0]
    terminal = reply_text(Reply.model_validate(event.body["reply"]), LEXICON)
    sentence = re.split(r"\n-+\n", terminal)[0].split("\n")[0]
    assert sentence in words
    for heading in re.findall(r"^(.+)\n-{5,}$", terminal, re.M):
        if heading not in (LEXICON.phrases["reply.head.next"], LEXICON.phrases["reply.head.optional"]):
            assert heading in words
    for line in re.findall(r"^[+~!-] \d+\. (.+)$", terminal, re.M):
        assert line in words


def test_the_page_says_of_an_arrival_what_the_terminal_says(client: TestClient, book: Path) -> None:
    from sayso.casebook.arrival import Arrival

    case = saved(client)
    words = shown(client.get(do(client, case, "arrive", **wrong(client, case))).text)
    with open_casebook(book) as held:
        body = held.load_case(1).of("arrival")[0].body
    terminal = arrival_text(Arrival.model_validate(body), LEXICON)
    assert terminal.split("\n")[0] in words
    assert LEXICON.phrases["arrive.caution"] in words
    assert " ".join(body["message"].split()) in words


def test_a_form_sent_twice_is_kept_once(client: TestClient, book: Path) -> None:
    case = saved(client)
    form = {"seen": seen(client, case)}
    assert client.post(f"{case}/sent", data=form).status_code == 303
    again = client.post(f"{case}/sent", data=form)
    assert again.status_code == 422
    assert "Nothing was kept" in again.text
    with open_casebook(book) as held:
        assert len(held.load_case(1).of("questions")) == 1


def test_contacts_are_masked_before_anything_is_kept(client: TestClient, book: Path) -> None:
    case = saved(client, LISTING + "\nWrite to ned@orfleet.example or ring 020 7946 0018.")
    do(client, case, "reply", reply="Yes, both sides. Mail ned@orfleet.example")
    do(client, case, "note", note="his mail is ned@orfleet.example")
    assert b"ned@orfleet" not in book.read_bytes()
    for address in (case, f"{case}/1", f"{case}/2"):
        assert "ned@orfleet" not in client.get(address).text


@pytest.mark.parametrize(
    ("what", "form", "told"),
    [
        ("reply", {"reply": "  "}, "Paste the seller"),
        ("note", {"note": ""}, "Write the note"),
        ("decide", {"do": "steal"}, "Choose one"),
        ("decide", {"do": "bought", "paid": "a lot"}, "a lot"),
        ("update", {"words": ""}, "Paste"),
        ("delete", {}, "Nothing was deleted"),
        ("arrive", {"seen:label.design": "typed by hand"}, "Nothing is checked"),
        ("arrive", {"result:label.design": "as described", "pressing": "no such"}, "Choose one of the pressings"),
    ],
)
def test_what_is_not_taken_is_told_in_words(
    client: TestClient, book: Path, what: str, form: dict[str, str], told: str
) -> None:
    case = saved(client)
    answer = client.post(f"{case}/{what}", data={"seen": seen(client, case), **form})
    assert answer.status_code == 422
    assert told in answer.text
    assert all(v in answer.text for k, v in form.items() if k.startswith("seen:"))
    with open_casebook(book) as held:
        assert len(held.load_case(1).events) == 1


def test_a_case_is_deleted_only_when_that_is_meant(client: TestClient, book: Path) -> None:
    case = saved(client)
    assert do(client, case, "delete", sure="yes") == "/cases"
    assert client.get(case).status_code == 404


@pytest.mark.parametrize("origin", ["null", "http://evil.example", "http://127.0.0.1:9"])
def test_nothing_is_kept_for_another_site(client: TestClient, book: Path, origin: str) -> None:
    case = saved(client)
    form = {"seen": seen(client, case), "reply": "x", "sure": "yes", "note": "x", "do": "pass", "words": LISTING}
    for what in ("sent", "reply", "update", "note", "decide", "arrive", "delete"):
        assert client.post(f"{case}/{what}", data=form, headers={"origin": origin}).status_code == 403
    assert client.post("/save", data=form, headers={"origin": origin}).status_code == 403
    with open_casebook(book) as held:
        assert [len(c.events) for c in held.load_all()] == [1]


def test_a_link_alone_changes_nothing(client: TestClient, book: Path) -> None:
    case = saved(client)
    for what in ("sent", "reply", "delete", "note"):
        assert client.get(f"{case}/{what}?sure=yes&seen=1").status_code == 404
    assert client.get("/save").status_code in (404, 405)
    with open_casebook(book) as held:
        assert len(held.load_case(1).events) == 1


@pytest.mark.parametrize("number", ["0", "3", "-1", "1e3", "٣", "9" * 15, "9" * 5000, "x", "1%00", "%2e%2e%2f1"])
def test_an_address_that_is_no_case_is_told(client: TestClient, number: str) -> None:
    saved(client)
    for address in (f"/cases/{number}", f"/cases/{number}/arrive", f"/cases/{number}/1", f"/cases/1/{number}"):
        answer = client.get(address)
        assert answer.status_code == 404
        assert "no such page or case" in answer.text


@pytest.mark.parametrize("payload", HOSTILE)
def test_hostile_words_stay_words_in_a_case(client: TestClient, payload: str) -> None:
    payload = payload.encode("utf-8", "replace").decode()
    case = saved(client, f"{payload}\n\nOriginal pressing {payload} deep groove both sides. {LISTING}")
    do(client, case, "sent")
    do(client, case, "reply", reply=f"> {payload}\nYes. {payload} deep groove on one side only. {payload}")
    do(client, case, "note", note=payload)
    do(client, case, "decide", do="pass", why=payload)
    do(client, case, "update", words=f"{payload}\n\nReissue {payload}. {LISTING}")
    names = re.findall(r'name="result:([a-z_.]+)"', client.get(f"{case}/arrive").text)
    found = {f"result:{n}": "not as described" for n in names} | {f"seen:{n}": payload for n in names}
    do(client, case, "arrive", **found)
    pages = [case, f"{case}/arrive", "/cases", *(f"{case}/{n}" for n in range(1, 8))]
    for address in pages:
        answer = client.get(address)
        assert answer.status_code == 200
        low = answer.text.lower()
        for tag in ("<script>alert", "<img", "<svg onload", "<style>*", "<a href='https", 'href="javascript'):
            assert tag not in low
        for char in ("\u202e", "\x00", "\x1b"):
            assert char not in answer.text


def test_a_casebook_that_cannot_be_read_is_told_in_words(client: TestClient, book: Path) -> None:
    book.write_bytes(b"this is no database" * 100)
    assert client.get("/cases").status_code == 503
    assert client.get("/cases/1").status_code == 503
    answer = client.post("/save", data={"words": LISTING})
    assert answer.status_code == 422
    assert "Low Water Songs" in answer.text, "what was typed is not lost"


def test_a_case_is_shown_although_its_dossier_is_not_at_hand(client: TestClient, book: Path) -> None:
    case = saved(client)
    bare = TestClient(make_app(load_lexicon(user=False), 8123, book), base_url=HOME, headers=SAME)
    assert bare.get(case).status_code == 200


def test_language_and_wording_go_along(client: TestClient, book: Path) -> None:
    answer = client.post("/save", data={"words": LISTING, "language": "de", "wording": "pointed"})
    assert answer.headers["location"] == "/cases/1?language=de&wording=pointed"
    message = client.get(answer.headers["location"]).text
    assert message != client.get("/cases/1").text
    client.post("/cases/1/sent", data={"seen": "1", "language": "de", "wording": "pointed"})
    with open_casebook(book) as held:
        sent = held.load_case(1).of("questions")[0].body
    assert sent["language"] == "de"
    assert shown(sent["message"]) in shown(message), "what is kept is what was shown"


def test_a_listing_of_a_wishlist_becomes_a_case(client: TestClient, book: Path) -> None:
    table = "title,description,price\nA record,Original pressing with deep groove on both sides of the label,GBP 20\n"
    page = client.post("/wishlist", files={"table": ("x.csv", table.encode(), "text/csv")}, follow_redirects=True).text
    hidden = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', page))
    hidden = {k: unescape(v) for k, v in hidden.items()}
    assert hidden["price"] == "20"
    case = saved(client, **hidden)
    assert "A record" in client.get(case).text
