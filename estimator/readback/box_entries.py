"""The entries in the boxes of a workbook, and what can't be understood of them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from estimator.errors import Finding, nearest
from estimator.readback.budget import one_line
from estimator.readback.cells import ReadCell, SheetCells, WorkbookCells
from estimator.readback.locate import Located, cell_name
from estimator.readback.root_causes import Cause
from estimator.readback.suggest_value import days_meant, numbers_meant
from estimator.readback.values import ErrorValue
from estimator.records import EntryValue
from estimator.workbook.book import Block, Box, Cell
from estimator.workbook.layout import Layout

EPOCH = dt.date(1899, 12, 30)
DAYS_TO_1904 = 1462
_FIRST_DAY, _LAST_DAY = dt.date(1950, 1, 1), dt.date(2099, 12, 31)


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
class ReadEntries:
    """All boxes that were found, in the order of the workbook; their values as the sheet sees them; the keys of boxes
    whose row, column or tab is gone."""

    boxes: tuple[ReadBox, ...]
    values: Mapping[str, EntryValue]
    not_found: tuple[str, ...]
    causes: tuple[Cause, ...]

    @property
    def counts(self) -> dict[str, int]:
        """How many boxes there are, and how many of them were read, empty, not understood, not found; these add up."""
        unclear = sum(1 for box in self.boxes if not box.understood)
        empty = sum(1 for box in self.boxes if box.understood and box.value is None)
        return {
            "boxes": len(self.boxes) + len(self.not_found),
            "read": len(self.boxes) - empty - unclear,
            "empty": empty,
            "not_understood": unclear,
            "not_found": len(self.not_found),
        }


@dataclass(frozen=True)
class Trouble:
    """What is wrong with an entry: rule, what was found, what to do."""

    rule: str
    what: str
    fix: str


def read_entries(layout: Layout, workbook: WorkbookCells, located: Located) -> ReadEntries:
    """Read every box wherever it went. What isn't understood is kept as the sheet sees it, and said.

    layout: with the moves that were found. A row whose reference stands more than once isn't read.
    """
    reader = _Reader(layout, located, DAYS_TO_1904 if workbook.date1904 else 0)
    for tab in layout.book.tabs:
        for part in (tab.head, *tab.blocks):
            reader.read(part, located.sheets.get(tab.name))
    return ReadEntries(tuple(reader.boxes), reader.values, tuple(reader.not_found), tuple(reader.causes))


class _Reader:
    def __init__(self, layout: Layout, located: Located, epoch_shift: int) -> None:
        self.layout, self.located, self.epoch_shift = layout, located, epoch_shift
        self.boxes: list[ReadBox] = []
        self.values: dict[str, EntryValue] = {}
        self.not_found: list[str] = []
        self.causes: list[Cause] = []

    def read(self, part: Block, sheet: SheetCells | None) -> None:
        place = self.layout.placed[part.name]
        for row in part.rows:
            number = place.row_of[row.ref]
            copies = self.located.doubled.get((part.name, row.ref))
            for column, cell in zip(place.columns_of(row), row.cells, strict=True):
                if cell.box is None:
                    continue
                if sheet is None or not number or not column:
                    self.not_found.append(cell.key)
                elif copies:
                    self._doubled(cell, sheet, [(copy, column) for copy in copies])
                else:
                    self._box(cell, sheet, number, column)

    def _box(self, cell: Cell, sheet: SheetCells, row: int, column: int) -> None:
        assert cell.box is not None
        found = sheet.cells.get((row, column))
        value, trouble = understood(found, cell.box, cell.unit, self.epoch_shift)
        self._add(cell, sheet, cell_name(row, column), value, trouble, "" if found is None else str(found.value))

    def _doubled(self, cell: Cell, sheet: SheetCells, places: list[tuple[int, int]]) -> None:
        here = [(cell_name(*place), found.value) for place in places if (found := sheet.cells.get(place)) is not None]
        typed = [f"{one_line(str(value))} at {name}" for name, value in here if value not in (None, "")]
        trouble = None
        if typed:
            what = f"the row stands more than once, with {' and '.join(typed)}"
            trouble = Trouble("entry-not-understood", what, "take out the row that was copied in")
        self._add(cell, sheet, cell_name(*places[0]), None, trouble, "; ".join(typed))

    def _add(
        self, cell: Cell, sheet: SheetCells, where: str, value: EntryValue | None, trouble: Trouble | None, found: str
    ) -> None:
        assert cell.box is not None
        self.boxes.append(ReadBox(cell.key, sheet.name, where, cell.box, cell.unit, value, trouble is None))
        if value is not None:
            self.values[cell.key] = value
        if trouble is not None:
            finding = Finding(
                trouble.rule,
                "stop",
                trouble.what,
                trouble.fix,
                tab=sheet.name,
                cell=where,
                key=cell.key,
                expected=cell.box.rule,
                found=found[:200],
                unit=cell.unit,
            )
            self.causes.append(Cause(finding, frozenset((cell.key,))))


def understood(
    found: ReadCell | None, box: Box, unit: str, epoch_shift: int = 0
) -> tuple[EntryValue | None, Trouble | None]:
    """What a box holds as the formulas of the sheet see it, and what is wrong with it.

    epoch_shift: days to add to the serial numbers of dates.
    """
    if found is None or found.value is None or found.value == "":
        if found is None or found.formula is None:
            return None, None
        return None, _not_understood(f"formula in the entry box: {one_line(found.formula)}", f"enter {box.rule}")
    value = _value(found, box, epoch_shift)
    if found.formula is not None:
        fix = f"enter only {_shown(value)}" if _trouble(value, found, box, unit) is None else f"enter {box.rule}"
        return value, _not_understood(f"formula in the entry box: {one_line(found.formula)}", fix)
    return value, _trouble(value, found, box, unit)


def _value(found: ReadCell, box: Box, epoch_shift: int) -> EntryValue:
    raw = found.value
    if isinstance(raw, bool):
        return "TRUE" if raw else "FALSE"
    if isinstance(raw, int | float):
        if box.kind == "date" and 0 < raw < 2_958_466 - epoch_shift and raw == int(raw):
            return EPOCH + dt.timedelta(days=int(raw) + epoch_shift)
        return float(raw)
    text = str(raw)
    if box.kind == "list":
        # Formulas compare words without regard to capitals.
        return next((word for word in box.allowed if word.casefold() == text.casefold()), text)
    return text


def _trouble(value: EntryValue, found: ReadCell, box: Box, unit: str) -> Trouble | None:
    if isinstance(found.value, ErrorValue):
        return _not_understood(f"error value in the entry box: {one_line(found.value)}", f"enter {box.rule}")
    if box.kind == "list":
        return _word_trouble(value, box)
    if box.kind == "date":
        return _day_trouble(value)
    if box.kind == "number":
        return _number_trouble(value, found, box, unit)
    return None


def _word_trouble(value: EntryValue, box: Box) -> Trouble | None:
    if value in box.allowed:
        return None
    text = _shown(value)
    word = next((word for word in box.allowed if word.casefold() == text.strip().casefold()), "")
    hint = "" if word else nearest(text.strip().casefold(), box.allowed)
    return _not_understood(
        f'"{one_line(text)}" is not a choice of this box{hint}', f'enter "{word}"' if word else f"choose {box.rule}"
    )


def _day_trouble(value: EntryValue) -> Trouble | None:
    if isinstance(value, dt.date):
        if _FIRST_DAY <= value <= _LAST_DAY:
            return None
        allowed = f"allowed: {_FIRST_DAY} to {_LAST_DAY}"
        return Trouble("entry-out-of-range", f"{value} is out of range", f"{allowed}; correct it")
    if isinstance(value, float):
        whole = EPOCH + dt.timedelta(days=int(value)) if 0 < value < 2_958_466 else None
        fix = f"enter only {whole}" if whole else "enter a date such as 2026-11-25"
        return _not_understood(f"{value:g} is not a day: it has a time of day, or is no date", fix)
    days = days_meant(value)
    fix = (
        "enter " + " or ".join(map(str, days)) + " as a date, not as a text"
        if days
        else "enter a date such as 2026-11-25"
    )
    return _not_understood(f'"{one_line(value)}" is text; the box takes a date', fix)


def _number_trouble(value: EntryValue, found: ReadCell, box: Box, unit: str) -> Trouble | None:
    assert box.low is not None and box.high is not None
    if isinstance(value, str):
        return _not_understood(f'"{one_line(value)}" is text; the box takes a number', _number_fix(value, box, unit))
    assert isinstance(value, float)
    if found.is_date:
        what = f"date in the entry box ({EPOCH + dt.timedelta(days=int(value))})" if 0 < value < 2_958_466 else "a time"
        why = "spreadsheet programs turn a fraction such as 3/16 into a date"
        return _not_understood(f"{what}: {why}", f"enter {box.rule}, and restore the cell's number format")
    if not box.low <= value <= box.high:
        return Trouble(
            "entry-out-of-range", f"{_shown(value)} is out of range", f"allowed: {box.rule}{_in(unit)}; correct it"
        )
    return None


def _number_fix(text: str, box: Box, unit: str) -> str:
    assert box.low is not None and box.high is not None
    meant = [_shown(number) for number in numbers_meant(text, unit) if box.low <= number <= box.high]
    if not meant:
        return f"enter {box.rule}{_in(unit)}, without its unit"
    beside = f"; {unit} is beside the box" if _in(unit) else ""
    which = ", whichever is meant" if len(meant) > 1 else ""
    return f"enter only {' or '.join(meant)}{which}{beside}"


def _in(unit: str) -> str:
    return f" {unit}" if unit not in ("", "1", "count") else ""


def _not_understood(what: str, fix: str) -> Trouble:
    return Trouble("entry-not-understood", what, fix)


def _shown(value: EntryValue) -> str:
    return f"{value:.12g}" if isinstance(value, float) else str(value)
