"""A workbook against the Book that its record and entries lead to: every text, constant, formula and stored value.

Whatever differs is a finding. A value that differs only because another cell was altered isn't listed by itself: the
altered cell is the cause, and the finding says how many follow from it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from estimator.errors import Finding
from estimator.limits.sheet import serial
from estimator.quantities import UNITS
from estimator.readback.causes import attribute
from estimator.readback.cells import ReadCell, SheetCells, WorkbookCells
from estimator.readback.locate import Located, cell_name
from estimator.readback.normal import same_formula
from estimator.readback.values import ErrorValue
from estimator.workbook.book import Cell, Layout

_TOLERANCE = 1e-9
# Below this a difference is noise of binary fractions: in money, hours and shown units less than any step shown; SI
# values of small units (m³, m²) are compared relatively down to 1e-15.
_FLOOR = 1e-9
_SI_FLOOR = 1e-15
_UNDO = "undo the change, or draft again with the new figure"


@dataclass(frozen=True)
class Comparison:
    """What differs, and how many cells were compared."""

    findings: tuple[Finding, ...]
    compared: int


def compare(layout: Layout, workbook: WorkbookCells, located: Located, *, with_values: bool = True) -> Comparison:
    """Compare every cell. `layout` has the places found; values of formulas only `with_values`."""
    found: list[Finding] = []
    stale: dict[str, Finding] = {}
    absent: list[Finding] = []
    expected_places: dict[str, set[tuple[int, int]]] = {}
    compared = 0
    for tab in layout.book.tabs:
        sheet = located.sheets.get(tab.name)
        if sheet is None:
            continue
        places = expected_places.setdefault(tab.name, set())
        found += _texts(layout, tab, sheet, located, places)
        for part in (tab.head, *tab.blocks):
            judged = part.name not in located.sorted_blocks
            for row, column, cell, formula in layout.formulas(layout.placed[part.name]):
                compared += 1
                places.add((row, column))
                if cell.box is not None or located.is_gone(layout, tab.name, cell.key):
                    continue
                there = sheet.cells.get((row, column))
                place = {"tab": sheet.name, "cell": cell_name(row, column), "key": cell.key, "unit": cell.unit}
                if formula is None:
                    found += _constant(cell, there, tab.name, place)
                    continue
                if judged and (wrong := _formula(cell, formula, there, place)):
                    found.append(wrong)
                elif with_values and there is not None:
                    if there.value is None and cell.value not in (None, ""):
                        absent.append(_value_finding("values-absent", cell, there, place))
                    elif not same_value(cell.value, there.value, cell.unit or cell.look):
                        stale[cell.key] = _value_finding("value-stale", cell, there, place)
        found += _strangers(sheet, places)
    found += _added_tabs(workbook, located)
    found = attribute(layout, found, stale)
    if absent:
        what = f"{len(absent)} formula cells hold no value: the program that saved the workbook didn't work them out"
        fix = "open it in a spreadsheet program that recalculates, and save it"
        found.append(replace(absent[0], what=what, fix=fix, followers=len(absent) - 1))
    return Comparison(tuple(found), compared)


def same_value(expected: object, found: object, unit: str) -> bool:
    """Whether a stored value is the one that Python computed."""
    if expected is None or expected == "":
        return found is None or found == ""
    if isinstance(expected, dt.date):
        expected = serial(expected)
    if isinstance(expected, Decimal):
        expected = float(expected)
    if isinstance(expected, int | float):
        if isinstance(found, bool) or not isinstance(found, int | float):
            return False
        floor = _SI_FLOOR if unit == "factor" or unit in UNITS and UNITS[unit].factor < 1e-3 else _FLOOR
        return abs(found - expected) <= max(_TOLERANCE * max(abs(expected), abs(found)), floor)
    return isinstance(found, str) and not isinstance(found, ErrorValue) and found == expected


def _texts(
    layout: Layout, tab: object, sheet: SheetCells, located: Located, places: set[tuple[int, int]]
) -> Iterator[Finding]:
    for text in layout.texts(tab):  # type: ignore[arg-type]
        moves = layout.moves.get(tab.name)  # type: ignore[attr-defined]
        drafted_block = text.key.split(".")[0]
        row = moves.rows.get(text.row, text.row) if moves else text.row
        column = moves.columns.get(drafted_block, {}).get(text.column, text.column) if moves else text.column
        places.add((row, column))
        if text.row in located.missing_rows.get(tab.name, ()):  # type: ignore[attr-defined]
            continue
        if text.column in located.missing_columns.get(drafted_block, ()):
            continue
        there = sheet.cells.get((row, column))
        value = "" if there is None or there.value is None else there.value
        if value != text.text:
            yield Finding(
                "text-changed",
                "stop",
                "a text of the workbook was changed",
                "put the text back",
                tab=sheet.name,
                cell=cell_name(row, column),
                key=text.key,
                expected=text.text[:200],
                found=str(value)[:200],
            )


def _constant(cell: Cell, there: ReadCell | None, tab: str, place: dict[str, str]) -> Iterator[Finding]:
    value = None if there is None else there.value
    if there is not None and there.formula is not None:
        yield _altered(cell, f"a formula stands where a constant was: {there.formula[:80]}", there, tab, place)
    elif not same_value(cell.value, value, cell.look):
        yield _altered(cell, "a rate, a limit or a datum was changed" if tab == "Basis" else "a constant was changed", there, tab, place)


def _altered(cell: Cell, what: str, there: ReadCell | None, tab: str, place: dict[str, str]) -> Finding:
    rule = "input-changed" if tab == "Basis" or not isinstance(cell.value, str) else "text-changed"
    return Finding(
        rule,
        "stop",
        what,
        _UNDO,
        expected=words(cell.value),
        found="" if there is None or there.value is None else words(there.value),
        **place,
    )


def _formula(cell: Cell, formula: str, there: ReadCell | None, place: dict[str, str]) -> Finding | None:
    if there is None or there.formula is None:
        what = "a formula was deleted" if there is None or there.value is None else "a value was typed over a formula"
        found = "" if there is None or there.value is None else words(there.value)
        return Finding("formula-replaced", "stop", what, "put the formula back", expected=formula, found=found, **place)
    if there.array or not same_formula(formula, there.formula):
        found = there.formula[:500]
        return Finding(
            "formula-changed", "stop", "a formula was changed", "put the formula back", expected=formula, found=found, **place
        )
    return None


def _value_finding(rule: str, cell: Cell, there: ReadCell, place: dict[str, str]) -> Finding:
    return Finding(
        rule,
        "stop",
        "a stored value doesn't follow from the boxes",
        "open the workbook in a spreadsheet program, let it recalculate, save it",
        expected=words(cell.value),
        found="" if there.value is None else words(there.value),
        **place,
    )


def words(value: object) -> str:
    """A value as a message shows it."""
    if value is None:
        return ""
    return format(value, ".15g") if isinstance(value, float) else str(value)[:200]


def _strangers(sheet: SheetCells, places: set[tuple[int, int]]) -> Iterator[Finding]:
    for (row, column), cell in sorted(sheet.cells.items()):
        if (row, column) in places or cell.value in (None, ""):
            continue
        yield Finding(
            "text-added",
            "note",
            "something was written outside the boxes",
            "nothing: fill and redraft carry it into the notes",
            tab=sheet.name,
            cell=cell_name(row, column),
            found=words(cell.value),
        )
    for (row, column), comment in sorted(sheet.comments.items()):
        what = "a comment was added"
        yield Finding("text-added", "note", what, tab=sheet.name, cell=cell_name(row, column), found=comment[:200])


def _added_tabs(workbook: WorkbookCells, located: Located) -> Iterator[Finding]:
    known: Mapping[str, SheetCells] = located.sheets
    mine = {sheet.name for sheet in known.values()}
    for name, sheet in workbook.sheets.items():
        if name in mine:
            continue
        texts = [words(cell.value) for _, cell in sorted(sheet.cells.items()) if cell.value not in (None, "")]
        yield Finding("text-added", "note", "a tab was added", tab=name, found="; ".join(texts)[:500])
