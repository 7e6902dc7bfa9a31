"""The wishlist on the page: what the buyer says for all of it, what is kept of it, and what is refused."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

pytest.importorskip("starlette")
pytest.importorskip("httpx")
from starlette.testclient import TestClient

from sayso.lexicon import load_lexicon
from sayso.page.app import make_app
from sayso.page.lists import MOST_LISTS

EXAMPLES = Path(__file__).parents[2] / "examples"
LEXICON = load_lexicon(user=False)
HOME = "http://127.0.0.1:8123"
TABLE = """title,description,price
Harbour Songs LP,"Original pressing, deep groove on both sides of the label, mono",20
Quay Dances,A plain reissue,5
"""


@pytest.fixture
def client(tmp_path: Path) -> TestClient:
    app = make_app(LEXICON, 8123, tmp_path / "book.sqlite")
    return TestClient(app, base_url=HOME, raise_server_exceptions=False, headers={"origin": HOME})


def ranked(client: TestClient, table: str = TABLE, name: str = "x.csv", **wishes: str) -> tuple[str, str]:
    """The page of a ranking, and its address."""
    answer = client.post("/wishlist", data=wishes, files={"table": (name, table.encode(), "text/csv")})
    return answer.text, answer.url.path


def test_a_ranking_has_an_address_and_each_listing_one_below_it(client: TestClient) -> None:
    page, address = ranked(client)
    assert re.fullmatch(r"/wishlist/\d+", address)
    assert client.get(address).text == page
    one = client.get(f"{address}/1").text
    assert f'href="{address}#w-a0"' in one, "the way back"
    part = client.get(f"{address}/1?part=yes").text
    assert part.startswith("<section")
    assert 'id="w0-record"' in part
    assert 'id="r-record"' in one


def test_a_page_of_many_listings_holds_no_audit_that_nobody_opened(client: TestClient) -> None:
    page, _ = ranked(client)
    assert page.count('<svg class="record"') == page.count('class="record"') == 0
    assert page.count("data-part=") == 2


def test_only_the_last_lists_are_kept(client: TestClient) -> None:
    first = ranked(client)[1]
    for _ in range(MOST_LISTS):
        last = ranked(client)[1]
    assert client.get(last).status_code == 200
    gone = client.get(first)
    assert gone.status_code == 404
    assert "no longer kept" in gone.text


@pytest.mark.parametrize("end", ["0", "99", "x", "1/0", "1/3", "1/-1", "1/1e1", "1/%2e%2e", "\u0661", "9" * 30])
def test_what_is_not_there_is_told_so(client: TestClient, end: str) -> None:
    ranked(client)
    assert client.get(f"/wishlist/{end}").status_code == 404


def test_what_it_is_worth_ranks_the_list(client: TestClient) -> None:
    plain, _ = ranked(client)
    worth, address = ranked(client, worth_first="900", worth_later="15", currency="GBP")
    assert "pay at most" not in plain
    assert "pay at most GBP" in worth
    assert 'value="900"' in worth, "what was filled in stays"
    assert "The most to pay" in client.get(f"{address}/1").text


def test_the_message_is_in_the_language_that_was_asked_for(client: TestClient) -> None:
    _, address = ranked(client, language="fr")
    assert re.search(r'<pre [^>]*lang="fr"', client.get(f"{address}/1").text)


@pytest.mark.parametrize(
    ("wishes", "told"),
    [
        ({"worth_first": "much", "currency": "GBP"}, "much"),
        ({"worth_first": "90"}, "Currency"),
        ({"currency": "pounds"}, "three letters"),
    ],
)
def test_a_faulty_wish_is_told_in_words(client: TestClient, wishes: dict[str, str], told: str) -> None:
    page, address = ranked(client, **wishes)
    assert address == "/wishlist"
    assert told in page


@pytest.mark.parametrize(("table", "told"), [("", "Choose a table"), ("a,b\n1,2\n", "x.csv")])
def test_a_list_that_holds_nothing_is_told_in_words(client: TestClient, table: str, told: str) -> None:
    page, _ = ranked(client, table)
    assert told in page
    assert "Traceback" not in page
    assert "/tmp" not in page


def test_how_the_columns_were_understood_is_told(client: TestClient) -> None:
    page, _ = ranked(client)
    assert "How the table was understood" in page
    assert "“description”" in page


def test_a_table_in_the_box_for_one_listing_is_shown_the_way(client: TestClient) -> None:
    answer = client.post("/live", data={"words": ""}, files={"file": ("my.CSV", TABLE.encode(), "text/csv")})
    assert answer.headers["x-fault"] == "yes"
    assert "Wishlist" in answer.text


def test_the_example_list_is_ranked_with_all_its_rows(client: TestClient) -> None:
    table = (EXAMPLES / "wishlist.csv").read_bytes()
    answer = client.post("/wishlist", files={"table": ("wishlist.csv", table, "text/csv")})
    assert answer.status_code == 200
    assert answer.text.count("data-part=") >= 60
    assert len(answer.text) < 1_000_000
