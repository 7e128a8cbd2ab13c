"""Whatever has the name of a workbook gets one line that says what it is and what to do, in little memory."""

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import hostile
import pytest
from hostile import SHEET, TAB, edited, pack, parts_of, sound
from refused_files import REFUSED, RELATIONS, WORKBOOK, cell

from estimator.errors import EXIT_MISSING, EXIT_NOT_UNDERSTOOD, UnreadableFile
from estimator.readback.cells import read_workbook
from estimator.readback.open_safely import open_package

# What it takes of the processor: tests/benchmarks/refusals.py
MEGABYTES = 250

MEASURE = """
import json, sys
from pathlib import Path
from estimator.errors import EstimatorError
from estimator.readback.cells import read_workbook
try:
    said = {"cells": sum(len(sheet.cells) for sheet in read_workbook(Path(sys.argv[1])).sheets.values())}
except EstimatorError as refusal:
    said = {"rule": refusal.rule, "status": refusal.exit_status, "message": str(refusal)}
said["megabytes"] = next(int(line.split()[1]) / 1024 for line in open("/proc/self/status") if line[:5] == "VmHWM")
print(json.dumps(said))
"""
needs_proc = pytest.mark.skipif(
    not Path("/proc/self/status").exists(), reason="no /proc to read the peak of memory from"
)


def measured(path: Path) -> dict:
    """What a process of its own says of a file, and at what peak of memory."""
    root = str(Path(__file__).parents[1])
    command = [sys.executable, "-W", "error", "-c", MEASURE, str(path)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, env=os.environ | {"PYTHONPATH": root})
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def refusal(path: Path) -> UnreadableFile:
    with pytest.raises(UnreadableFile) as caught:
        read_workbook(path)
    return caught.value


@needs_proc
@pytest.mark.parametrize("name", REFUSED)
def test_refused_in_words_and_in_little_memory(name: str, tmp_path: Path) -> None:
    case, path = REFUSED[name], tmp_path / "quote.xlsx"
    case.build(path)
    said = measured(path)
    assert said.get("rule") == case.rule, said
    too_slow = case.rule == "over-size" and "reading it takes more than" in said["message"]  # on a slow machine
    assert too_slow or case.words in said["message"]
    assert said["status"] == EXIT_NOT_UNDERSTOOD
    assert said["message"].startswith(f"{path}: ") and "\n" not in said["message"]
    assert said["megabytes"] < MEGABYTES, said


@needs_proc
def test_the_most_that_is_read_stays_in_bounds(tmp_path: Path) -> None:
    path = tmp_path / "quote.xlsx"
    hostile.poured(SHEET, hostile.repeated(hostile.HEAD, cell, 60_000, hostile.TAIL))(path)
    said = measured(path)
    assert said.get("cells") == 60_001, said
    assert said["megabytes"] < MEGABYTES, said


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("gone.xlsx", "there is no such file"),
        ("sound.xlsx/inside.xlsx", "there is no such file"),
        ("folder.xlsx", "it is a folder"),
        ("pipe.xlsx", "it is not a regular file"),
        ("circle.xlsx", "cannot be read there"),
        ("x" * 300 + ".xlsx", "cannot be read there"),
        ("nul\0.xlsx", "cannot be read there"),
    ],
)
def test_missing_and_unreachable_files_give_66(name: str, words: str, tmp_path: Path) -> None:
    sound(tmp_path / "sound.xlsx")
    (tmp_path / "folder.xlsx").mkdir()
    os.mkfifo(tmp_path / "pipe.xlsx")
    (tmp_path / "circle.xlsx").symlink_to(tmp_path / "circle.xlsx")
    said = refusal(tmp_path / name)
    assert (said.exit_status, said.rule) == (EXIT_MISSING, "unreadable-file")
    assert words in said.what and said.fix


@pytest.fixture
def nobody(tmp_path: Path) -> Iterator[None]:
    """Gives up the rights of root, whom no lock stops."""
    if os.geteuid():
        yield
        return
    os.chmod(tmp_path, 0o755)
    os.seteuid(65_534)
    try:
        yield
    finally:
        os.seteuid(0)


def test_a_locked_file_gives_66(tmp_path: Path, request: pytest.FixtureRequest) -> None:
    path = sound(tmp_path / "quote.xlsx")
    path.chmod(0)
    request.getfixturevalue("nobody")
    said = refusal(path)
    assert said.exit_status == EXIT_MISSING
    assert "locked by another program" in said.what and "close it" in said.fix


def test_a_file_that_shrinks_while_it_is_read_is_refused(tmp_path: Path) -> None:
    path = sound(tmp_path / "quote.xlsx")
    with pytest.raises(UnreadableFile, match="can't be unpacked"), open_package(path) as package:
        os.truncate(path, 100)
        list(package.elements("xl/workbook.xml"))


def test_a_file_that_vanishes_while_it_is_read_is_read_to_its_end(tmp_path: Path) -> None:
    path = sound(tmp_path / "quote.xlsx")
    with open_package(path) as package:
        path.unlink()
        assert list(package.elements("xl/workbook.xml"))
    assert refusal(path).exit_status == EXIT_MISSING


@pytest.mark.parametrize("name", ["~$quote.xlsx", ".~lock.quote.xlsx#"])
def test_the_mark_of_an_open_workbook_is_named(name: str, tmp_path: Path) -> None:
    path = tmp_path / name
    path.write_bytes(b"\x06Ida Fenwright" + b" " * 40)
    assert "has a workbook open" in refusal(path).what


def test_what_the_file_says_reaches_the_message_on_one_line(tmp_path: Path) -> None:
    path = tmp_path / "quote.xlsx"
    edited(RELATIONS, b"sheet1.xml", b"sheet9.xml")(path)
    parts = parts_of(path)
    parts[WORKBOOK] = parts[WORKBOOK].replace(b'name="Inspection"', b'name="a&#10;b&#127;&#8238;' + b"c" * 500 + b'"')
    pack(path, parts)
    message = str(refusal(path))
    assert 'the tab "a?b??ccc' in message and message.isprintable() and len(message) < len(str(path)) + 400


def test_what_lies_outside_is_neither_followed_nor_run(tmp_path: Path) -> None:
    path = sound(tmp_path / "quote.xlsm")
    outside = b'<Relationship Id="rIdX" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/%s" '
    outside += b'Target="file:///etc/hostname" TargetMode="External"/></Relationships>'
    parts = parts_of(path)
    parts[RELATIONS] = parts[RELATIONS].replace(b"</Relationships>", outside % b"externalLink")
    sheet_relations = "xl/worksheets/_rels/sheet1.xml.rels"
    parts[sheet_relations] = parts[sheet_relations].replace(b"</Relationships>", outside % b"drawing")
    parts |= {"xl/vbaProject.bin": b"macro", "xl/externalLinks/externalLink1.xml": b"<!DOCTYPE never read"}
    parts |= {"xl/media/image1.png": hostile.picture(), "xl/media/image2.png": hostile.picture()}
    book = read_workbook(pack(path, parts))
    assert book.notes == ("links to other workbooks (1): not followed", "macros (1): not run", "pictures (2): not read")
    assert book.sheets[TAB].cells[1, 2].value == 2200
