"""The README's commands do what they show. `python tests/test_readme.py --write` refreshes the outputs shown."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
README = ROOT / "README.md"
BLOCK = re.compile(r"^```(sh|text)\n(.*?)^```$", re.M | re.S)


def blocks() -> list[tuple[str, str | None]]:
    """(commands, the output shown or None) for each shell block."""
    found = [(m[1], m[2]) for m in BLOCK.finditer(README.read_text(encoding="utf-8"))]
    out: list[tuple[str, str | None]] = []
    for n, (kind, body) in enumerate(found):
        if kind == "sh":
            shown = found[n + 1][1] if n + 1 < len(found) and found[n + 1][0] == "text" else None
            out.append((body, shown))
    return out


def run(commands: str, folder: Path) -> str:
    """What the commands of a block print: `sayso`, and the measuring. Setting up and testing are left to .ci/run."""
    printed = ""
    for line in commands.replace("\\\n", " ").splitlines():
        for command in line.split(" && "):
            words = shlex.split(command, comments=True)
            program = words[0].rpartition("/")[2] if words else ""
            measuring = program == "python" and words[1:3] == ["-m", "tests.evaluation"]
            if program != "sayso" and not measuring:
                continue
            pipe = words.index(">") if ">" in words else len(words)
            done = subprocess.run(
                [sys.executable, *(words[1:pipe] if measuring else ["-m", "sayso.cli", *words[1:pipe]])],
                cwd=ROOT if measuring else folder,
                capture_output=True,
                encoding="utf-8",
                stdin=subprocess.DEVNULL,
                env={**os.environ, "PYTHONUTF8": "1", "XDG_CONFIG_HOME": str(folder / ".config")},
                check=False,
            )
            assert done.returncode == 0, f"{command}: {done.stderr}"
            if pipe < len(words):
                (folder / words[pipe + 1]).write_text(done.stdout, encoding="utf-8")
            else:
                printed += done.stdout
    return printed


def prepared(folder: Path) -> Path:
    """A folder that looks like the checkout to the README's commands."""
    for name in ("examples", "lexicon"):
        (folder / name).symlink_to(ROOT / name)
    return folder


@pytest.mark.parametrize("number", range(len(blocks())))
def test_block(number: int, tmp_path: Path) -> None:
    commands, shown = blocks()[number]
    printed = run(commands, prepared(tmp_path))
    if shown is not None:
        assert printed.rstrip() == shown.rstrip(), "run `python tests/test_readme.py --write`, and read what changed"


def test_the_first_two_blocks_set_up_and_run_and_test() -> None:
    first, second = (commands for commands, _ in blocks()[:2])
    assert "venv" in first
    assert "sayso audit examples/" in first
    assert "venv" in second
    assert "pytest" in second
    assert first.strip().count("\n") == second.strip().count("\n") == 0


def write() -> None:
    import tempfile

    text = README.read_text(encoding="utf-8")
    for commands, shown in blocks():
        if shown is not None:
            with tempfile.TemporaryDirectory() as folder:
                printed = run(commands, prepared(Path(folder)))
            old = f"```sh\n{commands}```"
            at = text.index(old) + len(old)
            text = text[:at] + text[at:].replace(f"```text\n{shown}```", f"```text\n{printed.rstrip()}\n```", 1)
    README.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    write()
