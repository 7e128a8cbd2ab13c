"""Cells of a tab and shared texts of a workbook, from their parts."""

from __future__ import annotations

from collections.abc import Callable, Collection

from estimator.readback.budget import one_line
from estimator.readback.cell_parser import ALL_ROWS, CellParser, Cells, Lookups
from estimator.readback.elements import MAIN, Element
from estimator.readback.looks import WANTED, SheetLook, faint_run
from estimator.readback.package_parts import Package
from estimator.readback.values import WrongMarkup, text_value

_RUN = "sst/si/r/rPr/"


def read_cells(
    package: Package, part: str, lookups: Lookups, wanted: Collection[str], outside: Callable[[Element], None]
) -> tuple[Cells, SheetLook]:
    """Return the cells of the tab in `part` by row and column, from 1, without those that hold nothing; and their look.

    outside: called for each element outside the cells whose path is among `wanted`. Raises UnreadableFile.
    """
    parser = CellParser(package.budget, part, lookups, (*wanted, *WANTED))
    whole = False
    try:
        for element in parser.elements(package.stream(part)):
            whole |= element.path == ALL_ROWS
            outside(element)
            parser.look.take(element)
        if not whole:
            raise WrongMarkup("no cells at all, not even none")
    except WrongMarkup as trouble:
        raise package.budget.damaged(one_line(f'its part "{part}" holds {trouble}', 200)) from None
    return parser.cells, parser.look


def shared_texts(package: Package, part: str) -> tuple[dict[str, str | None], frozenset[str]]:
    """Return number, as cells write it -> text, of all that the part of shared texts holds, None for an empty one; and
    the numbers of those of which a part is white, struck, raised or tiny.

    Raises UnreadableFile for a part that can't be read or holds too much.
    """
    found: dict[str, str | None] = {}
    faint: set[str] = set()
    text = ""
    for element in package.elements(part, MAIN):
        if element.path in ("sst/si/t", "sst/si/r/t"):
            text += element.text
        elif element.path.startswith(_RUN) and faint_run(element.path.removeprefix(_RUN), element.attributes):
            faint.add(str(len(found)))
        elif element.path == "sst/si":
            package.budget.spend("shared texts")
            found[str(len(found))] = text_value(text) or None
            text = ""
    return found, frozenset(faint)
