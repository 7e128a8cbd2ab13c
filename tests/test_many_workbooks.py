"""Many workbooks at once: a stable order, one bad file stops nothing, a process that dies costs no report, memory is
flat."""

import multiprocessing
import os
import signal
import subprocess
import sys
from collections.abc import Callable
from concurrent.futures import BrokenExecutor, Future, ThreadPoolExecutor
from pathlib import Path

import pytest
from returned_workbooks import ROOT, write

from estimator.readback.parallel import reports_of_many
from estimator.readback.report import report


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    found = tmp_path_factory.mktemp("many")
    for number in range(6):
        write(found / f"{number}.xlsx", seed=number % 3)
    (found / "2.xlsx").write_bytes(b"not a workbook")
    return found


def test_several_processes_give_what_one_gives(folder: Path) -> None:
    paths = [*sorted(folder.glob("*.xlsx")), folder / "gone.xlsx"]
    many = list(reports_of_many(paths, 2))
    assert many == [report(path) for path in paths]
    assert [item.state for item in many] == ["sound", "sound", "unreadable", "sound", "sound", "sound", "unreadable"]
    assert [item.exit_status for item in many if item.state == "unreadable"] == [65, 66]


@pytest.mark.skipif(os.name == "nt", reason="there is no SIGKILL")
def test_a_process_that_is_killed_costs_no_report(folder: Path) -> None:
    paths = [folder / f"{number}.xlsx" for number in (0, 1, 3, 4, 5, 0, 1, 3)]
    found = []
    for number, item in enumerate(reports_of_many(paths, 2)):
        found.append(item)
        if number in (0, 3):
            for child in multiprocessing.active_children():
                os.kill(child.pid, 9)
    assert [(item.file, item.state) for item in found] == [(str(path), "sound") for path in paths]


def test_a_fault_of_the_program_at_one_file_costs_that_report_alone(folder: Path) -> None:
    paths = [folder / "0.xlsx", 3, folder / "1.xlsx"]  # 3 is no path
    found = list(reports_of_many(paths, 2))  # type: ignore[arg-type]
    assert [item.state for item in found] == ["sound", "unreadable", "sound"] and "TypeError" in found[1].fault
    assert multiprocessing.active_children() == []


MEMORY = """
import resource, sys
from pathlib import Path
from estimator.readback.report import report
paths = [Path(name) for name in sys.argv[1:]]
for path in paths * 2:
    assert report(path).state == "sound"
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
for path in paths * 5:
    report(path)
print(before, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="ru_maxrss is in KiB on Linux alone")
def test_memory_stays_as_it_is(folder: Path) -> None:
    run = subprocess.run(
        [sys.executable, "-c", MEMORY, folder / "0.xlsx", folder / "1.xlsx"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    before, after = map(int, run.stdout.split())
    assert after <= before + 16 * 1024, f"{before} KiB grew to {after} KiB"


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="wants a system with /proc")
def test_the_first_process_too_starts_with_interrupts_held_back() -> None:
    """Ctrl-C while processes load must not make them print a traceback: blocked from their first moment on."""
    program = """
from pathlib import Path
import multiprocessing
from estimator.readback.parallel import _submitted, process_pool
if __name__ == "__main__":
    with process_pool(2) as pool:
        futures = [_submitted(pool, Path("gone.xlsx"), None) for _ in range(2)]
        for process in multiprocessing.active_children():
            status = Path(f"/proc/{process.pid}/status").read_text()
            print(int(status.partition("SigBlk:")[2].split()[0], 16) >> (2 - 1) & 1)
"""
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, cwd=ROOT)
    assert (done.stdout.split(), done.stderr) == (["1", "1"], "")


class Ending(ThreadPoolExecutor):
    """An executor that isn't one of processes, and breaks whenever it is to read one file."""

    def submit(self, function: Callable, path: Path, *others: object) -> Future:
        if path.name != "3.xlsx":
            return super().submit(function, path, *others)
        future: Future = Future()
        future.set_exception(BrokenExecutor("ended"))
        return future


def test_a_file_that_ends_its_process_twice_is_named_and_the_others_are_read(folder: Path) -> None:
    paths = [folder / f"{number}.xlsx" for number in (0, 3, 1)]
    found = list(reports_of_many(paths, 2, pool=Ending))
    assert [item.state for item in found] == ["sound", "unreadable", "sound"]
    assert "ended by the system" in found[1].findings[0].what and found[1].exit_status == 65


@pytest.mark.skipif(os.name == "nt", reason="there is no SIGINT for another process")
def test_ctrl_c_ends_with_130_and_without_a_traceback(folder: Path) -> None:
    words = [sys.executable, "-m", "estimator", "check", "--jobs", "2", folder / "0.xlsx", folder / "1.xlsx"]
    more = [folder / f"{number}.xlsx" for number in (3, 4, 5)]
    heard = "import os, signal, sys; signal.signal(signal.SIGINT, signal.SIG_DFL); os.execv(sys.argv[1], sys.argv[1:])"
    run = subprocess.Popen(
        [sys.executable, "-c", heard, *words, *more],  # a shell's job in the background ignores Ctrl-C
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    assert run.stdout is not None and run.stdout.readline()  # the first report is there: processes are at work
    os.killpg(run.pid, signal.SIGINT)
    _, said = run.communicate(timeout=60)
    assert run.returncode == 130 and "Traceback" not in said and "interrupted" in said, said
