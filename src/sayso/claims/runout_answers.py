"""Reads run-out strings from JSON Lines ({"id", "text", "label"}) and writes the parse of each as a line.

Run as `python -m sayso.claims.runout_answers FILE.jsonl`; `-` reads standard input.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

from sayso.claims.runout import read_runout


def answers(lines: Iterable[str]) -> Iterator[str]:
    """One JSON object a line, with the id of the question. Lines that are no such object raise `ValueError`."""
    for number, line in enumerate(lines, 1):
        if not line.strip():
            continue
        try:
            row = json.loads(line)
            text, label = row["text"], row.get("label")
        except (ValueError, TypeError, KeyError, AttributeError) as error:
            raise ValueError(f'line {number}: wanted an object such as {{"id", "text", "label"}}') from error
        yield json.dumps({"id": row.get("id"), **read_runout(str(text), label)}, ensure_ascii=False)


def main(argv: list[str]) -> int:
    """Returns the exit code: 0 done, 2 unusable input."""
    if len(argv) != 1:
        print("usage: python -m sayso.claims.runout_answers FILE.jsonl", file=sys.stderr)
        return 2
    try:
        text = sys.stdin.read() if argv[0] == "-" else Path(argv[0]).read_text(encoding="utf-8")
        for line in answers(text.splitlines()):
            print(line)
    except (OSError, ValueError) as error:
        print(f"runout_answers: {argv[0]}: {error}", file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
