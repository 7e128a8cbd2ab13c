"""openpyxl as the judge of the reader: a workbook loaded twice, for formulas and values, in the reader's own terms."""

import warnings
from io import BytesIO
from pathlib import Path

from openpyxl import load_workbook
from openpyxl.cell.cell import Cell, MergedCell
from openpyxl.utils.datetime import CALENDAR_MAC_1904, to_excel
from openpyxl.worksheet.formula import ArrayFormula, DataTableFormula
from openpyxl.worksheet.worksheet import Worksheet

from estimator.readback.cells import ErrorValue, ReadCell, SheetCells, WorkbookCells

LAST_DAY = 2_958_465  # 9999-12-31
HALF_A_MILLISECOND = 0.0005 / 86400  # in days; openpyxl rounds times to the millisecond


def judged(path: Path) -> WorkbookCells:
    """The workbook as openpyxl reads it. Print titles and areas, which it keeps elsewhere, are not among the names."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        content = BytesIO(path.read_bytes())  # a file would stay open where openpyxl fails
        formulas, values = load_workbook(content), load_workbook(content, data_only=True)
    names = {name: given.value for name, given in formulas.defined_names.items()}
    for sheet in formulas.worksheets:
        names |= {f"{sheet.title}!{name}": given.value for name, given in sheet.defined_names.items()}
    sheets = {s.title: _sheet(s, values[s.title], formulas.epoch) for s in formulas.worksheets}
    return WorkbookCells(path, sheets, names, date1904=formulas.epoch == CALENDAR_MAC_1904)


def _sheet(formulas: Worksheet, values: Worksheet, epoch: object) -> SheetCells:
    cells, comments = {}, {}
    for place, cell in formulas._cells.items():
        if cell.comment:
            comments[place] = cell.comment.text
        if not isinstance(cell, MergedCell):
            read = _cell(cell, values._cells[place], epoch)
            invented = (
                cell.hyperlink and cell.value == cell.hyperlink.target
            )  # which openpyxl writes into an empty cell
            if not invented and (read.value is not None or read.formula is not None):
                cells[place] = read
    return SheetCells(formulas.title, formulas.sheet_state, cells, comments, bool(formulas.protection.sheet))


def _cell(formula: Cell, stored: Cell, epoch: object) -> ReadCell:
    text, array = None, ""
    if isinstance(formula.value, ArrayFormula):
        text, array = formula.value.text, formula.value.ref
    elif isinstance(formula.value, DataTableFormula):
        inputs = [given for given in (formula.value.r1, formula.value.r2) if given]
        text, array = f"=TABLE({','.join(inputs)})", formula.value.ref
    elif formula.data_type == "f":
        text = formula.value
    value = stored.value
    is_date = stored.data_type == "d"
    if is_date:
        value = to_excel(value, epoch)
    elif stored.data_type == "e" and value is not None:
        value = ErrorValue(value)
    return ReadCell(None if value == "" else value, text, is_date, array)


def differences(ours: WorkbookCells, theirs: WorkbookCells) -> list[str]:
    """Where two readings of one workbook differ, in words."""
    found = []
    if list(ours.sheets) != list(theirs.sheets):
        found.append(f"tabs: {list(ours.sheets)} and {list(theirs.sheets)}")
    names, others = (_own_names(book) for book in (ours, theirs))
    if (names, ours.date1904) != (others, theirs.date1904):
        found.append(f"names: {names}, {ours.date1904} and {others}, {theirs.date1904}")
    for name in ours.sheets.keys() & theirs.sheets.keys():
        one, other = ours.sheets[name], theirs.sheets[name]
        if (one.state, one.protected, one.comments) != (other.state, other.protected, other.comments):
            found.append(
                f"{name}: {one.state, one.protected, one.comments} and {other.state, other.protected, other.comments}"
            )
        for place in sorted(one.cells.keys() | other.cells.keys()):
            if not same_cell(one.cells.get(place), other.cells.get(place)):
                found.append(f"{name} {place}: {one.cells.get(place)} and {other.cells.get(place)}")
    return found


def same_cell(one: ReadCell | None, other: ReadCell | None) -> bool:
    if one is None or other is None:
        return one is other
    if one.is_date and other.value == "#VALUE!" and not 0 <= one.value <= LAST_DAY:
        return one.formula == other.formula  # openpyxl's word for a date past the calendar's end
    if one[1:] != other[1:]:
        return False
    if one.is_date and other.value is not None:
        return abs(one.value - other.value) <= HALF_A_MILLISECOND * 1.001
    number = isinstance(one.value, int | float) and not isinstance(one.value, bool)
    return one.value == other.value and (number or type(one.value) is type(other.value))


def _own_names(book: WorkbookCells) -> dict[str, str]:
    return {name: text for name, text in book.defined_names.items() if "_xlnm." not in name}
