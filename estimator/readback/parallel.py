"""Reports of many workbooks by several processes, in the order given."""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
import threading
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import BrokenExecutor, Executor, Future, ProcessPoolExecutor
from itertools import islice
from multiprocessing.connection import wait
from pathlib import Path

from estimator.errors import Finding
from estimator.readback.report import Report, report
from estimator.workbook.seal import SealKey

_AHEAD = 4  # reports a process that may wait to be taken: few, so that thousands of files need no more memory than ten


def process_pool(processes: int) -> Executor:
    """Return an executor of so many processes of this machine, which leave Ctrl-C to the process that started them."""
    return ProcessPoolExecutor(processes, multiprocessing.get_context("spawn"), _begin)


def reports_of_many(
    paths: Sequence[Path],
    processes: int,
    key: SealKey | None = None,
    pool: Callable[[int], Executor] = process_pool,
) -> Iterator[Report]:
    """Yield one report a path, in their order.

    pool: makes the executor from the number of processes, so that another machine's can take its place. A process that
    is ended from outside (memory) breaks its executor: what waited in it is read once more, each file alone, and the
    rest by a new one. A file whose second process ends too has a report that says so.
    """
    number = min(processes, len(paths))
    executor = pool(number)
    waiting: deque[tuple[Path, Future[Report]]] = deque()
    left = iter(paths)
    try:
        while True:
            for path in islice(left, _AHEAD * number - len(waiting)):
                try:
                    future = _submitted(executor, path, key)
                except BrokenExecutor:
                    executor.shutdown()
                    executor = pool(number)
                    future = _submitted(executor, path, key)
                waiting.append((path, future))
            if not waiting:
                return
            path, future = waiting.popleft()
            try:
                found = future.result()
            except BrokenExecutor:
                found = _read_alone(path, key, pool)
            yield found
    finally:
        executor.shutdown(cancel_futures=True)


def _submitted(executor: Executor, path: Path, key: SealKey | None) -> Future[Report]:
    with _interrupts_held_back():
        return executor.submit(report, path, key)


def _read_alone(path: Path, key: SealKey | None, pool: Callable[[int], Executor]) -> Report:
    with pool(1) as executor:
        try:
            return _submitted(executor, path, key).result()
        except BrokenExecutor:
            what = "the process that read it was ended by the system, as happens when memory runs out"
            fix = "close other programs and check this file alone"
            return Report(str(path), "unreadable", (Finding("over-size", "stop", what, fix),), exit_status=65)


def _begin() -> None:
    """Prepare a process of the pool: no Ctrl-C, and an end when the process that started it has ended."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:
        sentinel = parent.sentinel
        threading.Thread(target=lambda: (wait([sentinel]), os._exit(1)), daemon=True).start()


@contextlib.contextmanager
def _interrupts_held_back() -> Iterator[None]:
    """Hold back Ctrl-C while a process starts, which then begins with it held back."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    from multiprocessing import resource_tracker

    resource_tracker.ensure_running()  # starting it lets interrupts through again
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
