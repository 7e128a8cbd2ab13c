"""Damaged workbooks: the reader refuses in words or gives what an independent reading gives; nothing else happens."""

import random
import zipfile
from pathlib import Path

import pytest
import sample_workbooks as samples
from hostile import SHEET, pack, parts_of
from openpyxl_judge import differences, judged

from estimator.errors import UnreadableFile
from estimator.readback.cells import WorkbookCells, read_workbook

SEED = 20261125
SAMPLES = 500
PARTS = (
    SHEET,
    "xl/worksheets/sheet2.xml",
    "xl/sharedStrings.xml",
    "xl/workbook.xml",
    "xl/styles.xml",
    "xl/comments1.xml",
)
PARTS += ("[Content_Types].xml", "xl/_rels/workbook.xml.rels", "_rels/.rels", "docProps/app.xml")
LETTERS = b"<>/\"'=&; 0159aArstv!-?[]:_.\0\n\xff\xc3"


def outcome(path: Path) -> WorkbookCells | str:
    try:
        return read_workbook(path)
    except UnreadableFile as refusal:
        message = str(refusal)
        assert "\n" not in message and refusal.what and refusal.fix
        assert (refusal.rule, refusal.exit_status) in (("unreadable-file", 65), ("over-size", 65))
        return message


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return samples.by_xlsxwriter(tmp_path_factory.mktemp("whole") / "whole.xlsx", extremes=False)


def test_bytes_of_the_file_changed_cut_or_repeated(whole: Path, tmp_path: Path) -> None:
    """What the archive's checksums don't catch is what nobody reads: the tabs stay as they were."""
    rng, content, sound = random.Random(SEED), whole.read_bytes(), read_workbook(whole)
    path, refused = tmp_path / "quote.xlsx", 0
    for _ in range(SAMPLES):
        damaged = bytearray(content)
        kind, place = rng.choice(["flip", "cut", "drop", "zero", "double"]), rng.randrange(len(content))
        length = rng.choice([1, 1, 4, 100, 2000])
        if kind == "flip":
            for _ in range(length):
                damaged[rng.randrange(len(damaged))] ^= 1 << rng.randrange(8)
        elif kind == "cut":
            del damaged[place:]
        elif kind == "drop":
            del damaged[place : place + length]
        elif kind == "zero":
            damaged[place : place + length] = bytes(min(length, len(content) - place))
        else:
            damaged[place:place] = damaged[place : place + length]
        path.write_bytes(damaged)
        found = outcome(path)
        if isinstance(found, str):
            refused += 1
        else:
            assert found.sheets == sound.sheets
    assert refused > SAMPLES / 2


def damaged_markup(rng: random.Random, content: bytes) -> bytes:
    """One to three places of a part changed, dropped, doubled or swapped with another."""
    for _ in range(rng.choice([1, 1, 1, 2, 3])):
        place = rng.randrange(len(content))
        length = rng.choice([1, 2, 5, 20, 60])
        piece = content[place : place + length]
        new = rng.choice([b"", bytes([rng.choice(LETTERS)]), piece * 2, piece[::-1], content[-place : length - place]])
        content = content[:place] + new + content[place + length :]
    return content


def test_markup_changed(whole: Path, tmp_path: Path) -> None:
    """The archive is sound, what is in it isn't. openpyxl agrees where it reads it."""
    rng, parts, path = random.Random(SEED), parts_of(whole), tmp_path / "quote.xlsx"
    read = agreed = 0
    for _ in range(SAMPLES):
        part = rng.choice(PARTS)
        pack(path, parts | {part: damaged_markup(rng, parts[part])}, zipfile.ZIP_STORED)
        found = outcome(path)
        if isinstance(found, WorkbookCells):
            read += 1
            try:
                theirs = judged(path)
            except Exception:  # what openpyxl raises on damage is anything
                continue
            agreed += 1
            assert differences(found, theirs) == []
    assert read > 20 and agreed > 15, (read, agreed)
