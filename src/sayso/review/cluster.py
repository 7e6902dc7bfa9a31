"""The same review on Dask: partitions go out as plain rows, `audit_partition` runs on them, results come back as files.

Each partition is written by the worker that audited it, under a name that only depends on its number, first to a
temporary name and then renamed: a partition that is done twice, because a worker died, is there once.
"""

from __future__ import annotations

import itertools
import json
import os
import uuid
from collections.abc import Iterable, Iterator, Sequence
from importlib import import_module
from pathlib import Path
from typing import Any, Literal

from sayso.intake.errors import IntakeError
from sayso.review.partition import audit_partition, file_bytes
from sayso.review.rows import Raw, Settings
from sayso.review.sources import Reading, rows

Form = Literal["parquet", "json"]
PARTITION = 256
"""Rows in a partition: some seconds of work, so that a lost worker costs little and the scheduler is not busy."""
COLUMNS = ("source", "row", "id", "title", "verdict", "reason", "question", "problem", "audit")


def audit_and_write(number: int, batch: Sequence[Raw], settings: Settings, folder: str, form: Form) -> tuple[int, int]:
    """Audit one partition and write it; (rows, rows that could not be read). Runs on a worker; safe to repeat."""
    done = audit_partition(batch, settings)
    table: list[dict[str, Any]] = []
    for d in done:
        s = d.summary
        table.append(
            {
                "source": d.source,
                "row": d.number,
                "id": s.id if s else None,
                "title": s.title if s else None,
                "verdict": s.verdict if s else None,
                "reason": s.reason if s else None,
                "question": s.question if s else None,
                "problem": d.problem or None,
                "audit": d.json.decode() if d.json is not None else None,
            }
        )
    target = Path(folder) / part_name(number, form)
    scratch = target.with_name(f".{target.name}.{uuid.uuid4().hex}")
    try:
        if form == "parquet":
            import pyarrow
            import pyarrow.parquet

            schema = pyarrow.schema([(c, pyarrow.int64() if c == "row" else pyarrow.string()) for c in COLUMNS])
            pyarrow.parquet.write_table(pyarrow.Table.from_pylist(table, schema=schema), scratch)
        else:
            with scratch.open("wb") as file:
                file.writelines(d.json + b"\n" for d in done if d.json is not None)
        os.replace(scratch, target)
    finally:
        scratch.unlink(missing_ok=True)
    return len(done), sum(bool(d.problem) for d in done)


def part_name(number: int, form: Form) -> str:
    """The file of a partition."""
    return f"part-{number:06d}.{'parquet' if form == 'parquet' else 'jsonl'}"


def partitions(inputs: Sequence[str], reading: Reading, size: int) -> Iterator[list[Raw]]:
    """The rows of all inputs in partitions; folders and files of Parquet are read too."""
    stream = itertools.chain.from_iterable(
        parquet_rows(Path(name)) if _is_parquet(Path(name)) else rows([name], reading) for name in inputs
    )
    while batch := list(itertools.islice(stream, size)):
        yield [_carried(row, reading) for row in batch]


def _is_parquet(path: Path) -> bool:
    return path.suffix == ".parquet" or (path.is_dir() and next(path.glob("*.parquet"), None) is not None)


def parquet_rows(path: Path) -> Iterator[Raw]:
    """The rows of Parquet files whose columns are the fields of a record (id, title, text, format, price ...)."""
    import pyarrow.parquet

    for file in sorted(path.glob("*.parquet")) if path.is_dir() else [path]:
        number = 0
        with pyarrow.parquet.ParquetFile(file) as opened:
            for batch in opened.iter_batches(batch_size=1_000):
                for record in batch.to_pylist():
                    number += 1
                    known = {k: v for k, v in record.items() if v is not None}
                    yield Raw(str(file), number, record=known)


def _carried(row: Raw, reading: Reading) -> Raw:
    """A row with its bytes: a worker elsewhere cannot open a file of this machine."""
    if row.path is None or row.problem:
        return row
    try:
        return Raw(row.source, row.number, data=file_bytes(Path(row.path), reading.max_bytes, reading.encoding))
    except IntakeError as error:
        return Raw(row.source, row.number, problem=str(error))


def review_on_cluster(
    address: str,
    inputs: Sequence[str],
    reading: Reading,
    settings: Settings,
    folder: Path,
    *,
    form: Form = "parquet",
    size: int = PARTITION,
    client: Any = None,
) -> tuple[int, int]:
    """Audit `inputs` on the scheduler at `address` ('local': processes of this machine) into files in `folder`.

    Returns (rows, rows that could not be read). Only a few partitions more than there are workers are under way, so
    the memory needed here does not grow with the input. Raises `OSError` where the scheduler cannot be reached.
    """
    from dataclasses import replace

    dask: Any = import_module("distributed")
    folder.mkdir(parents=True, exist_ok=True)
    stale = [p for p in folder.iterdir() if p.name.startswith("part-")]
    if stale:
        raise ValueError(f"{folder} holds results already; name an empty folder")
    settings = replace(settings, want_json=True, want_summary=True)
    own = client is None
    client = client or (
        dask.Client(processes=True, dashboard_address=None) if address == "local" else dask.Client(address)
    )
    try:
        return _feed(client, enumerate(partitions(inputs, reading, size)), settings, str(folder.absolute()), form)
    finally:
        if own:
            client.close()


def _feed(
    client: Any, todo: Iterable[tuple[int, list[Raw]]], settings: Settings, folder: str, form: Form
) -> tuple[int, int]:
    iterator = iter(todo)
    counted = bad = 0
    ahead = 2 * max(1, len(client.scheduler_info(n_workers=-1)["workers"])) + 2
    dask: Any = import_module("distributed")
    waiting = dask.as_completed()
    under_way = 0
    while True:
        while under_way < ahead and (part := next(iterator, None)) is not None:
            number, batch = part
            # `pure=False`: two partitions that happen to hold the same rows are still two partitions.
            waiting.add(client.submit(audit_and_write, number, batch, settings, folder, form, pure=False, retries=2))
            under_way += 1
        if not under_way:
            break
        future = next(waiting)
        done, problems = future.result()
        future.release()
        counted, bad, under_way = counted + done, bad + problems, under_way - 1
    note = Path(folder) / "_done.json"
    note.write_text(json.dumps({"rows": counted, "problems": bad}), encoding="utf-8")
    return counted, bad
