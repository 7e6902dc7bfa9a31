"""Peak memory and rows a second of `sayso review` over inputs of growing length, and one process against two.

Run: python tests/benchmarks/throughput_memory.py [--rows 10 1000 100000] [--jobs 1 2] [--csv] [--short]
     python tests/benchmarks/throughput_memory.py --two-against-one 3 [--rows 4000]
     python tests/benchmarks/throughput_memory.py --keep FOLDER --rows 1000000 --size 40 --jobs 2
Two figures of memory, looked at five times a second (Linux only): the largest single process of the run, and all of its
processes together, with what they share counted once (proportional set size). Bound: the longest input within 1.3
times the shortest by the largest process; few rows are audited in one process, so their sums differ by design.
`--two-against-one` runs one process and two in turn, so often, and prints the median of each.
"""

from __future__ import annotations

import argparse
import csv
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from throughput_listings import listings

SHORT = 150
"""Characters of a short listing: a line of a dealer's catalogue."""


def write(path: Path, count: int, size: int) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        if path.suffix == ".csv":
            writer = csv.DictWriter(file, ["id", "title", "text", "price"])
            writer.writeheader()
            writer.writerows(listings(count, size=size))
        else:
            file.writelines(json.dumps(record) + "\n" for record in listings(count, size=size))


def family(root: int) -> list[int]:
    """The process and all below it."""
    above: dict[int, int] = {}
    for entry in Path("/proc").glob("[0-9]*"):
        try:
            above[int(entry.name)] = int((entry / "stat").read_text().rpartition(")")[2].split()[1])
        except (OSError, ValueError):
            continue
    found = [root]
    for pid in found:
        found += [p for p, parent in above.items() if parent == pid]
    return found


def memory(pids: list[int]) -> tuple[float, float]:
    """(largest resident set, sum of proportional sets), in MB."""
    largest = total = 0.0
    for pid in pids:
        try:
            rollup = Path(f"/proc/{pid}/smaps_rollup").read_text()
        except OSError:
            continue
        sizes = {line.split()[0]: int(line.split()[1]) for line in rollup.splitlines()[1:] if line.endswith("kB")}
        largest = max(largest, sizes.get("Rss:", 0) / 1024)
        total += sizes.get("Pss:", 0) / 1024
    return largest, total


def run(source: Path, arguments: list[str], out: Path) -> tuple[int, float, float, float]:
    """(exit code, seconds, MB of the largest process, MB of all together)."""
    began = time.perf_counter()
    with out.open("wb") as file:
        process = subprocess.Popen([sys.executable, "-m", "sayso.cli", "review", str(source), *arguments], stdout=file)
        largest = together = 0.0
        while process.poll() is None:
            one, all_ = memory(family(process.pid))
            largest, together = max(largest, one), max(together, all_)
            time.sleep(0.2)
    return process.returncode, time.perf_counter() - began, largest, together


def two_against_one(times: int, count: int, size: int, folder: Path) -> int:
    source = folder / "in.csv"
    write(source, count, size)
    rates: dict[int, list[float]] = {1: [], 2: []}
    for _ in range(times):
        for jobs, found in rates.items():
            code, seconds, *_ = run(source, ["--json", "--quiet", "--jobs", str(jobs)], folder / "out")
            if code:
                print(f"failed with exit code {code}")
                return 1
            found.append(count / seconds)
    one, two = (statistics.median(rates[jobs]) for jobs in (1, 2))
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else 0.0
    print(f"{count:,} rows, {times} times in turn, load of the machine {load:.1f} at the end; medians, whole commands")
    for jobs, found in rates.items():
        print(f"  {jobs} process{'es' * (jobs > 1):<2} {statistics.median(found):7.0f} rows a second  {sorted(found)}")
    print(f"  two over one: {two / one:.2f}")
    return 0 if two >= 1.8 * one else 1


def kept(folder: Path, count: int, size: int, jobs: int) -> int:
    """One long run from CSV to JSON Lines with `--resume`: what is in `folder` already is not done again."""
    folder.mkdir(parents=True, exist_ok=True)
    source, out, notes = folder / f"{count}.csv", folder / "out.jsonl", folder / "runs.jsonl"
    if not source.exists():
        write(source, count, size)
    with source.open(encoding="utf-8", newline="") as file:
        first = [len(r["title"]) + len(r["text"]) for _, r in zip(range(1000), csv.DictReader(file), strict=False)]
    before = done(out)
    arguments = ["--out", str(out), "--resume", "--quiet", "--jobs", str(jobs)]
    code, seconds, largest, together = run(source, arguments, folder / "said")
    after = done(out)
    with notes.open("a", encoding="utf-8") as file:
        note = {"from": before, "to": after, "seconds": seconds, "largest": largest, "together": together, "code": code}
        file.write(json.dumps(note) + "\n")
    runs = [json.loads(line) for line in notes.read_text(encoding="utf-8").splitlines()]
    spent = sum(r["seconds"] for r in runs)
    print(
        f"{after:,} of {count:,} rows of {statistics.mean(first):.0f} characters in {spent:,.0f} s, {len(runs)} runs "
        f"with {jobs} processes, {after / spent:.0f} rows a second; largest process "
        f"{max(r['largest'] for r in runs):.0f} MB, together {max(r['together'] for r in runs):.0f} MB",
        flush=True,
    )
    return 0 if after == count else 1


def done(out: Path) -> int:
    """Rows that an earlier run finished, by its own mark; lines where it took the mark away because it finished all."""
    mark = out.with_name(out.name + ".progress")
    if mark.exists():
        return int(json.loads(mark.read_text(encoding="utf-8"))["rows"])
    if not out.exists():
        return 0
    with out.open("rb") as file:
        return sum(1 for _ in file)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rows", type=int, nargs="+", default=[10, 1_000, 10_000])
    parser.add_argument("--jobs", type=int, nargs="+", default=[1, 2])
    parser.add_argument("--csv", action="store_true", help="the input as CSV instead of JSON Lines")
    parser.add_argument("--short", action="store_true", help=f"listings of some {SHORT} characters instead of 1,200")
    parser.add_argument("--size", type=int, help="characters of a listing, at least, whatever the other options say")
    parser.add_argument("--keep", type=Path, help="one run that can be interrupted and taken up again, kept in here")
    parser.add_argument("--ranked", action="store_true", help="write the ranking as CSV instead of an audit a line")
    parser.add_argument("--two-against-one", type=int, metavar="TIMES", help="only compare one process with two")
    options = parser.parse_args()
    size = options.size or (SHORT if options.short else 1_060)
    if options.keep:
        return kept(options.keep, options.rows[-1], size, options.jobs[-1])
    failed = False
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        if options.two_against_one:
            return two_against_one(options.two_against_one, options.rows[-1], size, folder)
        for jobs in options.jobs:
            first = 0.0
            for count in options.rows:
                source = folder / f"{count}.{'csv' if options.csv else 'jsonl'}"
                if not source.exists():
                    write(source, count, size)
                output = ["--csv", "-"] if options.ranked else ["--json"]
                code, seconds, largest, together = run(
                    source, [*output, "--quiet", "--jobs", str(jobs)], folder / "out"
                )
                with (folder / "out").open("rb") as file:
                    lines = sum(1 for _ in file)
                first = first or largest
                failed |= bool(code) or lines < count or largest > 1.3 * first
                print(
                    f"{jobs} process{'es' * (jobs > 1)}: {count:>9,} rows, {lines:>9,} lines, {seconds:8.1f} s"
                    f"{f' (ended with {code})' if code else ''}, "
                    f"{lines / seconds:6.0f} rows a second; largest process "
                    f"{largest:4.0f} MB ({largest / first:.2f} of the shortest input), together {together:4.0f} MB",
                    flush=True,
                )
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
