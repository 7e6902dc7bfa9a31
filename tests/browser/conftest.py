"""A real headless browser (Debian: chromium, chromium-driver) and the page as `sayso page` serves it."""

from __future__ import annotations

import base64
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

SHOTS = Path(__file__).parents[2] / ".screenshots"
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


class Browser:
    """What the tests do with the browser."""

    def __init__(self, driver: Any) -> None:
        self.driver = driver

    def size(self, width: int, height: int = 900, *, zoom: float = 1) -> None:
        """Zoom narrows the viewport in CSS pixels, as a browser's own zoom does."""
        metrics = {"width": int(width / zoom), "height": int(height / zoom), "deviceScaleFactor": zoom, "mobile": False}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)

    def scheme(self, scheme: str) -> None:
        features = [{"name": "prefers-color-scheme", "value": scheme}]
        self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})

    def shot(self, name: str) -> None:
        SHOTS.mkdir(exist_ok=True)
        root = "document.documentElement"
        wide, high = self.driver.execute_script(f"return [{root}.clientWidth, {root}.scrollHeight]")
        clip = {"x": 0, "y": 0, "width": wide, "height": high, "scale": 1}
        data = self.driver.execute_cdp_cmd("Page.captureScreenshot", {"captureBeyondViewport": True, "clip": clip})
        (SHOTS / f"{name}.png").write_bytes(base64.b64decode(data["data"]))

    def overflows(self) -> bool:
        root = "document.documentElement"
        return bool(self.driver.execute_script(f"return {root}.scrollWidth > {root}.clientWidth"))

    def violations(self) -> list[str]:
        """What axe-core finds against WCAG 2.2 A and AA."""
        axe = pytest.importorskip("axe_core_python")
        source = next(Path(axe.__file__).parent.rglob("axe*.js")).read_text(encoding="utf-8")
        # By the debugging protocol, which no page policy concerns.
        self.driver.execute_cdp_cmd("Runtime.evaluate", {"expression": source})
        tags = '["wcag2a","wcag2aa","wcag21a","wcag21aa","wcag22aa","best-practice"]'
        run = f"axe.run({{runOnly: {{type: 'tag', values: {tags}}}}}).then(r => JSON.stringify(r.violations.map("
        run += "v => v.id + ': ' + v.nodes.map(n => n.target + ' ' + n.failureSummary).slice(0, 3).join(' | '))))"
        wanted = {"expression": run, "awaitPromise": True, "returnByValue": True}
        result = self.driver.execute_cdp_cmd("Runtime.evaluate", wanted)
        import json

        return list(json.loads(result["result"]["value"]))

    def complaints(self) -> list[str]:
        return [entry["message"] for entry in self.driver.get_log("browser")]


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
    command = [sys.executable, "-m", "sayso.cli", "page", "--no-open", "--casebook", str(book)]
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
