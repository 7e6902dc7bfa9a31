"""A real headless browser (Debian: chromium, chromium-driver) and the page as `sayso page` serves it."""

from __future__ import annotations

import base64
import importlib.util
import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

SHOTS = Path(os.environ.get("SAYSO_SHOTS") or Path(__file__).parents[2] / ".screenshots")
"""Where what was seen is left for a reviewer to look at."""
FLAGS = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
PATIENCE = 30
"""Seconds to wait for what should come at once: a busy machine must not fail a test."""
AXE = 240
"""Seconds for axe-core, which looks at every element, on the largest page and a busy machine."""
INCHES = {"A4": (8.27, 11.69), "Letter": (8.5, 11.0)}
TAB = {"key": "Tab", "code": "Tab", "windowsVirtualKeyCode": 9}
ENTER = {"key": "Enter", "code": "Enter", "windowsVirtualKeyCode": 13, "text": "\r"}
SPACE = {"key": " ", "code": "Space", "windowsVirtualKeyCode": 32, "text": " "}
DOWN = {"key": "ArrowDown", "code": "ArrowDown", "windowsVirtualKeyCode": 40}


def axe_source() -> str:
    """axe-core (Deque Systems, MPL-2.0) as its package for Python brings it; a version that knows WCAG 2.2."""
    home = importlib.util.find_spec("axe_playwright_python")
    if home is None or home.origin is None:
        pytest.skip("no axe-core here (pip install axe-playwright-python)")
    return next(Path(home.origin).parent.rglob("axe*.js")).read_text(encoding="utf-8")


class Browser:
    """What the tests do with the browser."""

    def __init__(self, driver: Any) -> None:
        self.driver = driver

    # --- how it is looked at ---------------------------------------------------------------------------------------
    def size(self, width: int, height: int = 900, *, zoom: float = 1) -> None:
        """Zoom narrows the viewport in CSS pixels, as a browser's own zoom does."""
        metrics = {"width": int(width / zoom), "height": int(height / zoom), "deviceScaleFactor": zoom, "mobile": False}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)

    def scheme(self, scheme: str) -> None:
        features = [{"name": "prefers-color-scheme", "value": scheme}]
        self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})

    def scripts(self, on: bool) -> None:
        self.driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": not on})

    def shot(self, name: str) -> None:
        SHOTS.mkdir(exist_ok=True, parents=True)
        size = self.driver.execute_cdp_cmd("Page.getLayoutMetrics", {})["cssContentSize"]
        clip = {"x": 0, "y": 0, "width": size["width"], "height": size["height"], "scale": 1}
        data = self.driver.execute_cdp_cmd("Page.captureScreenshot", {"captureBeyondViewport": True, "clip": clip})
        (SHOTS / f"{name}.png").write_bytes(base64.b64decode(data["data"]))

    def print(self, name: str, paper: str) -> list[str]:
        """The words of each printed page; the pages are left as pictures too."""
        pdfium = pytest.importorskip("pypdfium2")
        wide, high = INCHES[paper]
        wish = {"paperWidth": wide, "paperHeight": high, "marginTop": 0.6, "marginBottom": 0.6, "marginLeft": 0.6}
        data = self.driver.execute_cdp_cmd("Page.printToPDF", {**wish, "marginRight": 0.6, "printBackground": False})
        document = pdfium.PdfDocument(base64.b64decode(data["data"]))
        SHOTS.mkdir(exist_ok=True, parents=True)
        words = []
        for n, page in enumerate(document, 1):
            words.append(" ".join(page.get_textpage().get_text_range().split()))
            page.render(scale=1.4).to_pil().save(SHOTS / f"{name}-{paper}-{n}.png")
        return words

    # --- what is done with it --------------------------------------------------------------------------------------
    def key(self, key: dict[str, Any], *, shift: bool = False) -> None:
        """One key, pressed as a user presses it, wherever the focus is."""
        more = {"modifiers": 8} if shift else {}
        self.driver.execute_cdp_cmd("Input.dispatchKeyEvent", {"type": "keyDown", **key, **more})
        self.driver.execute_cdp_cmd("Input.dispatchKeyEvent", {"type": "keyUp", **key, **more})

    def tab_to(self, css: str, most: int = 200) -> None:
        """Move on with the tabulator until the focus is on what `css` names; a test fails that never gets there."""
        for _ in range(most):
            self.key(TAB)
            if self.driver.execute_script("return document.activeElement.matches(arguments[0])", css):
                return
        raise AssertionError(f"{css} is not reached by keyboard")

    def write(self, text: str) -> None:
        """Put text where the focus is, as pasting does: one piece, one input event."""
        self.driver.execute_cdp_cmd("Input.insertText", {"text": text})

    def wait(self, until: Callable[[], Any], patience: float = PATIENCE) -> Any:
        from selenium.common.exceptions import NoSuchElementException, StaleElementReferenceException
        from selenium.webdriver.support.ui import WebDriverWait

        passing = (NoSuchElementException, StaleElementReferenceException)
        return WebDriverWait(self.driver, patience, 0.1, ignored_exceptions=passing).until(lambda _: until())

    def moves(self, act: Callable[[], Any]) -> None:
        """Do what leads to another page, and wait for that page."""
        self.driver.execute_script("window.left = 'not yet'")
        act()
        self.wait(
            lambda: self.driver.execute_script("return window.left !== 'not yet' && document.readyState == 'complete'")
        )

    def press(self, css: str) -> None:
        """Press what leads to another page, and wait for that page."""
        from selenium.webdriver.common.by import By

        self.moves(lambda: self.driver.find_element(By.CSS_SELECTOR, css).click())

    def fill(self, css: str, text: str) -> None:
        from selenium.webdriver.common.by import By

        box = self.driver.find_element(By.CSS_SELECTOR, css)
        self.driver.execute_script("arguments[0].focus(); arguments[0].select()", box)
        self.write(text)

    def text(self, css: str) -> str:
        from selenium.webdriver.common.by import By

        return str(self.driver.find_element(By.CSS_SELECTOR, css).text)

    # --- what is found ---------------------------------------------------------------------------------------------
    def overflows(self) -> bool:
        root = "document.documentElement"
        return bool(self.driver.execute_script(f"return {root}.scrollWidth > {root}.clientWidth"))

    def violations(self, without: str = "") -> list[str]:
        """What axe-core finds against WCAG 2.2 A and AA; `without` leaves out what stands in these elements."""
        # By the debugging protocol, which no page policy concerns. It is started, then asked for: a large page on a
        # busy machine takes longer than one call may.
        self.driver.execute_cdp_cmd("Runtime.evaluate", {"expression": axe_source()})
        tags = '["wcag2a","wcag2aa","wcag21a","wcag21aa","wcag22aa","best-practice"]'
        where = f"{{exclude: [[{json.dumps(without)}]]}}" if without else "document"
        run = f"delete window.found; axe.run({where}, {{runOnly: {{type: 'tag', values: {tags}}}}})"
        run += ".then(r => window.found = r.violations.map("
        run += "v => v.id + ': ' + v.nodes.map(n => n.target + ' ' + n.failureSummary)"
        run += ".slice(0, 3).join(' | ')), e => window.found = ['axe: ' + e]); 0"
        self.driver.execute_cdp_cmd("Runtime.evaluate", {"expression": run})
        return list(self.wait(lambda: self.driver.execute_script("return window.found && [window.found]"), AXE)[0])

    def complaints(self) -> list[str]:
        return [entry["message"] for entry in self.driver.get_log("browser")]

    def other_hosts(self) -> list[str]:
        """Every address the browser asked for that is not this machine's."""
        own = ("http://127.0.0.1:", "file://", "data:", "about:", "chrome:", "blob:")
        found = []
        for entry in self.driver.get_log("performance"):
            message = json.loads(entry["message"])["message"]
            if message["method"] == "Network.requestWillBeSent":
                url = message["params"]["request"]["url"]
                if not url.startswith(own):
                    found.append(url)
        return found

    def quiet(self) -> None:
        """Nothing inaccessible, nothing complained of, nobody else asked."""
        assert self.violations() == []
        assert self.complaints() == []
        assert self.other_hosts() == []


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    webdriver = pytest.importorskip("selenium.webdriver")
    chromium, chromedriver = shutil.which("chromium"), shutil.which("chromedriver")
    if not chromium or not chromedriver:
        pytest.skip("no chromium with chromedriver here")
    options = webdriver.ChromeOptions()
    options.binary_location = chromium
    for flag in (*FLAGS, f"--user-data-dir={tmp_path_factory.mktemp('chromium')}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(chromedriver))
    try:
        yield Browser(driver)
    finally:
        driver.quit()


@pytest.fixture
def fresh(browser: Browser) -> Callable[..., Browser]:
    """The browser, empty and at its usual size and colours."""

    def start(url: str, width: int = 1280, scheme: str = "light", zoom: float = 1) -> Browser:
        browser.scripts(True)
        browser.size(width, zoom=zoom)
        browser.scheme(scheme)
        browser.driver.get_log("browser")
        browser.driver.get_log("performance")
        browser.driver.get(url)
        return browser

    return start


@pytest.fixture(scope="session")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of a running `sayso page`."""
    pytest.importorskip("uvicorn")
    book = tmp_path_factory.mktemp("casebook") / "book.sqlite"
    sandglass = Path(__file__).parents[2] / "examples" / "sandglass.toml"
    command = [sys.executable, "-m", "sayso.cli", "page", "--no-open", "--port", "0", "--casebook", str(book)]
    command += ["--lexicon", str(sandglass)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as server:
        assert server.stdout is not None
        line = server.stdout.readline()
        found = re.search(r"http://127\.0\.0\.1:\d+/", line)
        assert found, line
        try:
            yield found[0]
        finally:
            server.terminate()
