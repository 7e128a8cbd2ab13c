"""The demo, run once for all tests of a session, through the command line as its help shows it."""

import contextlib
import functools
import io
import os
import sqlite3
from pathlib import Path

from estimator.cli.app import main

COMMAND = ["demo", "--out", "demo"]


@functools.cache
def demo_folder(base: Path) -> Path:
    """The folder that holds `demo`, with what was said beside it in out.txt and err.txt.

    Several processes of one session share it; the first makes it, the others wait.
    """
    root = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "demo-run"
    root.mkdir(exist_ok=True)
    done = root / "status.txt"
    with contextlib.closing(sqlite3.connect(root / "lock.sqlite", timeout=300, isolation_level=None)) as lock:
        lock.execute("BEGIN EXCLUSIVE")
        if not done.exists():
            with contextlib.chdir(root):
                status, said, told = run(*COMMAND)
            (root / "out.txt").write_text(said, encoding="utf-8")
            (root / "err.txt").write_text(told, encoding="utf-8")
            done.write_text(str(status))
        lock.execute("COMMIT")
    assert done.read_text() == "0", (root / "err.txt").read_text(encoding="utf-8")
    return root


def run(*words: str) -> tuple[int, str, str]:
    """Exit status, standard output and standard error of a command run in this process."""
    with contextlib.redirect_stdout(io.StringIO()) as said, contextlib.redirect_stderr(io.StringIO()) as told:
        status = main(words)
    return status, said.getvalue(), told.getvalue()
