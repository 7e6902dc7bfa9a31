"""`sayso arrive` answered at a terminal (a real one, by the standard library's pty): slips cost no answer."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

pty = pytest.importorskip("pty")
ROOT = Path(__file__).resolve().parents[2]


def test_a_slip_is_asked_again_and_nothing_is_lost(tmp_path: Path) -> None:
    env = {**os.environ, "SAYSO_CASEBOOK": str(tmp_path / "my.sqlite3"), "XDG_CONFIG_HOME": str(tmp_path)}
    sayso = [sys.executable, "-m", "sayso.cli"]
    more = ["--lexicon", str(ROOT / "examples" / "sandglass.toml")]
    listing = str(ROOT / "examples" / "conversation" / "1-listing.txt")
    subprocess.run([*sayso, "audit", listing, "--save", *more], env=env, check=True, capture_output=True)
    ours, theirs = pty.openpty()
    with subprocess.Popen([*sayso, "arrive", "1", *more], stdin=theirs, stdout=-1, stderr=-1, env=env) as child:
        os.close(theirs)
        # One answer is no answer, one names no pressing.
        os.write(ours, b"perhaps\ny\nn: a corner crushed\n" + b"y\n" * 10 + b"none of these\nfirst\n")
        out, err = child.communicate(timeout=120)
    os.close(ours)
    assert child.returncode == 0, err.decode()
    assert "a corner crushed" in out.decode()
    assert "Not as described in 1 of 12" in out.decode()
    assert err.decode().count("Which pressing is it") == 2
