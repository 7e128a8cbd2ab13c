"""Cells of a tab and shared texts of a workbook, from their parts."""

from __future__ import annotations

from collections.abc import Callable, Collection

from estimator.readback.budget import one_line
from estimator.readback.cell_parser import ALL_ROWS, CellParser, Cells, Lookups
from estimator.readback.elements import MAIN, Element
from estimator.readback.package_parts import Package
from estimator.readback.values import WrongMarkup, text_value


def read_cells(
    package: Package, part: str, lookups: Lookups, wanted: Collection[str], outside: Callable[[Element], None]
) -> Cells:
    """Return the cells of the tab in `part` by row and column, from 1, without those that hold nothing.

    outside: called for each element outside the cells whose path is among `wanted`. Raises UnreadableFile.
    """
    parser = CellParser(package.budget, part, lookups, wanted)
    whole = False
    try:
        for element in parser.elements(package.stream(part)):
            whole |= element.path == ALL_ROWS
            outside(element)
        if not whole:
            raise WrongMarkup("no cells at all, not even none")
    except WrongMarkup as trouble:
        raise package.budget.damaged(one_line(f'its part "{part}" holds {trouble}', 200)) from None
    return parser.cells


def shared_texts(package: Package, part: str) -> dict[str, str | None]:
    """Return number, as cells write it -> text, of all that the part of shared texts holds; None for an empty one.

    Raises UnreadableFile for a part that can't be read or holds too much.
    """
    found: dict[str, str | None] = {}
    text = ""
    for element in package.elements(part, MAIN):
        if element.path in ("sst/si/t", "sst/si/r/t"):
            text += element.text
        elif element.path == "sst/si":
            package.budget.spend("shared texts")
            found[str(len(found))] = text_value(text) or None
            text = ""
    return found
