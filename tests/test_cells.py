"""The reader against openpyxl cell by cell, against python-calamine for values, and against what was written."""

import re
from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from pathlib import Path

import engines
import pytest
import sample_workbooks as samples
import xlsxwriter
from engines import needs_libreoffice
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl_judge import differences, judged
from python_calamine import CalamineWorkbook

from estimator.readback.cells import ErrorValue, ReadCell, read_workbook

WRITERS: dict[str, Callable[[Path], Path]] = {
    "XlsxWriter": samples.by_xlsxwriter,
    "XlsxWriter, texts in the cells": lambda path: samples.by_xlsxwriter(path, constant_memory=True),
    "XlsxWriter, days from 1904": lambda path: samples.by_xlsxwriter(path, date_1904=True),
    "openpyxl": samples.by_openpyxl,
}


@pytest.mark.parametrize("writer", WRITERS)
def test_equal_to_openpyxl(writer: str, tmp_path: Path) -> None:
    path = WRITERS[writer](tmp_path / "quote.xlsx")
    ours = read_workbook(path)
    assert sum(len(tab.cells) for tab in ours.sheets.values()) > 60
    assert differences(ours, judged(path)) == []


@needs_libreoffice
def test_equal_to_openpyxl_once_libreoffice_has_saved(tmp_path: Path) -> None:
    by_two = [samples.by_xlsxwriter(tmp_path / "one.xlsx", extremes=False), samples.by_openpyxl(tmp_path / "two.xlsx")]
    saved = engines._soffice(by_two, tmp_path / "saved", "xlsx:Calc MS Excel 2007 XML", engines.RECALCULATE_NEVER)
    for path in saved:
        ours = read_workbook(path)
        assert ours.program.startswith("LibreOffice/")
        assert differences(ours, judged(path)) == []


CHANGES = [samples.with_a_comment, samples.with_prefixes, samples.in_utf16, samples.spread_out, samples.strict]


@pytest.mark.parametrize("change", CHANGES)
@pytest.mark.parametrize("writer", WRITERS)
def test_other_markup_reads_the_same(writer: str, change: Callable[[str, bytes], bytes], tmp_path: Path) -> None:
    path = WRITERS[writer](tmp_path / "quote.xlsx")
    copy = samples.rewritten(path, tmp_path / "copy.xlsx", change)
    if change is not samples.strict:
        assert differences(read_workbook(copy), judged(copy)) == []
    one, other = read_workbook(path), read_workbook(copy)
    assert (one.sheets, one.defined_names, one.date1904) == (other.sheets, other.defined_names, other.date1904)


def test_values_equal_those_of_calamine(tmp_path: Path) -> None:
    path = samples.by_xlsxwriter(tmp_path / "quote.xlsx", extremes=False)
    ours, theirs = read_workbook(path).sheets, CalamineWorkbook.from_path(path)
    compared = 0
    for name in ("Inspection", "Brake lines & hoses"):
        grid = theirs.get_sheet_by_name(name).to_python(skip_empty_area=False)
        for (row, column), cell in ours[name].cells.items():
            value = grid[row - 1][column - 1]
            if not isinstance(cell.value, ErrorValue) and not isinstance(value, date | datetime | time | timedelta):
                assert value == ("" if cell.value is None else cell.value), (name, row, column)
                compared += 1
    assert compared > 50


SHEET_TEXT = st.text(st.characters(codec="utf-8", exclude_characters="\0\ufffe\uffff\r"), min_size=1, max_size=40)
# XlsxWriter escapes only the first of two escapes that share a "_"; what it writes then means something else
SHEET_TEXT = SHEET_TEXT.filter(lambda text: not re.search("_x[0-9A-Fa-f]{4}_x[0-9A-Fa-f]{4}_", text))
ESCAPES = st.sampled_from(["_x0041_", "_x005F_", "a_x000D_b", "_x0041", "__x0041__", "_xD83D_", "\x07bell"])
CONSTANTS = st.one_of(SHEET_TEXT, ESCAPES, st.integers(-(10**15), 10**15), st.booleans())
CONSTANTS |= st.floats(-1e308, 1e308).map(lambda number: float(f"{number:.15g}"))
PLACES = st.tuples(st.integers(1, 60), st.integers(1, 30))
FORMULAS = st.tuples(SHEET_TEXT, CONSTANTS).map(lambda pair: (f'="{pair[0]}"&A1'.replace("\n", " "), pair[1]))


def _survives(pair: tuple[str, object]) -> bool:
    """XlsxWriter escapes neither formulas nor the texts that they store, so that only some survive."""
    formula, value = pair
    text = value if isinstance(value, str) else ""
    return formula.isprintable() and text.isprintable() and "_x" not in text and not text.startswith("#")


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    constants=st.dictionaries(PLACES, CONSTANTS, max_size=20),
    formulas=st.dictionaries(PLACES, FORMULAS.filter(_survives), max_size=8),
)
def test_what_is_written_is_read(constants: dict, formulas: dict, tmp_path: Path) -> None:
    path = tmp_path / "quote.xlsx"
    book = xlsxwriter.Workbook(path, {"strings_to_formulas": False})
    tab = book.add_worksheet("Inspection")
    for (row, column), value in constants.items():
        write = {str: tab.write_string, bool: tab.write_boolean}.get(type(value), tab.write_number)
        write(row - 1, column - 1, value)
    for (row, column), (formula, value) in formulas.items():
        tab.write_formula(row - 1, column - 1, formula, None, value)
    book.close()
    cells = read_workbook(path).sheets["Inspection"].cells
    wanted = {place: ReadCell(value) for place, value in constants.items()}
    wanted |= {place: ReadCell(value, formula) for place, (formula, value) in formulas.items()}
    assert cells == wanted
    for place, cell in wanted.items():
        kinds = [kind for kind in (str, bool, int | float) if isinstance(cell.value, kind)]
        assert isinstance(cells[place].value, kinds[0]) and not isinstance(cells[place].value, ErrorValue)
    escaped = any("_x" in str(value) or not str(value).isprintable() for value in constants.values())
    assert escaped or differences(read_workbook(path), judged(path)) == []
