"""Whether a 1 MB paste is audited in linear time and little memory.

Run: python tests/benchmarks/big_pastes.py
Each size runs in a process of its own. Bounds: 1 MB takes at most 2.5 times as long as ten pastes of 100 kB, and an
audit of an ordinary listing stays under 250 MB of peak memory.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

LISTINGS = sorted((Path(__file__).parents[2] / "examples" / "listings").glob("*.txt"))
CODE = """
import resource, sys, time
from sayso.engine import audit_text
from sayso.lexicon import load_lexicon
kind, size, times = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
texts = [open(p, encoding="utf-8").read() for p in sys.argv[4:]]
if kind == "listings":
    whole = "\\n\\n".join(texts)
    text = (whole * (size // len(whole) + 1))[:size]
elif kind == "one line":
    text = ("no deep groove " * (size // 15 + 1))[:size]
else:
    text = ("x" * size)
lexicon = load_lexicon()
audit_text(texts[0], lexicon)
began = time.perf_counter()
for n in range(times):
    audit_text(text, lexicon, max_questions=5)
print(time.perf_counter() - began, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""


def run(kind: str, size: int, times: int) -> tuple[float, float]:
    command = [sys.executable, "-c", CODE, kind, str(size), str(times), *map(str, LISTINGS)]
    out = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    seconds, megabytes = map(float, out.split())
    return seconds, megabytes


def main() -> int:
    bad = False
    for kind in ("listings", "one line", "one word"):
        ten, _ = run(kind, 100_000, 10)
        one, memory = run(kind, 1_000_000, 1)
        print(f"{kind:10} 10 x 100 kB {ten:6.2f} s, 1 x 1 MB {one:6.2f} s, ratio {one / ten:5.2f}, {memory:.0f} MB")
        bad |= one / ten > 2.5
    _, memory = run("listings", 2_000, 1)
    print(f"peak memory of one audit of 2 kB: {memory:.0f} MB (bound 250)")
    return 1 if bad or memory > 250 else 0


if __name__ == "__main__":
    sys.exit(main())
