"""Running the command as people do, and one demo folder that all tests of a run share."""

import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
SMALL = Path(__file__).parent / "bad_inputs" / "base"
COMMAND = [sys.executable, "-m", "estimator"]


def environment(**more):
    env = {name: value for name, value in os.environ.items() if name not in ("NO_COLOR", "ESTIMATOR_SEAL_KEY")}
    return env | {"PYTHONPATH": str(ROOT), "PYTHONWARNINGS": "error"} | more


def run(*words, cwd, env=None, timeout=300):
    """Run `estimator` with these words. Never a traceback, whatever happens."""
    done = subprocess.run(
        [*COMMAND, *map(str, words)],
        cwd=cwd,
        env=env or environment(),
        capture_output=True,
        text=True,
        timeout=timeout,
        encoding="utf-8",
    )
    assert "Traceback" not in done.stdout + done.stderr
    return done


def shared_demo(tmp_path_factory):
    """The folder in which `estimator demo` was run, once for all processes of this test run; not to be changed."""
    base = tmp_path_factory.getbasetemp()
    base = base.parent if os.environ.get("PYTEST_XDIST_WORKER") else base
    folder, done = base / "shared-demo", base / "shared-demo.done"
    try:
        folder.mkdir()
    except FileExistsError:
        for _ in range(1200):
            if done.exists():
                return folder
            time.sleep(0.5)
        pytest.fail("another process didn't finish the demo")
    made = run("demo", cwd=folder)
    (folder / "tour.txt").write_text(made.stdout, encoding="utf-8")
    (folder / "said.txt").write_text(made.stderr, encoding="utf-8")
    done.write_text(str(made.returncode), encoding="utf-8")
    assert made.returncode == 0, made.stderr
    return folder


def copied_demo(shared, to):
    """A folder with a `demo` of its own."""
    shutil.copytree(shared / "demo", to / "demo")
    return to
