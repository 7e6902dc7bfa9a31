"""One purchase in a real browser, from the paste to the parcel: save, ask, reply, decide, checklist, outcome.

Listing and reply are those of examples/conversation (invented). Accessibility is judged by axe-core against WCAG 2.2
A and AA.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

pytest.importorskip("selenium")
from selenium.webdriver.common.by import By

from tests.browser.conftest import DOWN, ENTER, SPACE, Browser

pytestmark = pytest.mark.browser
Fresh = Callable[..., Browser]
EXAMPLES = Path(__file__).parents[2] / "examples" / "conversation"


def words(name: str) -> str:
    return (EXAMPLES / name).read_text(encoding="utf-8")


def sound(browser: Browser, name: str) -> None:
    """Looked at wide, narrow, enlarged and dark: nothing cut off, nothing inaccessible, nothing complained of."""
    browser.shot(f"case-{name}")
    browser.quiet()
    browser.size(320)
    browser.shot(f"case-{name}-320")
    assert not browser.overflows()
    browser.size(1280, zoom=2)
    browser.shot(f"case-{name}-zoomed")
    assert not browser.overflows()
    browser.size(1280)
    browser.scheme("dark")
    browser.shot(f"case-{name}-dark")
    browser.quiet()
    browser.scheme("light")


def test_a_purchase_from_paste_to_parcel(fresh: Fresh, page: str) -> None:
    browser = fresh(page)
    driver = browser.driver
    browser.fill("#f-words", words("1-listing.txt"))
    browser.press("#read button[formaction='/save']")
    case = driver.current_url
    assert "/cases/" in case
    assert "not asked yet" in browser.text(".asked-of")
    message = browser.text("#r-text")
    sound(browser, "1-saved")

    browser.press("form[action$='/sent'] button")
    assert "waiting for the reply" in browser.text(".asked-of")
    # While a reply is awaited no second message stands in the way: it is there, folded away.
    other = driver.find_element(By.CSS_SELECTOR, ".k-more #r-text")
    assert not other.is_displayed()
    sound(browser, "2-sent")

    browser.fill("#f-reply", words("2-reply.txt"))
    browser.press("#reply button")
    assert "questions answered" in browser.text(".answer")
    assert [h.text for h in driver.find_elements(By.CSS_SELECTOR, ".turns thead th")] == [
        "About",
        "Before",
        "Now",
        "Change",
    ]
    gap = "const b = document.querySelector('.go-on a').getBoundingClientRect(), w = [...document.querySelectorAll("
    gap += "'.words')].at(-1).getBoundingClientRect(); return b.top - w.bottom"
    assert driver.execute_script(gap) >= 12, "the button stands clear of the box above it"
    sound(browser, "3-reply")
    assert "What the reply changes" in " ".join(browser.print("print-case-reply", "A4"))

    driver.get(case)
    links = [a.get_attribute("href") for a in driver.find_elements(By.CSS_SELECTOR, ".story a")]
    assert links == [f"{case}/{n}" for n in (1, 2, 3)]
    sound(browser, "4-after")
    driver.get(links[1])
    assert browser.text(".letter pre") == message

    driver.get(case)
    driver.execute_script("document.querySelector('.k-update').open = true")
    browser.fill(".k-update textarea", words("3-listing-changed.txt"))
    browser.press(".k-update button")
    assert "says differently now" in browser.text("#c-changed")
    sound(browser, "5-changed")

    driver.get(case)
    driver.find_element(By.CSS_SELECTOR, "#f-do option[value='bought']").click()
    browser.fill("#f-paid", "95")
    browser.press("form[action$='/decide'] button")
    assert "bought, on its way" in browser.text(".asked-of")
    sound(browser, "6-bought")
    printed = " ".join(browser.print("print-case", "Letter"))
    assert "What happened so far" in printed
    assert "Keep something else" not in printed, "what can be pressed is no use on paper"

    browser.press(".s-next a.button")
    sound(browser, "7-checklist")
    printed = " ".join(browser.print("print-checklist", "A4"))
    for told in ("Paper label", "Hourglass", "not as described", "What you see"):
        assert told in printed, "the checklist can be gone through on paper"
    seen = driver.find_element(By.CSS_SELECTOR, "input[name='seen:label.design']")
    assert not seen.is_displayed(), "what is seen is asked of what was looked at"
    driver.find_element(By.CSS_SELECTOR, "input[name='result:label.design'][value='not as described']").click()
    driver.find_element(By.CSS_SELECTOR, "input[name^='result:jacket'][value='as described']").click()
    seen.send_keys("no such thing on side two")
    taken_back = driver.find_element(By.CSS_SELECTOR, ".k-fallen")
    assert taken_back.get_attribute("open") is None
    assert "original" in str(taken_back.get_attribute("textContent"))
    browser.press("#arrive > p button")
    assert "Not as described in 1 of 2 points" in browser.text(".answer")
    assert "no such thing on side two" in browser.text(".letter pre")
    sound(browser, "8-arrived")

    driver.get(f"{page}cases")
    assert case in [a.get_attribute("href") for a in driver.find_elements(By.CSS_SELECTOR, ".cases a")]
    sound(browser, "9-list")


def test_a_purchase_by_keyboard_alone(fresh: Fresh, page: str) -> None:
    browser = fresh(page)
    browser.tab_to("#f-words")
    browser.write(words("1-listing.txt"))
    browser.tab_to("#read button[formaction='/save']")
    browser.moves(lambda: browser.key(ENTER))
    case = browser.driver.current_url
    browser.tab_to("button.copy")
    browser.tab_to("form[action$='/sent'] button")
    browser.moves(lambda: browser.key(SPACE))
    browser.tab_to("#f-reply")
    browser.write(words("2-reply.txt"))
    browser.tab_to("#reply button")
    browser.moves(lambda: browser.key(ENTER))
    browser.tab_to(".go-on a")
    browser.moves(lambda: browser.key(ENTER))
    assert browser.driver.current_url == case
    browser.tab_to("#f-do")
    browser.key(DOWN)  # from 'I want to buy it' to 'I have bought it'
    browser.tab_to("form[action$='/decide'] button")
    browser.moves(lambda: browser.key(ENTER))
    assert "bought" in browser.text(".asked-of")
    browser.tab_to(".k-note summary")
    browser.key(ENTER)
    browser.tab_to("#f-note")
    browser.write("ask for a stiff box")
    browser.tab_to(".k-note button")
    browser.moves(lambda: browser.key(ENTER))
    assert "stiff box" in browser.text(".story")
    browser.tab_to(".s-next a.button")
    browser.moves(lambda: browser.key(ENTER))
    browser.tab_to("input[name='result:label.design']")
    browser.key(DOWN)
    browser.tab_to("input[name='seen:label.design']", 1)
    browser.write("as he wrote")
    browser.tab_to("#arrive > p button")
    browser.moves(lambda: browser.key(ENTER))
    assert "As described in everything you checked (1 of" in browser.text(".answer")
    browser.quiet()
