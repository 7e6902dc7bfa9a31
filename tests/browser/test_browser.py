"""The page and the file in a real browser: used, narrowed, darkened, printed, by keyboard, without scripts, and without
a word to anybody else.

Accessibility is judged by axe-core (Deque Systems, MPL-2.0) against WCAG 2.2 A and AA, outside this project.
Screenshots are left in .screenshots/ (or where SAYSO_SHOTS says).
"""

from __future__ import annotations

import http.server
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from decimal import Decimal
from pathlib import Path

import pytest

pytest.importorskip("selenium")
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from sayso.report.html import audit_html, wishlist_html
from tests.browser.conftest import ENTER, TAB, Browser
from tests.page.sample import HOSTILE, LEXICON, TEXT, hostile_audit, rich_audit

pytestmark = pytest.mark.browser
Fresh = Callable[..., Browser]
EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp("report") / "report.html"
    path.write_text(audit_html(rich_audit(), LEXICON), encoding="utf-8")
    return path.as_uri()


def wishlist_file(folder: Path) -> str:
    first = rich_audit()
    cheap = first.listing.model_copy(update={"title": "A cheap one", "price": Decimal(5)})
    second = first.model_copy(update={"conflicts": (), "listing": cheap})
    path = folder / "wishlist.html"
    path.write_text(wishlist_html([first, second], LEXICON), encoding="utf-8")
    return path.as_uri()


# --- the report as a file ------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("width", "zoom", "scheme"),
    [(1280, 1, "light"), (768, 1, "light"), (320, 1, "light"), (1280, 2, "light"), (1280, 1, "dark"), (320, 1, "dark")],
)
def test_the_report_fits_any_width_and_passes_axe(
    fresh: Fresh, report: str, scheme: str, width: int, zoom: float
) -> None:
    browser = fresh(report, width, scheme, zoom)
    browser.shot(f"report-{scheme}-{width}-x{zoom}")
    assert not browser.overflows()
    browser.quiet()


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_report_prints_whole(fresh: Fresh, report: str, paper: str) -> None:
    audit = rich_audit()
    pages = fresh(report, scheme="dark").print("print-report", paper)
    assert 2 <= len(pages) <= 6
    whole = " ".join(pages)
    for words in (audit.answer, audit.message.splitlines()[-1], audit.cautions[-1], audit.conflicts[0].why):
        assert words[:60] in whole.replace("\u00a0", " ")
    assert "Copy the message" not in whole, "a button is no use on paper"


def test_colour_is_not_needed(fresh: Fresh, report: str) -> None:
    # Each part of the drawing and each card says in words how it stands; each mark has a sign before it.
    browser = fresh(report)
    browser.driver.execute_cdp_cmd("Emulation.setEmulatedVisionDeficiency", {"type": "achromatopsia"})
    browser.shot("report-without-colour")
    browser.driver.execute_cdp_cmd("Emulation.setEmulatedVisionDeficiency", {"type": "none"})
    cards = browser.driver.find_elements(By.CSS_SELECTOR, ".part-card .how")
    assert cards
    assert all(card.text.strip() for card in cards)
    fills = browser.driver.execute_script(
        "return [...document.querySelectorAll('svg.record .over')].map(e => e.getAttribute('fill'))"
    )
    assert {"none", "url(#r-hatch-p)", "url(#r-dots-v)"} <= set(fills), "patterns, not tints"
    for mark in browser.driver.find_elements(By.CSS_SELECTOR, ".mark > a"):
        assert mark.find_element(By.CSS_SELECTOR, ".sign").text.strip()


def test_the_report_needs_no_script(browser: Browser, report: str) -> None:
    browser.size(1280)
    browser.scheme("light")
    browser.scripts(False)
    try:
        browser.driver.get(report)
        assert browser.text(".answer") == rich_audit().answer
        assert not browser.driver.find_element(By.CSS_SELECTOR, "button.copy").is_displayed()
        fold = browser.driver.find_element(By.CSS_SELECTOR, ".readings > summary")
        fold.click()
        assert browser.driver.find_element(By.CSS_SELECTOR, ".readings li").is_displayed()
    finally:
        browser.scripts(True)


@pytest.mark.parametrize("number", range(len(HOSTILE)))
def test_hostile_words_do_nothing(fresh: Fresh, tmp_path: Path, number: int) -> None:
    path = tmp_path / "hostile.html"
    path.write_text(audit_html(hostile_audit(HOSTILE[number]), LEXICON), encoding="utf-8", errors="replace")
    browser = fresh(path.as_uri())
    assert browser.complaints() == []
    assert browser.other_hosts() == []
    count = "return [document.scripts.length, document.querySelectorAll('style').length, document.images.length]"
    assert browser.driver.execute_script(count) == [1, 1, 0]


def test_a_mark_shows_its_note_by_keyboard_and_escape_closes_it(fresh: Fresh, report: str) -> None:
    browser = fresh(report)
    link = browser.driver.find_element(By.CSS_SELECTOR, ".mark.denied > a")
    tip = browser.driver.find_element(By.CSS_SELECTOR, ".mark.denied .tip")
    assert not tip.is_displayed()
    browser.driver.execute_script("arguments[0].focus()", link)
    assert tip.is_displayed()
    assert link.get_attribute("aria-describedby") == tip.get_attribute("id")
    # feature, state, and why
    assert "the pressing plant's mark: said to be absent" in tip.text
    assert "What decided: ‘No kettle’" in tip.text
    link.send_keys(Keys.ESCAPE)
    assert not tip.is_displayed()
    link.send_keys(Keys.ENTER)
    browser.wait(lambda: browser.driver.find_element(By.CSS_SELECTOR, ".readings li:target").is_displayed())


# --- the wishlist as a file ----------------------------------------------------------------------------------------
def test_a_wishlist_is_sorted_and_narrowed_without_a_script(fresh: Fresh, browser: Browser, tmp_path: Path) -> None:
    address = wishlist_file(tmp_path)
    browser.size(1280)
    browser.scripts(False)
    try:
        browser.driver.get(address)

        def shown() -> list[str]:
            rows = browser.driver.find_elements(By.CSS_SELECTOR, ".ranking tbody th")
            return [row.text for row in rows if row.is_displayed()]

        assert len(shown()) == 2
        browser.driver.find_element(By.CSS_SELECTOR, ".pick-price").click()
        assert shown()[0] == "A cheap one"
        browser.driver.find_element(By.CSS_SELECTOR, ".pick-clash").click()
        assert len(shown()) == 1
        browser.driver.find_element(By.CSS_SELECTOR, ".pick-all").click()
    finally:
        browser.scripts(True)
    fresh(address)
    browser.shot("wishlist")
    browser.quiet()
    browser.driver.find_element(By.CSS_SELECTOR, ".folded summary").click()
    browser.shot("wishlist-unfolded")
    browser.quiet()
    browser.size(320)
    browser.shot("wishlist-320")
    assert not browser.overflows()
    assert "A cheap one" in " ".join(browser.print("print-wishlist", "A4"))


# --- the page ------------------------------------------------------------------------------------------------------
def read(browser: Browser, words: str = TEXT) -> None:
    """Paste, and wait for the result."""
    browser.fill("#f-words", words)
    browser.wait(lambda: browser.driver.find_elements(By.CSS_SELECTOR, "#result .answer"))
    browser.wait(lambda: "up to date" in browser.text("#status"))


def test_paste_and_edit_by_keyboard_alone(fresh: Fresh, page: str) -> None:
    browser = fresh(page)
    browser.shot("page-empty")
    assert browser.violations() == []
    browser.tab_to("#f-words", 12)
    browser.write(TEXT)
    browser.wait(lambda: browser.text("#result .answer"))
    browser.wait(
        lambda: "One more word." not in browser.text("#result .words") and "up to date" in browser.text("#status")
    )
    browser.write(" One more word.")
    browser.wait(lambda: "One more word." in browser.text("#result .words"))
    focus = "return document.activeElement.id"
    assert browser.driver.execute_script(focus) == "f-words", "typing must not lose its place"
    browser.tab_to("#result button.copy", 120)
    browser.shot("page-result")
    browser.quiet()


@pytest.mark.parametrize(("width", "zoom", "scheme"), [(320, 1, "light"), (768, 1, "dark"), (1280, 2, "light")])
def test_the_page_fits_any_width(fresh: Fresh, page: str, width: int, zoom: float, scheme: str) -> None:
    browser = fresh(page, width, scheme, zoom)
    read(browser)
    browser.shot(f"page-result-{scheme}-{width}-x{zoom}")
    assert not browser.overflows()
    browser.quiet()


def test_a_fault_leaves_the_result_in_sight(fresh: Fresh, page: str) -> None:
    browser = fresh(page)
    read(browser)
    answer = browser.text("#result .answer")
    browser.fill("#f-price", "a lot")
    browser.wait(lambda: "a lot" in browser.text("#fault [role=alert]"))
    assert browser.text("#result .answer") == answer
    browser.shot("page-fault")
    browser.quiet()
    browser.fill("#f-price", "40")
    browser.wait(lambda: not browser.driver.find_elements(By.CSS_SELECTOR, "#fault [role=alert]"))
    browser.wait(lambda: "40" in browser.text("#result .sums"))


def test_what_it_is_worth_moves_the_limit(fresh: Fresh, page: str) -> None:
    browser = fresh(page)
    read(browser)
    browser.fill("#f-price", "120")
    browser.fill("#f-worth_first", "400")
    browser.wait(lambda: "Currency" in browser.text("#fault [role=alert]"))
    browser.fill("#f-currency", "GBP")
    browser.fill("#f-worth_later", "20")
    browser.wait(lambda: "The most to pay" in browser.text("#result .sums"))
    before = browser.text("#result .sums")
    browser.fill("#f-worth_later", "90")
    browser.wait(lambda: browser.text("#result .sums") != before)


def test_the_message_is_copied(fresh: Fresh, page: str) -> None:
    browser = fresh(page)
    grant = {"permissions": ["clipboardReadWrite", "clipboardSanitizedWrite"], "origin": page.rstrip("/")}
    browser.driver.execute_cdp_cmd("Browser.grantPermissions", grant)
    read(browser)
    message = browser.driver.find_element(By.CSS_SELECTOR, "#result pre").get_attribute("textContent")
    browser.driver.find_element(By.CSS_SELECTOR, "#result button.copy").click()
    browser.wait(lambda: browser.text("#result button.copy") == "Copied")
    got = browser.driver.execute_async_script(
        "const done = arguments[0]; navigator.clipboard.readText().then(done, done)"
    )
    assert got == message


DROP = """
const box = document.getElementById("f-words"), data = new DataTransfer();
data.items.add(new File([arguments[0]], "listing.txt", { type: "text/plain" }));
box.dispatchEvent(new DragEvent("dragover", { bubbles: true, cancelable: true, dataTransfer: data }));
box.dispatchEvent(new DragEvent("drop", { bubbles: true, cancelable: true, dataTransfer: data }));
"""


def test_a_file_is_chosen_or_dropped(fresh: Fresh, page: str, tmp_path: Path) -> None:
    saved = tmp_path / "saved.html"
    saved.write_text("<html><title>Chosen</title><body><p>Original pressing, deep groove.</p></body></html>")
    browser = fresh(page)
    browser.driver.find_element(By.ID, "f-file").send_keys(str(saved))
    browser.wait(lambda: "deep groove" in browser.text("#result .words"))
    browser.driver.execute_script(DROP, "A dropped listing\n\nVinyl VG+, plays well.")
    browser.wait(lambda: "A dropped listing" in browser.text("#result .words"))
    browser.quiet()


def test_the_page_works_without_scripts(browser: Browser, page: str) -> None:
    browser.size(1280)
    browser.scripts(False)
    try:
        browser.driver.get(page)
        box = browser.driver.find_element(By.ID, "f-words")
        box.send_keys("A record, original pressing, deep groove both sides.")
        browser.driver.find_element(By.CSS_SELECTOR, "#read button").click()
        browser.wait(lambda: "deep groove" in browser.text("#result .words"))
        assert "deep groove" in str(browser.driver.find_element(By.ID, "f-words").get_attribute("value"))
    finally:
        browser.scripts(True)


def test_the_report_is_kept_as_a_file(fresh: Fresh, page: str, tmp_path: Path) -> None:
    browser = fresh(page)
    browser.driver.execute_cdp_cmd("Browser.setDownloadBehavior", {"behavior": "allow", "downloadPath": str(tmp_path)})
    read(browser)
    browser.driver.find_element(By.CSS_SELECTOR, "#result button[formaction='/report']").click()
    kept = tmp_path / "sayso.html"
    browser.wait(kept.exists)
    browser.driver.get(kept.as_uri())
    assert "Staithe Lane" in browser.text(".words")


def test_a_wishlist_is_uploaded(fresh: Fresh, page: str, tmp_path: Path) -> None:
    table = tmp_path / "list.csv"
    table.write_text(f'title,description,price\nLow Water Songs,"{TEXT}",GBP 40\nAnother,"A plain reissue.",10\n')
    browser = fresh(f"{page}wishlist")
    assert browser.violations() == []
    browser.driver.find_element(By.ID, "f-table").send_keys(str(table))
    browser.press("button[type=submit]")
    assert len(browser.driver.find_elements(By.CSS_SELECTOR, ".by-rank tbody tr")) == 2
    browser.shot("page-wishlist")
    browser.quiet()
    browser.size(320)
    browser.shot("page-wishlist-320")
    assert not browser.overflows()
    browser.size(1280)
    # From one of them onwards.
    browser.driver.find_element(By.CSS_SELECTOR, ".folded summary").click()
    browser.press(".folded button[formaction='/save']")
    assert "/cases/" in browser.driver.current_url


DROP_LIST = """
const zone = document.querySelector("#rank .drop"), data = new DataTransfer();
data.items.add(new File([arguments[0]], "wishlist.csv", { type: "text/csv" }));
zone.dispatchEvent(new DragEvent("dragover", { bubbles: true, cancelable: true, dataTransfer: data }));
zone.dispatchEvent(new DragEvent("drop", { bubbles: true, cancelable: true, dataTransfer: data }));
"""


def test_the_example_wishlist_is_dropped_ranked_unfolded_and_compared(fresh: Fresh, page: str) -> None:
    # Some seventy listings: what is not unfolded is not in the page, so that it stays light for any reader.
    browser = fresh(f"{page}wishlist")
    browser.shot("page-wishlist-empty")
    browser.driver.execute_script(DROP_LIST, (EXAMPLES / "wishlist.csv").read_text(encoding="utf-8"))
    browser.fill("#f-worth_first", "180")
    browser.fill("#f-worth_later", "25")
    browser.fill("#f-currency", "GBP")
    browser.press("#rank button")
    address = browser.driver.current_url
    rows = ".by-rank tbody tr"
    assert len(browser.driver.find_elements(By.CSS_SELECTOR, rows)) > 60
    assert "pay at most GBP" in browser.text(rows)
    assert browser.driver.execute_script("return document.querySelectorAll('*').length") < 8_000
    browser.shot("page-wishlist-long")
    browser.quiet()
    # By keyboard: from the first title in the table to its audit, which comes when it is unfolded.
    browser.tab_to(".by-rank tbody a", 40)
    browser.key(ENTER)
    browser.wait(lambda: browser.text(".later .answer"))
    browser.shot("page-wishlist-long-unfolded")
    browser.quiet()
    # Copies of one record side by side.
    assert len(browser.driver.find_elements(By.CSS_SELECTOR, ".copies thead th")) > 2
    browser.size(320)
    browser.shot("page-wishlist-long-320")
    assert not browser.overflows()
    browser.size(1280, zoom=2)
    assert not browser.overflows()
    browser.size(1280)
    # Each listing has a page of its own, and the way back leads to its place.
    browser.driver.get(address.partition("#")[0] + "/2")
    browser.shot("page-wishlist-one")
    browser.quiet()
    browser.press(".asked-of a")
    assert browser.driver.current_url.endswith("#w-a1")


def test_the_file_of_a_long_wishlist_passes_axe(fresh: Fresh, tmp_path: Path) -> None:
    path = tmp_path / "wishlist.html"
    command = [sys.executable, "-m", "sayso.cli", "review", str(EXAMPLES / "wishlist.csv"), "--html", str(path)]
    subprocess.run([*command, "--lexicon", str(EXAMPLES / "sandglass.toml"), "--quiet"], check=True, timeout=300)
    browser = fresh(path.as_uri())
    browser.shot("wishlist-long")
    # Shut folds are neither drawn nor read aloud; axe-core would look at their 25,000 elements all the same.
    shut = ".in-full details:not([open]) > div"
    assert browser.violations(shut) == []
    browser.driver.execute_script("document.querySelector('.in-full details').open = true")
    browser.shot("wishlist-long-unfolded")
    assert browser.violations(shut) == []
    assert browser.complaints() == []
    assert browser.other_hosts() == []
    browser.size(320)
    assert not browser.overflows()


@pytest.mark.parametrize("width", [1280, 900, 320])
def test_no_note_leaves_the_window(fresh: Fresh, report: str, width: int) -> None:
    browser = fresh(report, width)
    for mark in browser.driver.find_elements(By.CSS_SELECTOR, ".mark > a"):
        browser.driver.execute_script("arguments[0].focus()", mark)
        left, right, wide = browser.driver.execute_script(
            "const b = arguments[0].nextElementSibling.getBoundingClientRect();"
            "return [b.left, b.right, document.documentElement.clientWidth]",
            mark,
        )
        assert left >= 0
        assert left < right <= wide
    assert not browser.overflows()
    browser.shot(f"report-note-{width}")


def test_the_languages_are_named_and_change_the_message(fresh: Fresh, page: str) -> None:
    browser = fresh(page)
    read(browser)
    browser.driver.execute_script("document.querySelector('#read details').open = true")
    browser.driver.find_element(By.XPATH, "//select[@id='f-language']/option[starts-with(., 'Deutsch')]").click()
    browser.wait(lambda: browser.text("#result pre").startswith("Guten Tag"))
    browser.shot("page-message-german")
    browser.quiet()


def test_the_skip_link_leads_to_the_result(fresh: Fresh, page: str) -> None:
    browser = fresh(page)
    browser.key(TAB)
    assert browser.driver.execute_script("return document.activeElement.className") == "skip"
    browser.key(ENTER)
    assert browser.driver.execute_script("return document.activeElement.id") == "result"


# --- what other pages may not do -----------------------------------------------------------------------------------
@pytest.fixture
def elsewhere() -> Iterator[Callable[[str], str]]:
    """A page at another origin of this machine, with the markup given."""
    markup = [""]

    class Stranger(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self.send_response(200)
            self.send_header("content-type", "text/html")
            self.end_headers()
            self.wfile.write(markup[0].encode())

        def log_message(self, *_: object) -> None:
            pass

    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Stranger)
    threading.Thread(target=server.serve_forever, daemon=True).start()

    def serve(html: str) -> str:
        markup[0] = html
        return f"http://127.0.0.1:{server.server_address[1]}/"

    yield serve
    server.shutdown()
    server.server_close()


def test_another_page_cannot_post_read_or_frame_this_one(
    fresh: Fresh, page: str, elsewhere: Callable[[str], str]
) -> None:
    form = f'<form action="{page}save" method="post" enctype="multipart/form-data">'
    browser = fresh(
        elsewhere(f"{form}<input name=words value='A record, original pressing'><button>go</button></form>")
    )
    browser.press("button")
    assert "refused" in browser.text(".fault")
    browser = fresh(elsewhere(f"<iframe src='{page}'></iframe>"))
    read_it = "const done = arguments[1]; fetch(arguments[0]).then(r => r.text()).then(done, () => done('refused'))"
    assert browser.driver.execute_async_script(read_it, page) == "refused"
    browser.driver.switch_to.frame(0)
    assert not browser.driver.find_elements(By.ID, "f-words")
    browser.driver.switch_to.default_content()
