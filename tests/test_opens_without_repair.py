"""A drafted workbook opens without an offer to repair it: the schemas of Office Open XML hold, as an independent
validator sees them; nothing that programs stumble over beyond them stands in it; several readers see the same cells."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest
from engines import Ironcalc
from lxml import etree
from openxml_audit import FileFormat, OpenXmlValidator
from python_calamine import CalamineWorkbook
from repair_causes import causes
from returned_workbooks import ROOT, small_record, write
from written_file import MAIN, VALUE, sheet_parts, with_markup

OLDEST, NEWEST = FileFormat.OFFICE_2007, FileFormat.MICROSOFT_365  # that it knows
SAMPLES = sorted((ROOT / "output_samples").glob("*.xlsx"))


@pytest.fixture(scope="module")
def typed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small workbook, its boxes filled with awkward texts among others."""
    return write(tmp_path_factory.mktemp("schema") / "typed.xlsx", small_record, 4)


def faults(path: Path, version: FileFormat) -> list[str]:
    return [f"{item.part_uri}: {item.description}" for item in OpenXmlValidator(version).validate(path).errors]


def test_the_schemas_hold_for_what_was_typed(typed: Path) -> None:
    assert faults(typed, OLDEST) == []


def test_the_schemas_hold_for_the_sample_with_most_in_it() -> None:
    assert faults(max(SAMPLES, key=lambda path: path.stat().st_size), NEWEST) == []


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_nothing_else_asks_for_a_repair(path: Path) -> None:
    assert causes(path) == []


def test_nothing_typed_asks_for_a_repair(typed: Path) -> None:
    assert causes(typed) == []


def test_three_readers_see_the_same_cells(typed: Path) -> None:
    """openpyxl, calamine (Rust) and ironcalc (Rust): the same tabs, and as many cells that hold something."""
    theirs = openpyxl.load_workbook(typed, data_only=True)
    other = CalamineWorkbook.from_path(typed)
    assert theirs.sheetnames == other.sheet_names
    filled = {s.title: sum(cell.value not in (None, "") for row in s.iter_rows() for cell in row) for s in theirs}
    assert filled == {
        name: sum(value != "" for row in other.get_sheet_by_name(name).to_python() for value in row) for name in filled
    }
    assert {tab for tab, _ in Ironcalc(typed).stored} == set(filled)


# --- planted ----------------------------------------------------------------------------------------------------------

Change = Callable[[etree._Element], None]


def misplaced(root: etree._Element) -> None:
    root.insert(0, root.find(MAIN + "sheetProtection"))


def of_no_kind(root: etree._Element) -> None:
    next(root.iter(MAIN + "c")).set("t", "zz")


def unknown(root: etree._Element) -> None:
    root.append(etree.Element(MAIN + "unheard-of"))


def lost_text(root: etree._Element) -> None:
    next(cell for cell in root.iter(MAIN + "c") if cell.get("t") == "s").find(VALUE).text = "99999999"


def lost_style(root: etree._Element) -> None:
    next(root.iter(MAIN + "c")).set("s", "9999")


def cells_swapped(root: etree._Element) -> None:
    row = next(row for row in root.iter(MAIN + "row") if len(row) > 2)
    row.append(row[0])


def rows_swapped(root: etree._Element) -> None:
    data = root.find(MAIN + "sheetData")
    data.append(data[0])


def merged_over(root: etree._Element) -> None:
    merged = etree.Element(MAIN + "mergeCells")
    for place in ("AA1:AB2", "AB2:AC3"):
        etree.SubElement(merged, MAIN + "mergeCell", ref=place)
    root.find(MAIN + "sheetProtection").addnext(merged)


def validated_twice(root: etree._Element) -> None:
    one = next(root.iter(MAIN + "dataValidation"))
    one.addnext(etree.fromstring(etree.tostring(one)))


def named_elsewhere(root: etree._Element) -> None:
    next(root.iter(MAIN + "definedName")).text = "Nowhere!$1:$3"


def test_the_validator_sees_what_is_planted(typed: Path, tmp_path: Path) -> None:
    changes = {"Workings": misplaced, "Work": of_no_kind, "Estimate": unknown, "Limits": lost_text}
    found = faults(with_markup(typed, tmp_path / "planted.xlsx", changes), FileFormat.OFFICE_2019)
    with zipfile.ZipFile(typed) as book:
        parts = sheet_parts(book)
    for name in changes:
        assert any(line.startswith(f"/{parts[name]}") for line in found), (name, found)


@pytest.mark.parametrize(
    ("name", "change"),
    [
        ("Work", lost_text),
        ("Work", lost_style),
        ("Work", cells_swapped),
        ("Work", rows_swapped),
        ("Work", merged_over),
        ("Work", validated_twice),
        ("xl/workbook.xml", named_elsewhere),
        ("xl/_rels/workbook.xml.rels", lambda root: root[0].set("Target", "worksheets/sheet99.xml")),
        ("[Content_Types].xml", lambda root: root.remove(root[0])),
    ],
)
def test_the_other_causes_are_seen_where_they_are_planted(
    name: str, change: Change, typed: Path, tmp_path: Path
) -> None:
    path = with_markup(typed, tmp_path / "planted.xlsx", {name: change})
    assert causes(path)
