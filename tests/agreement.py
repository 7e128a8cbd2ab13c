"""Whether a spreadsheet engine gets what a workbook stores beside its formulas: every cell, by key.

Numbers agree to 1e-9 of their size, or to a tolerance near zero that follows from their unit. Money agrees to the cent,
words exactly.
"""

from __future__ import annotations

import datetime as dt
import functools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path

from boxes_by_key import appraise_boxes
from engines import Cell as Address
from engines import Ironcalc, Value, Values
from strategies import WholeJob

from estimator.appraisal import Appraisal
from estimator.limits.sheet_arithmetic import serial
from estimator.money import from_float, half_up
from estimator.readback.equal_values import same_words
from estimator.workbook.book import Book, Cell
from estimator.workbook.compose import compose, working_tabs
from estimator.workbook.layout import Layout
from estimator.workbook.placed_cells import column_letter
from estimator.workbook.tabs.common import head_block
from estimator.workbook.write import workbook_bytes

RELATIVE = 1e-9
DIGIT = 1e-15
# What counts as zero: a billionth of what is shown, and in SI by the size of what is computed with. Of two pressures of
# 1e7 Pa that agree in 15 digits, spreadsheet programs take the difference for 0; volumes are 1e-6 m³ and more.
_SHOWN_FLOOR, _PLAIN_FLOOR = 1e-9, 1e-15
_SI_FLOORS = {"Pa": 1e-6, "m": 1e-12, "m²": 1e-15, "m³": 1e-15, "m³/s": 1e-18, "1/Pa": 1e-24, "rad": 1e-12}
MONEY = ("money", "total")


@dataclass(frozen=True)
class Drafted:
    """A job on its way into a file."""

    job: WholeJob
    appraisal: Appraisal
    book: Book
    path: Path

    @functools.cached_property
    def cells(self) -> Mapping[Address, Cell]:
        """Every cell of the Book by tab and address."""
        layout = Layout(self.book)
        found = {}
        for key, cell in self.book.by_key.items():
            tab, row, column = layout.address(key)
            found[tab, f"{column_letter(column)}{row}"] = cell
        return found


def typed_over(draft: Drafted, job: WholeJob, book: Ironcalc) -> Drafted:
    """Other entries of the same visit, typed into the boxes of the workbook that is open in an engine.

    The tab Record is taken over: it holds no entry but for the state at its head.
    """
    appraisal = appraise_boxes(job.record, job.entries)
    tabs = working_tabs(appraisal)
    record = replace(draft.book.tabs[-1], head=head_block(appraisal.driving.state, "Record"))
    other = Drafted(job, appraisal, replace(tabs, tabs=(*tabs.tabs, record)), draft.path)
    for address, cell in other.cells.items():
        if cell.box is not None and cell.value != draft.cells[address].value:
            value = serial(cell.value) if isinstance(cell.value, dt.date) else cell.value
            book.type(address, None if value in ("", None) else value)
    return other


def unlike(one: Drafted, other: Drafted) -> list[str]:
    """Cells but boxes that aren't the same in two workbooks of one visit: what is typed changes values alone."""
    found = [f"{place} is in one of them" for place in one.cells.keys() ^ other.cells.keys()]
    for place in one.cells.keys() & other.cells.keys():
        a, b = one.cells[place], other.cells[place]
        if a._replace(value=None) != b._replace(value=None) or (
            a.box is None and a.formula is None and a.value != b.value
        ):
            found.append(f"{place}: {a} became {b}")
    return found


def drafted(job: WholeJob, path: Path) -> Drafted:
    """The road from a record and entries to a file."""
    appraisal = appraise_boxes(job.record, job.entries)
    book = compose(appraisal)
    path.write_bytes(workbook_bytes(book))
    return Drafted(job, appraisal, book, path)


def disagreements(draft: Drafted, stored: Values | None, worked_out: Values, engine: str) -> list[str]:
    """A line for each formula cell in which an engine, the file (where it holds these values) and the Book differ."""
    formulas = {address: cell for address, cell in draft.cells.items() if cell.formula is not None}
    sides = [(f"{engine} has", worked_out)] + ([("the file stores", stored)] if stored is not None else [])
    found = []
    for what, values in sides:
        found += [f"{place} is a formula in the file or in the Book alone" for place in formulas.keys() ^ values.keys()]
        for address, cell in formulas.items():
            if address in values and not agrees(cell, values[address], _digits_lost(draft.book, cell)):
                place, value = "!".join(address), values[address]
                found.append(
                    f"{draft.job}: {place} {cell.key}: Python {cell.value!r}, {what} {value!r}: {cell.formula}"
                )
    return found


def _digits_lost(book: Book, cell: Cell) -> float:
    """What is uncertain in the rest of an amount over whole cents: spreadsheet programs carry 15 digits of the amount."""
    if not cell.key.startswith("tax_split.") or ".rest_" not in cell.key:
        return 0.0
    return 10.0 * DIGIT * abs(float(book.by_key[cell.key.replace(".rest_", ".exact_")].value))


def agrees(cell: Cell, value: Value, lost: float = 0.0) -> bool:
    """Whether a value is the one that a formula cell of the Book has; `lost`: what cancels out in it anyhow."""
    expected = 0.0 + float(cell.value) if isinstance(cell.value, Decimal | int | float) else cell.value or ""
    if isinstance(expected, str) and isinstance(value, str):
        return same_words(expected, value)
    if isinstance(expected, str) or isinstance(value, bool | str | None):
        return False
    if cell.look in MONEY:
        return half_up(from_float(expected)) == half_up(from_float(value)) == half_up(from_float(round(value, 8)))
    return abs(value - expected) <= max(RELATIVE * max(abs(value), abs(expected)), floor(cell), lost)


def floor(cell: Cell) -> float:
    if cell.unit in _SI_FLOORS:
        return _SI_FLOORS[cell.unit]
    return _PLAIN_FLOOR if not cell.unit and cell.look in ("factor", "si") else _SHOWN_FLOOR


def shortened(lines: list[str]) -> Iterator[str]:
    """The first disagreement of each column, with how many there are."""
    yield from lines[:12]
    if len(lines) > 12:
        yield f"and {len(lines) - 12} more"
