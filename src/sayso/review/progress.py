"""How far a review has come, kept beside its output, so that an interrupted run goes on where it stopped."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import BinaryIO


class Checkpoint:
    """`OUT.progress`: how many input rows are done and how long `OUT` was then.

    Lines written after the last checkpoint are cut off on resuming and made again, so that no row is lost or doubled.
    """

    def __init__(self, out: Path, key: str) -> None:
        self.path = out.with_name(out.name + ".progress")
        self._key = key

    def load(self) -> tuple[int, int]:
        """(rows done, bytes of output); zeros where nothing is kept. Raises `ValueError` for another job's file."""
        try:
            data = json.loads(self.path.read_text(encoding="utf-8"))
            rows, size, key = int(data["rows"]), int(data["bytes"]), data["job"]
        except FileNotFoundError:
            return 0, 0
        except (OSError, ValueError, KeyError, TypeError) as error:
            raise ValueError(f"{self.path} cannot be read; delete it and start again") from error
        if key != self._key:
            raise ValueError(
                f"{self.path} belongs to a review of other files or options; "
                "leave out --resume to start again, or choose another --out"
            )
        return rows, size

    def save(self, rows: int, size: int, file: BinaryIO) -> None:
        """Note that `rows` are done and are safely in the first `size` bytes of `file`, which was flushed."""
        os.fsync(file.fileno())
        new = self.path.with_name(self.path.name + ".new")
        new.write_text(json.dumps({"job": self._key, "rows": rows, "bytes": size}), encoding="utf-8")
        new.replace(self.path)
