"""Prints the audits of a corpus and the time they took, as JSON: `python -m tests.evaluation.dump CORPUS`."""

from __future__ import annotations

import json
import sys
import time

from tests.evaluation import corpora
from tests.evaluation.run import audit_all


def main() -> None:
    name = sys.argv[1]
    rows = corpora.load(name)
    audit_all(rows[:1], corpora.overlays(name))
    begun = time.perf_counter()
    audits = audit_all(rows, corpora.overlays(name))
    seconds = time.perf_counter() - begun
    json.dump({"seconds": seconds, "audits": audits}, sys.stdout)


if __name__ == "__main__":
    main()
