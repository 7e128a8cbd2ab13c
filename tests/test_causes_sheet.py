"""Causes weighed live in the workbook, as Python weighs them."""

import math

import openpyxl
import pytest

from estimator.workbook.compose import compose
from estimator.workbook.layout import Layout
from estimator.workbook.placed_cells import column_letter
from estimator.workbook.write import workbook_bytes
from tests.engines import needs_libreoffice, recalculate_with_ironcalc, recalculate_with_libreoffice, stored_values
from tests.never_clear.good_car import fresh_car
from tests.test_causes import visit_of

TAB = "Causes"
MOST_FORMULAS = 1700
CARS = ("gas gone and pump weak", "check valve leaks, B", "pedal circuit leaks", "nothing read")


def appraised(name):
    return (fresh_car("A") if name == "nothing read" else visit_of(name)).appraise().appraisal


def written(folder, name):
    book = compose(appraised(name))
    path = folder / "car.xlsx"
    path.write_bytes(workbook_bytes(book))
    return book, path


def differing(stored, found):
    """Cells of the tab in which an engine and Python differ by more than 1e-9 of the number, or at all in words."""

    def same(one, other):
        if isinstance(one, int | float) and isinstance(other, int | float):
            return math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-15)
        return one == other

    return {
        cell: (stored.get((tab, cell)), value)
        for (tab, cell), value in found.items()
        if tab == TAB and not same(stored.get((tab, cell)), value)
    }


@pytest.mark.parametrize("name", CARS)
def test_ironcalc_and_python_agree(name, tmp_path):
    _, path = written(tmp_path, name)
    found = recalculate_with_ironcalc(path)
    assert sum(tab == TAB for tab, _ in found) > 1000
    assert differing(stored_values(path), found) == {}


@needs_libreoffice
def test_libreoffice_and_python_agree(tmp_path):
    _, path = written(tmp_path, CARS[0])
    assert differing(stored_values(path), recalculate_with_libreoffice([path])[0]) == {}


def test_there_are_not_too_many_formulas():
    book = compose(appraised(CARS[0]))
    tab = next(tab for tab in book.tabs if tab.name == TAB)
    cells = [cell for part in (tab.head, *tab.blocks) for row in part.rows for cell in row.cells]
    assert 1000 < sum(cell.formula is not None for cell in cells) <= MOST_FORMULAS
    assert sum(cell.formula is not None for cell in book.cells()) <= 18000


@needs_libreoffice
def test_another_reading_moves_the_ranking(tmp_path):
    """Readings typed into a drafted workbook by another program: the sheet names what Python names."""
    book, path = written(tmp_path, "nothing read")
    layout, visit = Layout(book), visit_of(CARS[0])
    file = openpyxl.load_workbook(path)
    for key, value in visit.entries.items():
        if key.startswith(("reading.", "visit.")) and key in book.by_key:
            tab, row, column = layout.address(key)
            file[tab][f"{column_letter(column)}{row}"] = value
    file.save(path)
    (found,) = recalculate_with_libreoffice([path])
    said = visit.appraise().appraisal.diagnosis
    tab, row, column = layout.address("top.top1.cause")
    assert found[tab, f"{column_letter(column)}{row}"] == said.causes[0].whole_title
    tab, row, column = layout.address("top.top1.share")
    assert found[tab, f"{column_letter(column)}{row}"] == pytest.approx(said.causes[0].probability, abs=1e-6)
    tab, row, column = layout.address("summary.cause-1.c1")
    assert said.causes[0].whole_title in found[tab, f"{column_letter(column)}{row}"]


def test_a_car_without_its_data_has_no_such_tab():
    visit = fresh_car("A")
    tables = visit.record.tables.model_copy(update={"causes": ()})
    visit.record = visit.record.model_copy(update={"tables": tables})
    assert TAB not in [tab.name for tab in compose(visit.appraise().appraisal).tabs]
