"""Workbooks checked by several processes, in the order given; what becomes of one doesn't touch the others."""

from __future__ import annotations

import contextlib
import multiprocessing
import signal
from collections import deque
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path

from estimator.errors import Finding
from estimator.readback.report import Report, report
from estimator.workbook.seal import SealKey

_AHEAD = 4  # reports a process that may wait to be taken: few, so that thousands of files need no more memory than ten


def reports_of_many(paths: Sequence[Path], processes: int, key: SealKey | None = None) -> Iterator[Report]:
    """One report a path, in their order. A process that is ended from outside (memory) costs only the file that it was
    reading: that one is read once more by itself, the others in new processes."""
    pool = _pool(processes)
    waiting: deque[tuple[Path, Future[Report]]] = deque()
    ahead = iter(paths)
    try:
        while True:
            for path in ahead:
                waiting.append((path, _submitted(pool, path, key)))
                if len(waiting) >= _AHEAD * processes:
                    break
            if not waiting:
                break
            path, future = waiting.popleft()
            found = _result(future)
            if found is None:
                pool.shutdown(wait=False)
                found = _alone(path, key)
                pool = _pool(processes)
                waiting = deque((path, task if _read(task) else _submitted(pool, path, key)) for path, task in waiting)
            yield found
    except BaseException:
        pool.shutdown(wait=False, cancel_futures=True)
        for child in multiprocessing.active_children():
            child.terminate()
        raise
    pool.shutdown()


def _pool(processes: int) -> ProcessPoolExecutor:
    context = multiprocessing.get_context("spawn")
    return ProcessPoolExecutor(processes, mp_context=context, initializer=_leave_interrupts_to_the_parent)


def _submitted(pool: ProcessPoolExecutor, path: Path, key: SealKey | None) -> Future[Report]:
    try:
        with _interrupts_held_back():
            return pool.submit(report, path, key)
    except BrokenProcessPool as broken:
        failed: Future[Report] = Future()
        failed.set_exception(broken)
        return failed


def _result(future: Future[Report]) -> Report | None:
    """The report, or nothing where the process that made it was ended."""
    try:
        return future.result()
    except BrokenProcessPool:
        return None


def _read(future: Future[Report]) -> bool:
    return future.done() and future.exception() is None


def _alone(path: Path, key: SealKey | None) -> Report:
    with _pool(1) as pool:
        found = _result(_submitted(pool, path, key))
    if found is not None:
        return found
    what = "the process that read it was ended by the system, as happens when memory runs out"
    fix = "close other programs and check this file alone"
    return Report(str(path), "unreadable", (Finding("over-size", "stop", what, fix),), exit_status=65)


@contextlib.contextmanager
def _interrupts_held_back() -> Iterator[None]:
    """While processes start, Ctrl-C waits, and they start with it held back: it is the parent that ends them."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _leave_interrupts_to_the_parent() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
