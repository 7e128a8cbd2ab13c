"""Killed at any point, draft, fill and redraft leave the old file or the new one; refused by the disk, the old one and
words. (Posting: books/test_killed_posting.py.)

A few kill points of one command here; over 300, and all commands, under tests/long/.
"""

import json
import os
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from cli_runs import copied_demo, shared_demo
from killed_writing import OLD, prepared
from returned_workbooks import ROOT

from estimator.cli import core

SCRIPT = Path(__file__).with_name("killed_writing.py")
pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="kills a forked process")


def kill(folder: Path, points: int, seed: int = 1, *commands: str) -> dict[str, int]:
    words = [sys.executable, SCRIPT, folder, str(points), str(seed), *commands]
    run = subprocess.run(words, capture_output=True, text=True)
    assert run.returncode == 0, run.stderr
    return json.loads(run.stdout)


def test_the_old_file_or_the_new_one(tmp_path: Path) -> None:
    found = kill(tmp_path / "killed", 4, 1, "draft")
    assert found["killed"] >= 2 and found.get("old file", 0) + found.get("no file", 0) >= 1, found


@pytest.fixture(scope="module")
def words(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[str]]:
    return prepared(tmp_path_factory.mktemp("commands"))


def told(words: list[str], limit: int | None = None) -> subprocess.CompletedProcess[str]:
    """Run a command in a process of its own; `limit`: bytes that a file may have there, as on a full disk."""
    program = "import sys\nfrom estimator.cli.app import main\n"
    if limit is not None:
        program += (
            "import resource, signal\nsignal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
            f"resource.setrlimit(resource.RLIMIT_FSIZE, ({limit}, {limit}))\n"
        )
    program += "sys.exit(main(sys.argv[1:]))"
    return subprocess.run([sys.executable, "-c", program, *words], cwd=ROOT, capture_output=True, text=True)


def refused(done: subprocess.CompletedProcess[str], name: str) -> None:
    assert done.returncode == 73 and done.stdout == ""
    assert name in done.stderr and "couldn't be written" in done.stderr and "room" in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize("command", ["redraft"])
def test_a_full_disk_keeps_the_old_file(command: str, words: dict[str, list[str]], tmp_path: Path) -> None:
    out = tmp_path / "kept.xlsx"
    out.write_bytes(OLD)
    refused(told([*words[command], "-o", str(out), "--force"], limit=20_000), "kept.xlsx")
    assert out.read_bytes() == OLD and [path.name for path in tmp_path.iterdir()] == ["kept.xlsx"]


@pytest.mark.parametrize("command", ["draft"])
def test_a_folder_that_takes_no_file(command: str, words: dict[str, list[str]], tmp_path: Path) -> None:
    """One that nobody may write to, root included; and, where the tests don't run as root, one by its rights."""
    if Path("/proc/version").exists():
        refused(told([*words[command], "-o", "/proc/quote.xlsx"]), "/proc/quote.xlsx")
    if os.geteuid():
        closed = tmp_path / "closed"
        closed.mkdir(mode=0o500)
        refused(told([*words[command], "-o", str(closed / "quote.xlsx")]), "quote.xlsx")
        assert not list(closed.iterdir())


def test_a_full_disk_keeps_the_letter_and_the_books(tmp_path_factory: pytest.TempPathFactory, tmp_path: Path) -> None:
    copied_demo(shared_demo(tmp_path_factory), tmp_path)
    page, workbook = tmp_path / "kept.html", tmp_path / "demo" / "LY-311-A-r1-road.xlsx"
    page.write_bytes(OLD)
    refused(told(["letter", str(workbook), "-o", str(page), "--force"], limit=20_000), "kept.html")
    assert page.read_bytes() == OLD and [path.name for path in tmp_path.glob("*kept*")] == ["kept.html"]
    books = tmp_path / "demo" / "books"
    before = {path: path.read_bytes() for path in books.rglob("*") if path.is_file()}
    words = shlex.split(core.EXAMPLES[1].replace("demo/", f"{tmp_path}/demo/"))[1:]
    done = told(words, limit=1000)
    assert done.returncode == 73 and "room" in done.stderr and "Traceback" not in done.stderr, done.stderr
    now = {path: path.read_bytes() for path in books.rglob("*") if path.is_file()}
    assert {path: now.get(path) for path in before} == before
    assert told(words).returncode == 0, "with room again it goes through"
