"""The cells of one tab, from markup to values."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import NamedTuple

from estimator.readback.addresses import ROWS, column_numbers
from estimator.readback.budget import LIMITS, Budget, one_line
from estimator.readback.formulas import FormulaReader
from estimator.readback.package_parts import Package
from estimator.readback.plain_markup import Outside
from estimator.readback.raw_cells import RawCell, attributes_of, parsed_cells, plain_cells
from estimator.readback.values import (
    ErrorValue,
    NotPlain,
    ReadCell,
    date_value,
    number_value,
    text_value,
    truth_value,
    unescape,
)

Cells = dict[tuple[int, int], ReadCell]


class Lookups(NamedTuple):
    """What cells refer to: shared texts by number, the cell formats that show dates, the day that days count from."""

    texts: dict[str, str | None]
    dates: frozenset[str]
    date1904: bool


_NUMBER, _SHARED, _TEXT, _TRUTH, _ERROR, _DATE, _INLINE = range(7)
# ECMA-376 part 1, 18.18.11 (ST_CellType)
_TYPES = {"n": _NUMBER, "s": _SHARED, "str": _TEXT, "b": _TRUTH, "e": _ERROR, "d": _DATE, "inlineStr": _INLINE}
_VALUES: dict[int, Callable[[str, bool], str | float | bool]] = {
    _TRUTH: lambda stored, date1904: truth_value(stored),
    _ERROR: lambda stored, date1904: ErrorValue(unescape(stored)),
    _DATE: date_value,
}


class _Kinds(dict[str, tuple[int, bool]]):
    """The attributes of a cell, as they stand -> its type and whether its format shows dates."""

    def __init__(self, dates: frozenset[str], budget: Budget) -> None:
        super().__init__()
        self._dates, self._budget = dates, budget

    def __missing__(self, markup: str) -> tuple[int, bool]:
        if len(self) > LIMITS["cell formats"]:
            raise self._budget.over_size(f"it holds more than {LIMITS['cell formats']:,} kinds of cells")
        given = attributes_of(markup)
        kind = _TYPES.get(given.get("t", "n"))
        if "r" in given:
            raise NotPlain("a cell with two addresses")
        if kind is None:
            raise NotPlain(f'a cell of the type "{given["t"][:20]}"')
        is_date = kind == _DATE or (kind == _NUMBER and given.get("s") in self._dates)
        self[markup] = found = (kind, is_date)
        return found


def read_cells(package: Package, part: str, lookups: Lookups, outside: Outside) -> Cells:
    """Read the cells of the tab in `part`: by row and column, from 1; those that hold nothing are left out.

    outside: called for each XML element that is no part of a cell, perhaps twice. Raises UnreadableFile.
    """
    reason: NotPlain | None = None
    for way in (plain_cells, parsed_cells):
        used = dict(package.budget.used)
        try:
            cells: Cells = {}
            formulas, kinds = FormulaReader(package.budget), _Kinds(lookups.dates, package.budget)
            for batch in way(package, part, outside):
                package.budget.spend("cells, with or without content", len(batch))
                before = len(cells)
                _take(batch, cells, lookups, kinds, formulas)
                package.budget.spend("cells with content", len(cells) - before)
            return cells
        except NotPlain as trouble:
            reason, package.budget.used = trouble, used
    raise package.budget.damaged(one_line(f'its part "{part}" holds {reason}', 200))


def _take(batch: Iterable[RawCell], cells: Cells, lookups: Lookups, kinds: _Kinds, formulas: FormulaReader) -> None:
    """Add a batch of raw cells to `cells`. Raises NotPlain, with the cell's address, for one that isn't right."""
    texts, columns, new, keep = lookups.texts, column_numbers, tuple.__new__, cells.setdefault
    letters = digits = last = ""
    row = 0
    try:
        for letters, digits, attributes, formula_attributes, markup, stored, inline, other in batch:
            kind, is_date = kinds[attributes]
            if stored:
                if kind == _NUMBER:
                    value = number_value(stored)
                elif kind == _TEXT:
                    value = text_value(stored)
                elif kind == _SHARED:
                    value = texts[stored]
                elif kind == _INLINE:
                    raise NotPlain("a number in a cell for text")
                else:
                    value = _VALUES[kind](stored, lookups.date1904)
            elif inline:
                value = _inline_text(kind, inline)
            elif letters:
                value, is_date = None, False
            elif other:
                raise NotPlain("unusual markup")
            else:
                continue

            if formula_attributes:
                if digits != last:
                    last, row = digits, _row(digits)
                formula, array = formulas.special(formula_attributes, markup, letters, row)
            elif markup:
                formula, array = formulas.ordinary(markup), ""
            elif value is None:
                continue
            else:
                formula, array = None, ""
            if digits != last:
                last, row = digits, _row(digits)
            cell = new(ReadCell, (value, formula, is_date, array))
            if keep((row, columns[letters]), cell) is not cell:
                raise NotPlain("a cell that is there twice")
    except NotPlain as trouble:
        raise NotPlain(f"{trouble} ({letters}{digits})") from None
    except KeyError as missing:
        raise NotPlain(f'"{missing.args[0][:20]}", which is no shared text or column ({letters}{digits})') from None


def _row(digits: str) -> int:
    row = int(digits)
    if row > ROWS:
        raise NotPlain("a row that no sheet has")
    return row


def _inline_text(kind: int, markup: str) -> str:
    if kind != _INLINE:
        raise NotPlain("a text in a cell of another type")
    return text_value(markup)
