"""The entries in the boxes of a workbook, and what can't be understood of them."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from dataclasses import dataclass

from estimator.errors import Finding
from estimator.readback.cells import ReadCell, WorkbookCells
from estimator.readback.locate import Located, cell_name
from estimator.readback.values import ErrorValue
from estimator.records import EntryValue
from estimator.workbook.book import Box, Cell, Layout

_NUMBER = re.compile(r"[~≈+-]?\s*(\d{1,3}(?:[,\s]\d{3})+|\d+)(?:[.,](\d+))?")
_EPOCH = dt.date(1899, 12, 30)


@dataclass(frozen=True)
class ReadBox:
    """One box as it was found: its key, where it lies, what is allowed, and what stands there."""

    key: str
    tab: str
    cell: str
    box: Box
    unit: str
    value: EntryValue | None
    understood: bool


@dataclass(frozen=True)
class Entries:
    boxes: tuple[ReadBox, ...]
    values: Mapping[str, EntryValue]
    findings: tuple[Finding, ...]

    @property
    def counts(self) -> dict[str, int]:
        """How many boxes were read, empty, not understood; they add up to all."""
        empty = sum(1 for box in self.boxes if box.value is None)
        unclear = sum(1 for box in self.boxes if not box.understood)
        return {"read": len(self.boxes) - empty - unclear, "empty": empty, "not_understood": unclear}


def read_entries(layout: Layout, workbook: WorkbookCells, located: Located) -> Entries:
    """Read every box wherever it went. What isn't understood is kept as the sheet sees it, and said."""
    boxes: list[ReadBox] = []
    values: dict[str, EntryValue] = {}
    findings: list[Finding] = []
    epoch_shift = 1462 if workbook.date1904 else 0
    for tab in layout.book.tabs:
        sheet = located.sheets.get(tab.name)
        if sheet is None:
            continue
        for part in tab.blocks:
            for row, column, cell, _ in layout.formulas(layout.placed[part.name]):
                if cell.box is None or located.is_gone(layout, tab.name, cell.key):
                    continue
                found = sheet.cells.get((row, column))
                value, trouble = _entry(found, cell.box, epoch_shift)
                where = cell_name(row, column)
                boxes.append(ReadBox(cell.key, sheet.name, where, cell.box, cell.unit, value, trouble is None))
                if value is not None:
                    values[cell.key] = value
                if trouble is not None:
                    findings.append(_finding(trouble, cell, sheet.name, where, found))
    return Entries(tuple(boxes), values, tuple(findings))


@dataclass(frozen=True)
class Trouble:
    rule: str
    what: str
    fix: str


def _entry(found: ReadCell | None, box: Box, epoch_shift: int) -> tuple[EntryValue | None, Trouble | None]:
    """What a box holds as the sheet sees it, and what is wrong with it."""
    if found is None or found.value is None or found.value == "":
        return None, None
    raw = found.value
    if found.formula is not None:
        trouble = Trouble("entry-not-understood", f"a formula stands in the box: {found.formula[:60]}", f"type {box.rule}")
        return _plain(raw, box, found.is_date, epoch_shift), trouble
    if isinstance(raw, ErrorValue):
        return str(raw), Trouble("entry-not-understood", f"an error value stands in the box: {raw}", f"type {box.rule}")
    value = _plain(raw, box, found.is_date, epoch_shift)
    return value, _trouble(value, box)


def _plain(raw: object, box: Box, is_date: bool, epoch_shift: int) -> EntryValue:
    if isinstance(raw, bool):
        return "TRUE" if raw else "FALSE"
    if isinstance(raw, int | float):
        number = float(raw)
        if box.kind == "date" and number == int(number) and 1 <= number < 2_958_466:
            return _EPOCH + dt.timedelta(days=int(number) + epoch_shift)
        return number
    text = str(raw)
    if box.kind == "list":
        return next((word for word in box.allowed if word.casefold() == text.casefold()), text)
    return text


def _trouble(value: EntryValue, box: Box) -> Trouble | None:
    if box.kind == "text":
        return None
    if box.kind == "list":
        if isinstance(value, str) and value in box.allowed:
            return None
        guess = next((word for word in box.allowed if word == str(value).strip().casefold()), "")
        fix = f'type "{guess}"' if guess else f"choose {box.rule}"
        return Trouble("entry-not-understood", f'"{value}" isn\'t a choice of this box', fix)
    if box.kind == "date":
        if isinstance(value, dt.date):
            return None
        return Trouble("entry-not-understood", f'"{value}" isn\'t a date', "type a date such as 2026-11-25")
    if isinstance(value, str):
        meant = meant_number(value)
        fix = f"type {meant} alone; the unit stands beside the box" if meant else f"type {box.rule}"
        return Trouble("entry-not-understood", f'"{value}" is a text, and the box takes a number', fix)
    if box.low is not None and box.high is not None and not box.low <= float(value) <= box.high:  # type: ignore[arg-type]
        return Trouble("entry-out-of-range", f"{value:g} is out of range", f"allowed is {box.rule}")
    return None


def meant_number(text: str) -> str:
    """The one number that a text seems to mean, or nothing where it is none or several.

    >>> meant_number("2,150 psi"), meant_number("152bar"), meant_number("2200-2250"), meant_number("n/a")
    ('2150', '152', '', '')
    """
    found = list(_NUMBER.finditer(text.strip()))
    if len(found) != 1:
        return ""
    whole, fraction = found[0][1], found[0][2]
    return re.sub(r"[,\s]", "", whole) + (f".{fraction}" if fraction else "")


def _finding(trouble: Trouble, cell: Cell, tab: str, where: str, found: ReadCell | None) -> Finding:
    assert cell.box is not None
    return Finding(
        trouble.rule,
        "stop",
        trouble.what,
        trouble.fix,
        tab=tab,
        cell=where,
        key=cell.key,
        expected=cell.box.rule,
        found="" if found is None else str(found.value)[:200],
        unit=cell.unit,
    )
