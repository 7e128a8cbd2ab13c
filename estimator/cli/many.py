"""Workbooks checked by several processes, in the order given; what becomes of one doesn't touch the others."""

from __future__ import annotations

import contextlib
import multiprocessing
import signal
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path

from estimator.errors import Finding
from estimator.readback.report import Report, report
from estimator.workbook.seal import SealKey


def reports_of_many(paths: Sequence[Path], processes: int, key: SealKey | None = None) -> Iterator[Report]:
    """One report a path. A process that is ended from outside (memory) costs only the file that it was reading."""
    context = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(processes, mp_context=context, initializer=_leave_interrupts_to_the_parent)
    try:
        with _interrupts_held_back():
            waiting = [pool.submit(report, path, key) for path in paths]
        for path, future in zip(paths, waiting, strict=True):
            yield _result(path, future) or _alone(path, context, key)
    except BaseException:
        pool.shutdown(wait=False, cancel_futures=True)
        for child in multiprocessing.active_children():
            child.terminate()
        raise
    pool.shutdown()


def _result(path: Path, future: Future[Report]) -> Report | None:
    """The report, or nothing where the process that made it was ended."""
    try:
        return future.result()
    except BrokenProcessPool:
        return None


def _alone(path: Path, context: multiprocessing.context.BaseContext, key: SealKey | None) -> Report:
    with ProcessPoolExecutor(1, mp_context=context, initializer=_leave_interrupts_to_the_parent) as pool:
        found = _result(path, pool.submit(report, path, key))
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
