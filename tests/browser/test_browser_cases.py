"""One purchase in a real browser, from the paste to the parcel: save, ask, reply, checklist, outcome.

Listing and reply are those of examples/conversation (invented). Accessibility is judged by axe-core against WCAG 2.2
A and AA.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

pytest.importorskip("selenium")
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import WebDriverWait

from tests.browser.conftest import Browser
from tests.browser.test_browser import other_hosts

pytestmark = pytest.mark.browser
Fresh = Callable[..., Browser]
EXAMPLES = Path(__file__).parents[2] / "examples" / "conversation"


def fill(browser: Browser, css: str, text: str) -> None:
    box = browser.driver.find_element(By.CSS_SELECTOR, css)
    browser.driver.execute_script("arguments[0].value = arguments[1]", box, text)


def press(browser: Browser, css: str) -> None:
    """Press a button that leads to another page, and wait for that page."""
    old = browser.driver.find_element(By.TAG_NAME, "html")
    browser.driver.find_element(By.CSS_SELECTOR, css).click()

    def moved(driver: object) -> bool:
        new = browser.driver.find_elements(By.TAG_NAME, "html")
        return bool(new) and new[0] != old

    WebDriverWait(browser.driver, 15).until(moved)


def sound(browser: Browser, name: str) -> None:
    """Looked at wide, narrow and dark: nothing cut off, nothing inaccessible, nothing complained of."""
    browser.shot(f"case-{name}")
    assert browser.violations() == []
    browser.size(320)
    browser.shot(f"case-{name}-320")
    assert not browser.overflows()
    browser.size(1280)
    browser.scheme("dark")
    browser.shot(f"case-{name}-dark")
    assert browser.violations() == []
    browser.scheme("light")
    assert browser.complaints() == []
    assert other_hosts(browser) == []


def test_a_purchase_from_paste_to_parcel(fresh: Fresh, page: str) -> None:
    browser = fresh(page)
    driver = browser.driver
    fill(browser, "#f-words", (EXAMPLES / "1-listing.txt").read_text(encoding="utf-8"))
    press(browser, "button[formaction='/save']")
    case = driver.current_url
    assert "/cases/" in case
    assert "not asked yet" in driver.find_element(By.CSS_SELECTOR, ".asked-of").text
    message = driver.find_element(By.CSS_SELECTOR, "#r-text").text
    sound(browser, "1-saved")

    press(browser, "form[action$='/sent'] button")
    assert "waiting for the reply" in driver.find_element(By.CSS_SELECTOR, ".asked-of").text
    sound(browser, "2-sent")

    fill(browser, "#f-reply", (EXAMPLES / "2-reply.txt").read_text(encoding="utf-8"))
    press(browser, "#reply button")
    assert "questions answered" in driver.find_element(By.CSS_SELECTOR, ".answer").text
    assert [h.text for h in driver.find_elements(By.CSS_SELECTOR, ".turns thead th")][1:3] == ["Before", "Now"]
    sound(browser, "3-reply")

    browser.driver.get(case)
    links = [a.get_attribute("href") for a in driver.find_elements(By.CSS_SELECTOR, ".story a")]
    assert links == [f"{case}/{n}" for n in (1, 2, 3)]
    sound(browser, "4-after")
    driver.get(links[1])
    assert driver.find_element(By.CSS_SELECTOR, ".letter pre").text == message

    driver.get(case)
    driver.execute_script("document.querySelector('.k-update').open = true")
    fill(browser, ".k-update textarea", (EXAMPLES / "3-listing-changed.txt").read_text(encoding="utf-8"))
    press(browser, ".k-update button")
    assert driver.find_element(By.ID, "c-changed").text == "What the seller says differently now"
    sound(browser, "5-changed")

    driver.get(f"{case}/arrive")
    sound(browser, "6-checklist")
    first = driver.find_element(By.CSS_SELECTOR, "input[name^='result:label'][value='not as described']")
    first.click()
    driver.find_element(By.CSS_SELECTOR, "input[name^='result:jacket'][value='as described']").click()
    driver.find_element(By.CSS_SELECTOR, "input[name^='seen:label']").send_keys("no such thing on side two")
    press(browser, "#arrive button")
    assert "Not as described in 1 of 2 points" in driver.find_element(By.CSS_SELECTOR, ".answer").text
    assert "no such thing on side two" in driver.find_element(By.CSS_SELECTOR, ".letter pre").text
    sound(browser, "7-arrived")

    driver.get(f"{page}cases")
    assert driver.find_element(By.CSS_SELECTOR, ".cases a").get_attribute("href") == case
    sound(browser, "8-list")
