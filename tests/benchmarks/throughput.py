"""Listings a second on one core, first pass over texts never seen: this program beside the tools that come nearest.

Run: python tests/benchmarks/throughput.py [--texts 200] [--rounds 5] [--environments FOLDER] [--without medspacy]

Each tool has a process of its own and gets new texts in each round, in turn, so that a busy machine slows all alike and
no cache helps anybody; only its work is timed, not its start. All get the same terms (those of the lexicon). A toolkit
that is not installed here is installed into an environment made for it, which is thrown away afterwards (or kept in
`--environments`): medspaCy asks for an older spaCy than this project does, so pip cannot put both into one. That needs
the network, once.

- spaCy: blank English, tokenizer + sentencizer + PhraseMatcher. The claims stage should reach half of its rate, the
  whole audit a third; neither is reached yet (see 'Speed' in DEVELOPERS.md).
- negspaCy: the same and negation of each term (polarity alone).
- medspaCy: target matcher and ConText on spaCy's own tokenizer, not its sentence splitter, which would flatter us. The
  audit should be three times as fast.
"""

from __future__ import annotations

import argparse
import importlib.util
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from throughput_listings import listings

from sayso.intake import read_record
from sayso.lexicon import Lexicon, load_lexicon
from sayso.model import Listing

Run = Callable[[list[Listing]], float]
WORKER = Path(__file__).with_name("throughput_worker.py")
TOOLKITS = {
    "negspacy": ("negspaCy (polarity alone)", "negspacy>=1.0.4"),
    "medspacy": ("medspaCy + ConText", "medspacy"),
}


def terms(lexicon: Lexicon) -> list[str]:
    return sorted({form for term in lexicon.terms for form in term.forms})


class Worker:
    """A toolkit in its own process."""

    def __init__(self, python: str, name: str, forms: list[str]) -> None:
        clean = {k: v for k, v in os.environ.items() if k != "PYTHONPATH"}
        pipe = subprocess.PIPE
        self._process = subprocess.Popen(
            [python, str(WORKER), name], stdin=pipe, stdout=pipe, stderr=subprocess.DEVNULL, text=True, env=clean
        )
        self.version = str(self._ask(forms))

    def _ask(self, what: list[str]) -> object:
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write(json.dumps(what) + "\n")
        self._process.stdin.flush()
        line = self._process.stdout.readline()
        if not line:
            raise RuntimeError(f"the process ended with {self._process.wait()}")
        return json.loads(line)

    def __call__(self, texts: list[Listing]) -> float:
        return float(str(self._ask([t.text for t in texts])))

    def close(self) -> None:
        self._process.kill()
        self._process.wait()


def timed(work: Callable[[Listing], object]) -> Run:
    def run(texts: list[Listing]) -> float:
        began = time.perf_counter()
        for text in texts:
            work(text)
        return time.perf_counter() - began

    return run


def python_with(name: str, package: str, folder: Path) -> str:
    """A Python that has the toolkit: this one, or that of an environment made for it. Raises `RuntimeError`."""
    if importlib.util.find_spec(name) is not None:
        return sys.executable
    home = folder / name
    python = home / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    if not python.exists():
        print(f"installing {package} into an environment of its own …", file=sys.stderr, flush=True)
        subprocess.run([sys.executable, "-m", "venv", str(home)], check=True)
        done = subprocess.run(
            [str(python), "-m", "pip", "install", "-q", "--disable-pip-version-check", package],
            capture_output=True,
            text=True,
            check=False,
        )
        if done.returncode:
            python.unlink()
            raise RuntimeError((done.stderr.strip().splitlines() or ["pip failed"])[-1])
    return str(python)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--texts", type=int, default=200)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--environments", type=Path, help="keep the environments of the toolkits here")
    parser.add_argument("--without", action="append", choices=list(TOOLKITS), default=[])
    parser.add_argument("--lexicon", type=Path, action="append", default=[])
    options = parser.parse_args()
    from sayso.claims import read_claims
    from sayso.engine import audit_listing

    lexicon = load_lexicon(options.lexicon)
    forms = terms(lexicon)
    spacy_name = "spaCy tokenizer + sentencizer + PhraseMatcher"
    with tempfile.TemporaryDirectory(prefix="sayso-bench-") as scratch:
        folder = options.environments or Path(scratch)
        workers = {spacy_name: Worker(sys.executable, "bare", forms)}
        for name, (title, package) in TOOLKITS.items():
            if name in options.without:
                continue
            try:
                workers[title] = Worker(python_with(name, package, folder), name, forms)
            except (RuntimeError, OSError, subprocess.CalledProcessError) as error:
                print(f"left out: {title} ({error})", file=sys.stderr)
        runs: dict[str, Run] = {
            **workers,
            "sayso, claims stage": timed(lambda t: read_claims(t, lexicon)),
            "sayso, whole audit": timed(lambda t: audit_listing(t, lexicon)),
        }
        try:
            rates = measure(runs, options.texts, options.rounds)
        finally:
            for worker in workers.values():
                worker.close()
    size = statistics.mean(len(r["title"]) + len(r["text"]) for r in listings(50))
    print(
        f"{len(forms):,} terms; texts of {size:,.0f} characters; {options.rounds} rounds of {options.texts} new texts "
        "each, in turn; medians"
    )
    middle = {name: statistics.median(found) for name, found in rates.items()}
    audit = middle["sayso, whole audit"]
    for name, found in rates.items():
        rate = middle[name]
        version = f"spaCy {workers[name].version}" if name in workers else ""
        print(
            f"  {name:<46}{version:<13}{rate:7.0f} a second {rate / middle[spacy_name]:7.2f} of spaCy; "
            f"the audit is {audit / rate:5.2f} times as fast   ({min(found):.0f} to {max(found):.0f})"
        )
    return 0


def measure(runs: dict[str, Run], texts: int, rounds: int) -> dict[str, list[float]]:
    """Texts a second of each tool in each round."""
    warm = [read_record(r) for r in listings(5, start=10_000_000)]
    for run in runs.values():
        run(warm)
    rates: dict[str, list[float]] = {name: [] for name in runs}
    start = 0
    for _ in range(rounds):
        for name, run in runs.items():
            batch = [read_record(r) for r in listings(texts, start=start)]
            start += texts
            rates[name].append(texts / run(batch))
    return rates


if __name__ == "__main__":
    sys.exit(main())
