"""Workbooks typed into and saved by other programs: no false findings, planted edits found, every entry read.

The files of foreign_workbooks/ were made by its recipe; those that can be made here are made again and tested too.
"""

import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from engines import needs_libreoffice
from returned_workbooks import ROOT, address_of, book_of, check, rules, small_record, with_cells, write
from written_file import to_formula, to_value

from estimator.readback.check import Checked

FOLDER = ROOT / "tests" / "foreign_workbooks"
sys.path.append(str(FOLDER))

from make import MAKERS, typed  # noqa: E402

TYPED = {key: value for key, value in typed().items() if value != ""}
TABS = len(book_of().tabs)
# Program -> findings above a note: rule and how often, None: however often
SAID: dict[str, dict[str, int | None]] = {
    "libreoffice": {},
    "libreoffice-ods": {},
    "ironcalc": {},
    "gnumeric": {"value-stale": 1, "values-absent": None},  # without causes it recommends fewer jobs: empty lines
    "openpyxl": {"values-absent": 1},
    "exceljs": {"value-stale": None, "values-absent": None},
    "pandas": {"formula-replaced": TABS},
}
# Findings of a workbook that the present program would draft otherwise: make.py makes it again.
DRAFTED_OTHERWISE = {"record-altered", "other-version"}


def held(name: str, checked: Checked) -> None:
    """What is said of an untouched workbook of a program is what should be said, and its boxes are read."""
    assert checked.entries.values == TYPED
    assert checked.entries.counts["not_understood"] == checked.entries.counts["not_found"] == 0
    found = {rule: count for rule, count in rules(checked).items() if rule not in DRAFTED_OTHERWISE}
    wanted = SAID[name]
    if "value-stale" in wanted and not DRAFTED_OTHERWISE & set(rules(checked)):
        assert "value-stale" in found
    for rule, count in wanted.items():
        assert rule in found or count is None, f"{rule} isn't said"
        assert count is None or found[rule] == count, found
    assert not found.keys() - wanted.keys(), [item.line() for item in checked.integrity if item.severity != "note"][:5]


@pytest.mark.parametrize("name", SAID)
def test_a_workbook_saved_by_another_program(name: str) -> None:
    held(name, check(FOLDER / f"{name}.xlsx"))


PLANTED: dict[str, tuple[str, object]] = {
    "formula-changed": ("total.total.agreed", to_formula("1+1")),
    "input-changed": (
        next(key for key in book_of().by_key if key.startswith("rate.") and key.endswith("per_hour")),
        to_value(1.0),
    ),
    "text-changed": ("work.fees.c8", to_value("another text")),
    "formula-replaced": ("total.tax.agreed", to_value(0.0)),
}


@pytest.mark.parametrize("name", SAID)
def test_planted_edits_are_found_all_the_same(name: str, tmp_path: Path) -> None:
    planted = {rule: item for rule, item in PLANTED.items() if name != "pandas" or not rule.startswith("formula")}
    edits = {address_of(key): edit for key, edit in planted.values()}
    checked = check(with_cells(FOLDER / f"{name}.xlsx", tmp_path / "planted.xlsx", edits))
    found = {item.key: item.rule for item in checked.integrity if item.severity == "stop"}
    for rule, (key, _) in planted.items():
        assert found.get(key) == rule
    assert checked.entries.values == TYPED and checked.state == "unsound"


def made_here(name: str, folder: Path) -> Checked:
    make: Callable[[Path, Path], None] = MAKERS[name]
    make(write(folder / "sound.xlsx", small_record), folder / f"{name}.xlsx")
    return check(folder / f"{name}.xlsx")


@pytest.mark.parametrize("name", ["openpyxl", "pandas", "ironcalc"])
def test_a_workbook_saved_by_another_program_here(name: str, tmp_path: Path) -> None:
    checked = made_here(name, tmp_path)
    assert not DRAFTED_OTHERWISE & set(rules(checked, "note"))
    held(name, checked)


@needs_libreoffice
def test_a_workbook_saved_by_libreoffice_here(tmp_path: Path) -> None:
    sound_by_libreoffice("libreoffice", tmp_path)


def sound_by_libreoffice(name: str, folder: Path) -> None:
    checked = made_here(name, folder)
    assert checked.state == "sound"
    held(name, checked)
