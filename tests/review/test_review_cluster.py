"""The same review on a local Dask cluster: every row once, also when a worker is killed midway. Invented rows."""

from __future__ import annotations

import json
import os
import signal
import threading
import time
from collections import Counter
from pathlib import Path

import pytest

from sayso.review.cluster import audit_and_write, partitions, review_on_cluster
from sayso.review.rows import Settings
from sayso.review.sources import Reading
from tests.review.test_review_run import table

pytest.importorskip("distributed")
pytestmark = pytest.mark.cluster


def rows_of(folder: Path) -> Counter[tuple[str, str]]:
    import pyarrow.parquet

    found: Counter[tuple[str, str]] = Counter()
    for part in sorted(folder.glob("part-*.parquet")):
        for row in pyarrow.parquet.read_table(part).to_pylist():
            found[row["id"], json.loads(row["audit"])["listing"]["text"]] += 1
    return found


def test_a_partition_done_twice_is_there_once(tmp_path: Path) -> None:
    [batch] = partitions([str(table(tmp_path / "w.jsonl", 5))], Reading(), 10)
    for _ in range(2):
        assert audit_and_write(0, batch, Settings(want_summary=True), str(tmp_path), "json") == (5, 0)
    assert [p.name for p in tmp_path.glob("*part*")] == ["part-000000.jsonl"]


def test_a_worker_killed_midway_costs_no_row_and_doubles_none(tmp_path: Path) -> None:
    from distributed import Client, LocalCluster

    path, target = table(tmp_path / "w.jsonl", 1_500), tmp_path / "out"
    with (
        LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, silence_logs=50
        ) as cluster,
        Client(cluster) as client,
    ):
        client.run(lambda: __import__("sayso.engine"))
        first = next(iter(client.run(os.getpid).values()))
        killed = threading.Event()

        def kill() -> None:
            began = time.monotonic()
            while time.monotonic() - began < 60:
                if target.exists() and len(list(target.glob("part-*"))) >= 3:
                    os.kill(first, signal.SIGKILL)
                    killed.set()
                    return
                time.sleep(0.005)

        killer = threading.Thread(target=kill)
        killer.start()
        rows, problems = review_on_cluster("local", [str(path)], Reading(), Settings(), target, size=25, client=client)
        killer.join()
    assert killed.is_set()
    assert (rows, problems) == (1_500, 0)
    found = rows_of(target)
    assert set(found.values()) == {1}
    assert {name for name, _ in found} == {f"h{n}" for n in range(1_500)}
    assert not list(target.glob(".*"))


def test_parquet_goes_in_and_bad_rows_come_out_with_their_reason(tmp_path: Path) -> None:
    import pyarrow
    import pyarrow.parquet
    from distributed import Client, LocalCluster

    source = tmp_path / "in.parquet"
    rows = [{"id": "a", "title": "Low Tide", "text": "Plays."}, {"id": "b", "title": None, "text": None}]
    pyarrow.parquet.write_table(pyarrow.Table.from_pylist(rows), source)
    with (
        LocalCluster(n_workers=1, threads_per_worker=1, processes=False, dashboard_address=None) as cluster,
        Client(cluster) as client,
    ):
        done = review_on_cluster("local", [str(source)], Reading(), Settings(), tmp_path / "out", client=client)
    assert done == (2, 1)
    [part] = (tmp_path / "out").glob("part-*.parquet")
    table_ = pyarrow.parquet.read_table(part).to_pylist()
    assert [bool(r["problem"]) for r in table_] == [False, True]


def test_a_folder_with_results_is_not_written_over(tmp_path: Path) -> None:
    (tmp_path / "part-000000.parquet").touch()
    with pytest.raises(ValueError, match="results already"):
        review_on_cluster("local", [], Reading(), Settings(), tmp_path)
