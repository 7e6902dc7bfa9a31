"""The figures under which the evaluation must not fall (or over which, for errors)."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path

from tests.evaluation import corpora, replies
from tests.evaluation.run import audit_all
from tests.evaluation.score import score

FLOORS = Path(__file__).with_name("floors.toml")


def faults(path: Path = FLOORS) -> Iterator[tuple[bool, str]]:
    """For each floor: whether it holds, and a line that says so."""
    table = tomllib.loads(path.read_text(encoding="utf-8"))
    for name, bounds in table.items():
        if "replies" in name:
            told = replies.figures(replies.load(name))
            yield from _held(name, bounds, told)
            continue
        rows = [r for r in corpora.load(name.split(".")[0]) if name != "own.held_out" or r.get("held_out")]
        told = score(rows, audit_all(rows, corpora.overlays(name.split(".")[0]))).figures()
        yield from _held(name, bounds, told)


def _held(
    name: str, bounds: Mapping[str, Mapping[str, float]], told: Mapping[str, float]
) -> Iterator[tuple[bool, str]]:
    for figure, value in bounds.get("at_least", {}).items():
        yield told[figure] >= value, f"{name}: {figure} {told[figure]:.4f}, at least {value}"
    for figure, value in bounds.get("at_most", {}).items():
        yield told[figure] <= value, f"{name}: {figure} {told[figure]:.4f}, at most {value}"
