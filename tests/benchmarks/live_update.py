"""How long the page takes to follow an edit: from the keystroke to the new result, in a real headless browser.

Run: python -m tests.benchmarks.live_update [times]. The aim is under 150 ms for a
usual listing. Prints the median and the slowest of all edits for each listing of examples/.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median
from typing import Any

EXAMPLES = Path(__file__).parents[2] / "examples"
EDIT = """
const [word, done] = [arguments[0], arguments[1]];
const box = document.getElementById("f-words"), result = document.getElementById("result");
const seen = new MutationObserver(() => {
  if (!result.querySelector(".words")?.textContent.includes(word)) return;
  seen.disconnect();
  result.getBoundingClientRect();  // laid out, not only replaced
  done(performance.now() - began);
});
seen.observe(result, { childList: true });
box.value += word;
const began = performance.now();
box.dispatchEvent(new InputEvent("input", { bubbles: true }));
"""


def main(times: int) -> None:
    from selenium import webdriver

    chromium, chromedriver = shutil.which("chromium"), shutil.which("chromedriver")
    if not chromium or not chromedriver:
        sys.exit("needs chromium and chromedriver")
    options = webdriver.ChromeOptions()
    options.binary_location = chromium
    for flag in ("--headless=new", "--no-sandbox", "--disable-gpu"):
        options.add_argument(flag)
    with tempfile.TemporaryDirectory() as folder:
        command = [sys.executable, "-m", "sayso.cli", "page", "--no-open", "--port", "0"]
        command += ["--casebook", f"{folder}/book.sqlite", "--lexicon", str(EXAMPLES / "sandglass.toml")]
        server = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
        driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(chromedriver))
        try:
            assert server.stdout is not None
            found = re.search(r"http://\S+/", server.stdout.readline())
            assert found
            driver.set_script_timeout(60)
            slow = [time_one(driver, found[0], path, times) for path in sorted((EXAMPLES / "listings").glob("*.txt"))]
            print(f"slowest median: {max(slow):.0f} ms")
        finally:
            driver.quit()
            server.terminate()


def time_one(driver: Any, address: str, path: Path, times: int) -> float:
    driver.get(address)
    words = path.read_text(encoding="utf-8")
    driver.execute_script("document.getElementById('f-words').value = arguments[0]", words)
    took = []
    for n in range(times + 1):
        took.append(float(driver.execute_async_script(EDIT, f" word{n}x")))
        time.sleep(0.05)
    # The first edit also reads the whole paste for the first time.
    print(f"{path.name:40} {len(words):5} characters: median {median(took[1:]):4.0f} ms, most {max(took[1:]):4.0f} ms")
    return median(took[1:])


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 15)
