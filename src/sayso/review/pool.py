"""Batches over processes, in order, with a bounded number under way; a process that dies costs no row."""

from __future__ import annotations

import itertools
from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool

from sayso.review.partition import audit_partition
from sayso.review.rows import Done, Raw, Settings

BATCH = 32
ALONE = 64
"""So few rows are audited in this process: starting others would take longer."""
RENEW = 400
"""Batches after which a worker process is replaced, so that no cache in it grows with the input."""


def batches(rows: Iterable[Raw], size: int = BATCH) -> Iterator[list[Raw]]:
    """`rows` in lists of `size`. The first ones are small, so that results appear at once."""
    iterator = iter(rows)
    for first in (1, 4):
        batch = list(itertools.islice(iterator, first))
        if batch:
            yield batch
    while batch := list(itertools.islice(iterator, size)):
        yield batch


def audit_rows(rows: Iterable[Raw], settings: Settings, jobs: int = 1) -> Iterator[list[Done]]:
    """The audits of all rows, batch by batch, in the order of the input. `jobs` is the number of processes."""
    if jobs <= 1:
        for batch in batches(rows):
            yield audit_partition(batch, settings)
        return
    iterator = iter(rows)
    first = list(itertools.islice(iterator, ALONE))
    rest = list(itertools.islice(iterator, 1))
    if not rest:
        for batch in batches(first):
            yield audit_partition(batch, settings)
        return
    yield from _pooled(batches(itertools.chain(first, rest, iterator)), settings, jobs)


def _executor(jobs: int) -> ProcessPoolExecutor:
    import multiprocessing

    # 'spawn' starts clean processes: no half-copied state, the same on every system.
    return ProcessPoolExecutor(
        jobs,
        mp_context=multiprocessing.get_context("spawn"),
        initializer=_leave_interrupts,
        max_tasks_per_child=RENEW,
    )


def _leave_interrupts() -> None:
    """Ctrl-C reaches every process of the terminal; only the first one is to answer it."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _pooled(todo: Iterator[list[Raw]], settings: Settings, jobs: int) -> Iterator[list[Done]]:
    ahead = 3 * jobs
    under_way: deque[tuple[list[Raw], Future[list[Done]]]] = deque()
    pool = _executor(jobs)
    try:
        while True:
            while len(under_way) < ahead and (batch := next(todo, None)) is not None:
                under_way.append((batch, pool.submit(audit_partition, batch, settings)))
            if not under_way:
                return
            batch, future = under_way[0]
            try:
                done = future.result()
            except BrokenProcessPool:
                pool.shutdown(wait=False, cancel_futures=True)
                done = _one_by_one(batch, settings)
                pool = _executor(jobs)
                again = [b for b, _ in itertools.islice(under_way, 1, None)]
                under_way = deque([(batch, future)])
                under_way.extend((b, pool.submit(audit_partition, b, settings)) for b in again)
            under_way.popleft()
            yield done
    finally:
        pool.shutdown(wait=False, cancel_futures=True)


def _one_by_one(batch: Sequence[Raw], settings: Settings) -> list[Done]:
    """A batch during which a process died: each row in a process of its own, so that only the culprit is lost."""
    out: list[Done] = []
    for row in batch:
        with _executor(1) as pool:
            try:
                out += pool.submit(audit_partition, [row], settings).result()
            except BrokenProcessPool:
                out.append(Done(row.source, row.number, problem="the process that audited it was killed, twice"))
    return out
