"""Ranges that cover drafted cells: array formulas, data tables, spilled results, merged cells."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from estimator.errors import Finding
from estimator.readback.addresses import Area, area_of
from estimator.readback.cells import SheetCells
from estimator.readback.locate import cell_name
from estimator.readback.root_causes import Cause

_Place = tuple[int, int]


def covering_ranges(sheet: SheetCells, places: Collection[_Place]) -> Iterator[Cause]:
    """Yield a stop for each range that covers drafted cells, wherever it begins.

    A program shows there what the range says, whatever the cell itself holds. places: of all cells that were drafted.
    """
    for area in sheet.merged:
        if area.size > 1:
            what = f"the cells {_name(area)} are merged: all but one of them are hidden"
            yield from _cause(
                sheet, area, places, what, "take the merge off, and see that each cell holds what it should"
            )
    for place, cell in sheet.cells.items():
        filled = area_of(cell.array) if cell.array else None
        if filled is not None and (filled.size > 1 or place not in places):
            kind = (
                "a data table"
                if cell.formula is not None and cell.formula.startswith("=TABLE(")
                else "an array formula"
            )
            what = f"{kind} at {cell_name(*place)} fills the cells {_name(filled)}"
            yield from _cause(sheet, filled, places, what, f"take {kind} out, and put back what stood there")


def _cause(sheet: SheetCells, area: Area, places: Collection[_Place], what: str, fix: str) -> Iterator[Cause]:
    if covered := area.among(places):
        count = "1 drafted cell" if len(covered) == 1 else f"{len(covered)} drafted cells"
        where = cell_name(*covered[0])
        yield Cause(Finding("range-over-cells", "stop", f"{what}; it covers {count}", fix, tab=sheet.name, cell=where))


def _name(area: Area) -> str:
    return f"{cell_name(area.top, area.left)}:{cell_name(area.bottom, area.right)}"
