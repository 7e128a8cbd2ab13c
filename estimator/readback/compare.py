"""A workbook against the Book that its record and entries lead to: every text, constant, formula and stored value.

Whatever differs is a finding. A value that differs only because another cell was altered isn't listed by itself: the
altered cell is the cause, and the finding says how many follow from it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import NamedTuple

from estimator.errors import Finding
from estimator.quantities import twelve_digits
from estimator.readback.budget import Budget
from estimator.readback.cells import ReadCell, SheetCells, WorkbookCells
from estimator.readback.covering_ranges import covering_ranges
from estimator.readback.equal_formulas import same_formula
from estimator.readback.equal_operations import same_operations
from estimator.readback.equal_values import same_constant, same_value, words
from estimator.readback.locate import Located, cell_name
from estimator.readback.look_changes import TabLook, book_causes
from estimator.readback.other_version import UNKNOWN
from estimator.readback.outside_boxes import added_cells, attachments, protection, strange_tabs
from estimator.readback.root_causes import Cause, attribute, unexplained
from estimator.workbook.book import Cell, Tab
from estimator.workbook.layout import Layout
from estimator.workbook.page_look import folding
from estimator.workbook.placed_cells import GONE, PlacedBlock

_UNDO = "undo the change, or enter the new figure in the input file and redraft"
_RECALCULATE = "open the workbook in a spreadsheet program, let it recalculate, save it"
_PASTED, _PASTED_SHARE = 20, 0.5  # so many formulas, and this share of a tab's, replaced at once: pasted as values
_POSITION = re.compile(r"=(?:IFERROR\()?MATCH\([^()]*,\{(\w+):\w+\},0\)(?:,0\))?")


@dataclass(frozen=True)
class Comparison:
    """What differs, how many cells were compared, and how many formulas had a value that nothing could be held to."""

    findings: tuple[Finding, ...]
    compared: int
    unknown: int


def compare(
    layout: Layout, workbook: WorkbookCells, located: Located, causes: Iterable[Cause], *, looks: bool = True
) -> Comparison:
    """Compare every cell with the Book of a layout, which has the moves that were found.

    causes: what was found before, so that wrong values can be traced to it. looks: whether what a person sees is
    compared too, which only the version that drafted it can. Raises UnreadableFile, rule `over-size`,
    where comparing would take too long.
    """
    comparer = _Comparer(layout, workbook, located, looks)
    for tab in layout.book.tabs:
        if sheet := located.sheets.get(tab.name):
            comparer.tab(tab, sheet)
    comparer.causes += [*strange_tabs(workbook, located), *protection(layout, located), *attachments(workbook)]
    comparer.causes += book_causes(workbook) if looks else ()
    causes = [*causes, *comparer.causes]
    found = attribute(layout.book, causes, comparer.stale)
    absent = unexplained(layout.book, causes, comparer.absent)
    return Comparison((*found, *_without_values(absent)), comparer.compared, comparer.unknown)


class _Spot(NamedTuple):
    """A cell of the Book, and what stands where it belongs."""

    cell: Cell
    there: ReadCell | None
    tab: str
    row: int
    column: int

    @property
    def value(self) -> object:
        return None if self.there is None else self.there.value

    def finding(self, rule: str, what: str, fix: str, expected: str, found: str | None = None) -> Finding:
        found, where = words(self.value) if found is None else found, cell_name(self.row, self.column)
        return Finding(rule, "stop", what, fix, self.tab, where, self.cell.key, expected, found, self.cell.unit)

    def cause(self, rule: str, what: str, fix: str, expected: str) -> Cause:
        return Cause(self.finding(rule, what, fix, expected), frozenset((self.cell.key,)))


class _Comparer:
    def __init__(self, layout: Layout, workbook: WorkbookCells, located: Located, looks: bool) -> None:
        self.layout, self.located, self.date1904 = layout, located, workbook.date1904
        self.workbook, self.looks = workbook, looks
        self.budget = Budget(workbook.path)
        self.causes: list[Cause] = []
        self.stale: dict[str, Finding] = {}
        self.absent: list[Finding] = []
        self.compared = self.unknown = 0
        # What is gone leaves its mark in the formulas that named it, and is said once.
        self.something_gone = any(moves.gone or moves.loses for moves in layout.moves.values())

    def tab(self, tab: Tab, sheet: SheetCells) -> None:
        places: set[tuple[int, int]] = set()
        self.shown = TabLook(tab, sheet, self.workbook, folding=folding(self.layout, tab))
        self._texts(tab, sheet, places)
        replaced: list[tuple[Cause, bool]] = []
        formulas = 0
        for part in (tab.head, *tab.blocks):
            formulas += self._block(self.layout.placed[part.name], sheet, places, replaced)
        if len(replaced) >= max(_PASTED, _PASTED_SHARE * formulas):
            self.causes.append(_pasted(tab, sheet, replaced, formulas))
        else:
            self.causes += [cause for cause, _ in replaced]
        self.causes += [*covering_ranges(sheet, places), *added_cells(self.layout, tab, sheet, places)]
        self.causes += self.shown.causes(self.layout, places) if self.looks else ()

    def _texts(self, tab: Tab, sheet: SheetCells, places: set[tuple[int, int]]) -> None:
        for text in self.layout.texts(tab):
            places.add((text.row, text.column))
            there = sheet.cells.get((text.row, text.column))
            self.shown.cell(tab.blocks[-1], text.row, text.column, there, text.look, False, text.key)
            value = None if there is None else there.value
            if (there is not None and there.formula is not None) or not same_constant(text.text, value):
                finding = Finding(
                    "text-changed",
                    "stop",
                    "a text of the workbook was changed",
                    "put the text back",
                    tab=sheet.name,
                    cell=cell_name(text.row, text.column),
                    key=text.key,
                    expected=text.text[:200],
                    found=words(value),
                )
                self.causes.append(Cause(finding))

    def _block(
        self,
        place: PlacedBlock,
        sheet: SheetCells,
        places: set[tuple[int, int]],
        replaced: list[tuple[Cause, bool]],
    ) -> int:
        """Compare a block's cells. Returns the number of its formulas."""
        get = sheet.cells.get
        count = 0
        for column, rows, cells, formulas in self.layout.by_columns(place):
            there = [get((row, column)) for row in rows]
            places.update((row, column) for row in rows)
            if self.looks:
                for row, cell, found in zip(rows, cells, there, strict=True):
                    self.shown.cell(place.block, row, column, found, cell.look, cell.box is not None, cell.key)
            count += len(formulas) - formulas.count(None)
            self.compared += len(rows)
            # Most columns are equal as a whole, and need no closer look.
            if _all_boxes(cells) or _equal(there, cells, formulas):
                continue
            for row, cell, formula, found in zip(rows, cells, formulas, there, strict=True):
                if cell.box is not None:
                    continue
                spot = _Spot(cell, found, sheet.name, row, column)
                if formula is None:
                    self._constant(spot, place)
                else:
                    self._formula(spot, formula, place, replaced)
        return count

    def _constant(self, spot: _Spot, place: PlacedBlock) -> None:
        cell, there = spot.cell, spot.there
        on_basis = place.tab.name == "Basis"
        if there is not None and there.formula is not None:
            what = f"a formula in place of a constant: {there.formula[:80]}"
        elif same_constant(cell.value, spot.value, date1904=self.date1904):
            return
        else:
            what = "a rate, a limit or a datum was changed" if on_basis else "a constant was changed"
        rule = "input-changed" if on_basis or not isinstance(cell.value, str) else "text-changed"
        self.causes.append(spot.cause(rule, what, _UNDO, words(cell.value)))

    def _formula(self, spot: _Spot, formula: str, place: PlacedBlock, replaced: list[tuple[Cause, bool]]) -> None:
        cell, there = spot.cell, spot.there
        if there is None or there.formula is None:
            what = "a formula was deleted" if spot.value is None else "a value overwrites a formula"
            same = same_value(self._expected(cell, place), spot.value, cell)
            replaced.append((spot.cause("formula-replaced", what, "put the formula back", formula), same))
            return
        broken = GONE in formula or (self.something_gone and GONE in there.formula)
        judged = not broken and place.block.name not in place.moves.sorted
        if judged and (there.array or not self._same_formula(formula, there.formula)):
            fix = "put the formula back"
            changed = spot.finding("formula-changed", "a formula was changed", fix, formula, there.formula[:500])
            self.causes.append(Cause(changed, frozenset((cell.key,))))
            return
        expected = self._expected(cell, place)
        if expected is UNKNOWN:
            self.unknown += 1
        elif there.value is None and expected not in (None, ""):
            self.absent.append(spot.finding("values-absent", "", "", words(expected)))
        elif not same_value(expected, there.value, cell):
            what = "a stored value does not match the entries"
            self.stale[cell.key] = spot.finding("value-stale", what, _RECALCULATE, words(expected))

    def _same_formula(self, expected: str, found: str) -> bool:
        if expected == found:
            return True
        self.budget.spend("characters in formulas that aren't as drafted", len(expected) + len(found))
        self.budget.check_time()
        return same_formula(expected, found) or same_operations(expected, found)

    def _expected(self, cell: Cell, place: PlacedBlock) -> object:
        """The value of a formula cell. Where rows were inserted, a row's position within its block is another one."""
        if not self.layout.moves or cell.formula is None or not (match := _POSITION.fullmatch(cell.formula)):
            return cell.value
        other = self.layout.placed[match[1]]
        if not isinstance(cell.value, int) or cell.value < 1 or not other.moves.rows:
            return cell.value
        drafted = other.first_row + cell.value - 1
        now = other.moves.rows.get(drafted, drafted)
        return now - other.span[0] + 1 if now else cell.value


def _without_values(absent: list[Finding]) -> list[Finding]:
    """One finding for all formulas that store nothing."""
    if not absent:
        return []
    what = f"{len(absent)} formula cells hold no value: the program that saved the workbook did not compute them"
    return [replace(absent[0], what=what, fix=_RECALCULATE, followers=len(absent) - 1)]


def _all_boxes(cells: list[Cell]) -> bool:
    return all(cell.box is not None for cell in cells)


def _equal(there: list[ReadCell | None], cells: list[Cell], formulas: list[str | None]) -> bool:
    """Whether a column holds its formulas and values to the letter."""
    if [found and found.formula for found in there] != formulas:
        return False
    values = ["" if found is None or found.value is None else found.value for found in there]
    expected = [
        "" if cell.value is None else float(cell.value) if cell.value.__class__ is Decimal else cell.value
        for cell in cells
    ]
    # In Python True is 1; in a sheet it isn't.
    if bool in set(map(type, values)) or not (values == expected or all(map(_as_written, expected, values))):
        return False
    return not any(found.array for found, formula in zip(there, formulas, strict=True) if found and formula)


def _as_written(expected: object, found: object) -> bool:
    """Whether a value is found as it is written: numbers have twelve digits."""
    return found == expected or (isinstance(expected, float) and found == twelve_digits(expected))


def _pasted(tab: Tab, sheet: SheetCells, replaced: list[tuple[Cause, bool]], formulas: int) -> Cause:
    """One finding for a tab whose formulas were replaced by values all at once."""
    count = len(replaced)
    wrong = sum(1 for _, same in replaced if not same)
    values = "all of them the computed values" if not wrong else f"{wrong} of them not the computed ones"
    what = f"{count} of the {formulas} formulas of the tab were replaced by values, {values}"
    fix = "use the copy saved before; its entries are read anyway"
    finding = Finding("formula-replaced", "stop", what, fix, tab=sheet.name, followers=count)
    return Cause(finding, frozenset(key for cause, _ in replaced for key in cause.keys))
