"""Batches over processes, in order, with a bounded number under way; a process that dies costs no row."""

from __future__ import annotations

import itertools
from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from typing import Any

from sayso.review.partition import audit_partition
from sayso.review.rows import Done, Raw, Settings

BATCH = 32
ALONE = 72
"""So few rows are audited in this process: a wishlist of some dozens is done before others have started."""
CALL = 32
"""After so many rows the process that the others are forked from is started, to be ready when it is needed."""
FIRST = 5
"""So many are done here before the others in any case, so that results appear at once."""
HELPED = 24
"""At most so many batches are audited in this process while the workers start."""
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


def audit_rows(rows: Iterable[Raw], settings: Settings, jobs: int = 1, *, many: bool = False) -> Iterator[list[Done]]:
    """The audits of all rows, batch by batch, in the order of the input. `jobs` is the number of processes.

    The first rows are done here, as they come, whatever `jobs` is. `many`: it is known beforehand that there are so
    many that other processes are worth starting at once.
    """
    todo = batches(rows)
    count = 0
    alone = FIRST if many else ALONE
    if jobs > 1 and many:
        _call_workers()
    for batch in todo:
        if jobs > 1 and count >= alone:
            yield from _pooled(itertools.chain((batch,), todo), settings, jobs)
            return
        if jobs > 1 and count < CALL <= count + len(batch):
            _call_workers()
        yield audit_partition(batch, settings)
        count += len(batch)


def _context() -> Any:
    """Workers are forked from a clean process in which everything is loaded already; where there is no such thing,
    each starts from nothing. Never from this process: it may have threads."""
    import multiprocessing

    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["sayso.review.warm"])
    return context


def _call_workers() -> None:
    """Start the process that workers are forked from. It inherits that Ctrl-C, which reaches every process of a
    terminal, is not its to answer."""
    import os

    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # small sums; the workers share out the cores already
    if _context().get_start_method() != "forkserver":
        return
    import signal
    from multiprocessing import forkserver

    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        forkserver.ensure_running()
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _executor(jobs: int) -> ProcessPoolExecutor:
    _call_workers()
    return ProcessPoolExecutor(jobs, mp_context=_context(), initializer=_begin, max_tasks_per_child=RENEW)


def _begin() -> None:
    """In a worker: leave Ctrl-C to the first process, and end when that one is gone, even if it was killed."""
    import multiprocessing
    import os
    import signal
    import threading

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()

    def follow() -> None:
        if parent is not None:
            parent.join()
            os._exit(1)

    threading.Thread(target=follow, daemon=True).start()


def _pooled(todo: Iterator[list[Raw]], settings: Settings, jobs: int) -> Iterator[list[Done]]:
    ahead = 3 * jobs
    under_way: deque[tuple[list[Raw], Future[list[Done]]]] = deque()
    pool = _executor(jobs)
    helped = 0
    try:
        while True:
            while len(under_way) < ahead and (batch := next(todo, None)) is not None:
                under_way.append((batch, _submit(pool, batch, settings)))
            if not under_way:
                return
            batch, future = under_way[0]
            if helped < HELPED and not future.done() and (mine := next(todo, None)) is not None:
                # The workers are still starting; what comes next is done here meanwhile.
                under_way.append((mine, _done_here(mine, settings)))
                helped += 1
                continue
            helped = HELPED
            try:
                done = future.result()
            except BrokenProcessPool:
                pool.shutdown(wait=False, cancel_futures=True)
                done = _one_by_one(batch, settings)
                pool = _executor(jobs)
                again = list(itertools.islice(under_way, 1, None))
                under_way = deque([(batch, future)])
                under_way.extend(
                    (b, f if f.done() and not f.exception() else _submit(pool, b, settings)) for b, f in again
                )
            under_way.popleft()
            yield done
    finally:
        pool.shutdown(wait=False, cancel_futures=True)


def _done_here(batch: list[Raw], settings: Settings) -> Future[list[Done]]:
    done: Future[list[Done]] = Future()
    done.set_result(audit_partition(batch, settings))
    return done


def _submit(pool: ProcessPoolExecutor, batch: list[Raw], settings: Settings) -> Future[list[Done]]:
    try:
        return pool.submit(audit_partition, batch, settings)
    except BrokenProcessPool as error:  # met again where the result is waited for
        lost: Future[list[Done]] = Future()
        lost.set_exception(error)
        return lost


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
