"""Peak memory and rows a second of `sayso review` over inputs of growing length, and one process against two.

Run: python tests/benchmarks/throughput_memory.py [--rows 10 1000 100000] [--jobs 1 2] [--csv]
Peak memory is that of the largest process of the run (the kernel's account of finished children). Bound: the longest
input within 1.3 times the peak of the shortest, with as many processes.
"""

from __future__ import annotations

import argparse
import csv
import json
import subprocess
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from throughput_listings import listings

CHILD = """
import resource, subprocess, sys, time
began = time.perf_counter()
with open(sys.argv[1], "wb") as out:
    code = subprocess.run([sys.executable, "-m", "sayso.cli", "review", *sys.argv[2:]], stdout=out).returncode
peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
print(code, time.perf_counter() - began, peak)
"""


def write(path: Path, count: int) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        if path.suffix == ".csv":
            writer = csv.DictWriter(file, ["id", "title", "text", "price"])
            writer.writeheader()
            writer.writerows(listings(count))
        else:
            file.writelines(json.dumps(record) + "\n" for record in listings(count))


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rows", type=int, nargs="+", default=[10, 1_000, 10_000])
    parser.add_argument("--jobs", type=int, nargs="+", default=[1, 2])
    parser.add_argument("--csv", action="store_true", help="the input as CSV instead of JSON Lines")
    parser.add_argument("--ranked", action="store_true", help="write the ranking as CSV instead of an audit a line")
    options = parser.parse_args()
    failed = False
    with tempfile.TemporaryDirectory() as folder:
        for jobs in options.jobs:
            first = 0.0
            for count in options.rows:
                source = Path(folder) / f"{count}.{'csv' if options.csv else 'jsonl'}"
                if not source.exists():
                    write(source, count)
                output = ["--csv", "-"] if options.ranked else ["--json"]
                out = Path(folder) / "out"
                command = [sys.executable, "-c", CHILD, str(out), str(source), *output, "--jobs", str(jobs), "--quiet"]
                told = subprocess.run(command, capture_output=True, text=True, check=True).stdout.split()
                code, seconds, peak = int(told[0]), float(told[1]), float(told[2])
                with out.open("rb") as file:
                    lines = sum(1 for _ in file) - options.ranked
                first = first or peak
                failed |= code != 0 or lines < count or peak > 1.3 * first
                print(
                    f"{count:>9,} rows, processes: {jobs}: {seconds:8.1f} s, {count / seconds:7.0f} a second,"
                    f" peak {peak:5.0f} MB ({peak / first:.2f} of the shortest), {lines:,} lines out",
                    flush=True,
                )
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
