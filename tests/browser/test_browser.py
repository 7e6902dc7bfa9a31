"""The page and the file in a real browser: used, narrowed, darkened, by keyboard, and without a word to anybody else.

Accessibility is judged by axe-core (Deque Systems, MPL-2.0) against WCAG 2.2 A and AA, outside this project.
Screenshots are left in .screenshots/.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest

pytest.importorskip("selenium")
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

from sayso.report.html import audit_html, wishlist_html
from tests.browser.conftest import Browser
from tests.page.sample import HOSTILE, LEXICON, TEXT, hostile_audit, rich_audit

pytestmark = pytest.mark.browser
Fresh = Callable[..., Browser]


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp("report") / "report.html"
    path.write_text(audit_html(rich_audit(), LEXICON), encoding="utf-8")
    return path.as_uri()


def other_hosts(browser: Browser) -> list[str]:
    own = ("http://127.0.0.1:", "file://", "data:", "about:", "chrome:", "blob:")
    found = []
    for entry in browser.driver.get_log("performance"):
        message = json.loads(entry["message"])["message"]
        if message["method"] == "Network.requestWillBeSent":
            url = message["params"]["request"]["url"]
            if not url.startswith(own):
                found.append(url)
    return found


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(("width", "zoom"), [(1280, 1), (320, 1), (1280, 2)])
def test_the_report_fits_any_width_and_passes_axe(
    fresh: Fresh, report: str, scheme: str, width: int, zoom: float
) -> None:
    browser = fresh(report, width, scheme, zoom)
    browser.shot(f"report-{scheme}-{width}-x{zoom}")
    assert not browser.overflows()
    assert browser.violations() == []
    assert browser.complaints() == []
    assert other_hosts(browser) == []


@pytest.mark.parametrize("number", range(len(HOSTILE)))
def test_hostile_words_do_nothing(fresh: Fresh, tmp_path: Path, number: int) -> None:
    path = tmp_path / "hostile.html"
    path.write_text(audit_html(hostile_audit(HOSTILE[number]), LEXICON), encoding="utf-8", errors="replace")
    browser = fresh(path.as_uri())
    assert browser.complaints() == []
    count = "return [document.scripts.length, document.querySelectorAll('style').length, document.images.length]"
    assert browser.driver.execute_script(count) == [1, 1, 0]


def test_a_mark_shows_its_note_by_keyboard_and_escape_closes_it(fresh: Fresh, report: str) -> None:
    browser = fresh(report)
    link = browser.driver.find_element(By.CSS_SELECTOR, ".mark > a")
    tip = browser.driver.find_element(By.CSS_SELECTOR, ".mark .tip")
    assert not tip.is_displayed()
    browser.driver.execute_script("arguments[0].focus()", link)
    assert tip.is_displayed()
    assert link.get_attribute("aria-describedby") == tip.get_attribute("id")
    link.send_keys(Keys.ESCAPE)
    assert not tip.is_displayed()
    link.send_keys(Keys.ENTER)
    WebDriverWait(browser.driver, 5).until(
        lambda d: d.find_element(By.CSS_SELECTOR, ".readings li:target").is_displayed()
    )


def test_a_wishlist_is_sorted_and_narrowed_without_a_script(fresh: Fresh, tmp_path: Path) -> None:
    first = rich_audit()
    cheap = first.listing.model_copy(update={"title": "A cheap one", "price": Decimal(5)})
    second = first.model_copy(update={"conflicts": (), "listing": cheap})
    path = tmp_path / "wishlist.html"
    path.write_text(wishlist_html([first, second], LEXICON), encoding="utf-8")
    browser = fresh(path.as_uri())

    def shown() -> list[str]:
        rows = browser.driver.find_elements(By.CSS_SELECTOR, ".ranking tbody th")
        return [row.text for row in rows if row.is_displayed()]

    assert len(shown()) == 2
    browser.driver.find_element(By.CSS_SELECTOR, ".pick-price").click()
    assert shown()[0] == "A cheap one"
    browser.driver.find_element(By.CSS_SELECTOR, ".pick-clash").click()
    assert len(shown()) == 1
    browser.driver.find_element(By.CSS_SELECTOR, ".pick-all").click()
    browser.shot("wishlist")
    assert browser.violations() == []
    browser.size(320)
    browser.shot("wishlist-320")
    assert not browser.overflows()


def test_paste_edit_and_keep_by_keyboard_alone(fresh: Fresh, page: str) -> None:
    browser = fresh(page)
    driver = browser.driver
    wait = WebDriverWait(driver, 10)
    browser.shot("page-empty")
    assert browser.violations() == []
    for _ in range(12):
        driver.switch_to.active_element.send_keys(Keys.TAB)
        if driver.switch_to.active_element.get_attribute("id") == "f-words":
            break
    box = driver.switch_to.active_element
    assert box.get_attribute("id") == "f-words"
    box.send_keys(TEXT)
    wait.until(lambda d: d.find_elements(By.CSS_SELECTOR, "#result .answer"))
    wait.until(lambda d: "up to date" in d.find_element(By.ID, "status").text)
    before = driver.find_element(By.CSS_SELECTOR, "#result .words").text
    box.send_keys(" One more word.")
    wait.until(lambda d: d.find_element(By.CSS_SELECTOR, "#result .words").text != before)
    assert driver.switch_to.active_element.get_attribute("id") == "f-words", "typing must not lose its place"
    assert driver.find_element(By.CSS_SELECTOR, "#result button.copy").is_displayed()
    browser.shot("page-result")
    assert browser.violations() == []
    assert browser.complaints() == []
    assert other_hosts(browser) == []


def test_the_message_is_copied(fresh: Fresh, page: str) -> None:
    browser = fresh(page)
    driver = browser.driver
    grant = {"permissions": ["clipboardReadWrite", "clipboardSanitizedWrite"], "origin": page.rstrip("/")}
    driver.execute_cdp_cmd("Browser.grantPermissions", grant)
    driver.find_element(By.ID, "f-words").send_keys(TEXT)
    wait = WebDriverWait(driver, 10)
    button = wait.until(lambda d: d.find_element(By.CSS_SELECTOR, "#result button.copy"))
    wait.until(lambda d: "up to date" in d.find_element(By.ID, "status").text)
    button = driver.find_element(By.CSS_SELECTOR, "#result button.copy")
    message = driver.find_element(By.CSS_SELECTOR, "#result pre").get_attribute("textContent")
    button.click()
    wait.until(lambda _: button.text == "Copied")
    got = driver.execute_async_script("const done = arguments[0]; navigator.clipboard.readText().then(done, done)")
    assert got == message


def test_a_wishlist_is_uploaded(fresh: Fresh, page: str, tmp_path: Path) -> None:
    table = tmp_path / "list.csv"
    table.write_text(f'title,description,price\nLow Water Songs,"{TEXT}",GBP 40\nAnother,"A plain reissue.",10\n')
    browser = fresh(f"{page}wishlist")
    browser.driver.find_element(By.ID, "f-table").send_keys(str(table))
    browser.driver.find_element(By.CSS_SELECTOR, "button[type=submit]").click()
    WebDriverWait(browser.driver, 10).until(lambda d: d.find_elements(By.CSS_SELECTOR, ".ranking"))
    browser.shot("page-wishlist")
    assert browser.violations() == []
    assert browser.complaints() == []
