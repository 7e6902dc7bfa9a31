"""Runs the worked examples that a system of matrix numbers carries: the data test themselves."""

from __future__ import annotations

from collections.abc import Iterator

from sayso.claims.runout import read_runout
from sayso.lexicon import Lexicon


def example_problems(lexicon: Lexicon) -> Iterator[tuple[str, str]]:
    """The id of each system with an example that is read otherwise than it says, and what is wrong."""
    for system in lexicon.systems.values():
        for example in system.examples:
            label = system.labels[0] if system.labels else None
            if label and system.country:
                label = f"{label} ({system.country})"
            got = read_runout(example.text, label, lexicon)
            if len(got.sides) != len(example.gives):
                yield system.id, f"the example {example.text!r} gives {len(got.sides)} sides, not {len(example.gives)}"
                continue
            for want, have in zip(example.gives, got.sides, strict=True):
                for key, value in want.items():
                    if have.get(key) != value:
                        yield system.id, f"the example {example.text!r} gives {key} {have.get(key)!r}, not {value!r}"
