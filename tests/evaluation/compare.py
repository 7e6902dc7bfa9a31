"""Gains and losses between two revisions, claim by claim, with the time each took."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from tests.evaluation import corpora
from tests.evaluation.score import Reading, Score, score

ROOT = Path(__file__).resolve().parents[2]
WORKING = "."
"""Names the working tree as it stands, uncommitted changes and all."""


@contextmanager
def checkout(revision: str) -> Iterator[Path]:
    """A folder with the files of `revision`; the working tree itself for '.'."""
    if revision == WORKING:
        yield ROOT
        return
    with tempfile.TemporaryDirectory() as folder:
        tree = Path(folder) / "tree"
        _git("worktree", "add", "--detach", "--force", str(tree), revision)
        try:
            yield tree
        finally:
            _git("worktree", "remove", "--force", str(tree))


def _git(*arguments: str) -> None:
    done = subprocess.run(["git", "-C", str(ROOT), *arguments], capture_output=True, text=True, check=False)
    if done.returncode:
        raise SystemExit(f"git {arguments[0]}: {done.stderr.strip()}")


def audits(revision: str, corpus: str) -> tuple[dict[str, Any], float]:
    """The audits of a corpus as `revision` makes them, and the seconds it took, imports not counted.

    The corpora and this code are those of the working tree; the program and its lexicon are those of the revision.
    """
    with checkout(revision) as tree:
        environment = os.environ | {"PYTHONPATH": str(tree / "src")}
        command = [sys.executable, "-m", "tests.evaluation.dump", corpus]
        done = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False)
    if done.returncode:
        raise SystemExit(f"{revision} cannot audit: {done.stderr.strip().splitlines()[-1]}")
    told = json.loads(done.stdout)
    return told["audits"], told["seconds"]


def report(before: str, after: str, corpus: str) -> Iterator[str]:
    rows = corpora.load(corpus)
    (old_audits, old_time), (new_audits, new_time) = audits(before, corpus), audits(after, corpus)
    old, new = score(rows, old_audits), score(rows, new_audits)
    lines = list(changes(old, new))
    for sign in ("gained", "lost"):
        yield from (line for line in lines if line.startswith(sign))
        yield ""
    yield from _table(old, new)
    yield f"{'seconds':30} {old_time:10.2f} {new_time:10.2f} {new_time - old_time:+10.2f}"
    gains = sum(line.startswith("gained") for line in lines)
    yield f"{gains} gained, {len(lines) - gains} lost"


def changes(old: Score, new: Score) -> Iterator[str]:
    """What is right now and was not, and the other way round: claims, false claims and states."""
    for was, now in zip(old.readings, new.readings, strict=True):
        for right_before, right_now, what in (
            *_steps(_hits(was), _hits(now)),
            *_steps(_false(now), _false(was), "false claim "),
            *_steps(_right_states(was), _right_states(now), "state "),
        ):
            if right_before != right_now:
                yield f"{'gained' if right_now else 'lost  '} {was.id}: {what}"


def _steps(before: set[str], after: set[str], kind: str = "") -> Iterator[tuple[bool, bool, str]]:
    for what in sorted(before ^ after):
        yield what in before, what in after, kind + what


def _hits(reading: Reading) -> set[str]:
    return {_words(gold) for gold, _ in reading.strict}


def _false(reading: Reading) -> set[str]:
    return {_words(claim) for claim in reading.extra}


def _right_states(reading: Reading) -> set[str]:
    wrong = {f for f, _, _ in reading.states}
    return {f"{f} {truth}" for f, truth in reading.gold["coverage"].items() if f not in wrong}


def _words(claim: Mapping[str, Any]) -> str:
    return f"{claim['feature']} {claim['polarity']} {claim.get('certainty') or 'certain'} “{claim['quote']}”"


def _table(old: Score, new: Score) -> Iterator[str]:
    figures = new.figures()
    for name, value in old.figures().items():
        yield f"{name:30} {value:10.4f} {figures[name]:10.4f} {figures[name] - value:+10.4f}"
