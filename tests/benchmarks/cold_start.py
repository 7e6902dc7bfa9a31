"""How long `sayso audit FILE` takes from cold, against importing spaCy and making a blank pipeline.

Run: python tests/benchmarks/cold_start.py [--rounds 10]
The commands run in turn, so that a busy machine slows all; the medians are compared. Bound: 1.35. What the program
keeps of its lexicon between runs is there from the second run on; the first one, with nothing kept, is timed as well.
Compiled modules are used for both, as after any installation.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

LISTING = Path(__file__).parents[2] / "examples" / "listings" / "02-says-all-but-one-thing.txt"
BOUND = 1.35


def timed(command: list[str], keep: str = "yes") -> float:
    env = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    began = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, env={**env, "NO_COLOR": "1", "SAYSO_KEEP": keep})
    return time.perf_counter() - began


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=10)
    rounds = parser.parse_args().rounds
    bare = [sys.executable, "-c", "import spacy; spacy.blank('en')"]
    audit = [sys.executable, "-m", "sayso.cli", "audit", str(LISTING)]
    for command in (bare, audit):
        timed(command)  # compile once
    times = [(timed(bare), timed(audit), timed(audit, "no")) for _ in range(rounds)]
    a, b, c = (statistics.median(t) for t in zip(*times, strict=True))
    print(f"spacy.blank('en')  {a * 1000:7.0f} ms (median of {rounds})")
    print(f"sayso audit        {b * 1000:7.0f} ms")
    print(f"  with nothing kept{c * 1000:7.0f} ms (ratio {c / a:.2f})")
    print(f"ratio              {b / a:7.2f}    (bound {BOUND})")
    return 0 if b / a <= BOUND else 1


if __name__ == "__main__":
    sys.exit(main())
