"""Workbooks checked by several processes, in the order given; what becomes of one doesn't touch the others."""

from __future__ import annotations

import contextlib
import multiprocessing
import signal
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from pathlib import Path

from estimator.errors import Finding
from estimator.readback.report import Report, report
from estimator.workbook.seal import SealKey

_AHEAD = 4  # reports a process that may wait to be taken: few, so that thousands of files need no more memory than ten
_TRIES = 2


@dataclass
class _Reader:
    """A process that reads one workbook after another, on a pipe of its own: when it ends, the pipe does."""

    process: BaseProcess
    pipe: Connection
    number: int = -1
    """Of the path that it is reading; -1 while it has none."""

    def read(self, number: int, path: Path) -> None:
        self.number = number
        with contextlib.suppress(OSError):  # one that has ended is found when its answer is waited for
            self.pipe.send(path)

    def end(self) -> None:
        self.pipe.close()
        self.process.terminate()
        self.process.join()


def reports_of_many(paths: Sequence[Path], processes: int, key: SealKey | None = None) -> Iterator[Report]:
    """One report a path, in their order. A process that is ended from outside (memory) costs only the file that it was
    reading: that one is read once more in a new process, the others go on."""
    idle = [_started(key) for _ in range(min(processes, len(paths)))]
    busy: dict[Connection, _Reader] = {}
    done: dict[int, Report] = {}
    tries = dict.fromkeys(range(len(paths)), 0)
    to_read = list(reversed(tries))
    try:
        for wanted in range(len(paths)):
            while wanted not in done:
                while idle and to_read and to_read[-1] < wanted + _AHEAD * processes:
                    reader, number = idle.pop(), to_read.pop()
                    tries[number] += 1
                    reader.read(number, paths[number])
                    busy[reader.pipe] = reader
                for pipe in wait(list(busy)):
                    reader = busy.pop(pipe)  # type: ignore[index]
                    try:
                        done[reader.number] = reader.pipe.recv()
                        idle.append(reader)
                    except (EOFError, OSError):
                        reader.end()
                        idle.append(_started(key))
                        if tries[reader.number] < _TRIES:
                            to_read.append(reader.number)
                        else:
                            done[reader.number] = _ended(paths[reader.number])
            yield done.pop(wanted)
    finally:
        for reader in (*idle, *busy.values()):
            reader.end()


def _started(key: SealKey | None) -> _Reader:
    context = multiprocessing.get_context("spawn")
    here, there = context.Pipe()
    process = context.Process(target=_read_on, args=(there, key), daemon=True)
    with _interrupts_held_back():
        process.start()
    there.close()
    return _Reader(process, here)


def _read_on(pipe: Connection, key: SealKey | None) -> None:
    """What a process does: a report for each path, until nobody asks any more."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with contextlib.suppress(EOFError, OSError):
        while True:
            pipe.send(report(pipe.recv(), key))


def _ended(path: Path) -> Report:
    what = "the process that read it was ended by the system, as happens when memory runs out"
    fix = "close other programs and check this file alone"
    return Report(str(path), "unreadable", (Finding("over-size", "stop", what, fix),), exit_status=65)


@contextlib.contextmanager
def _interrupts_held_back() -> Iterator[None]:
    """While a process starts, Ctrl-C waits, and it starts with it held back: it is the parent that ends it."""
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
