"""Parser for the part of a tab: its cells, and elements of all else."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from typing import NamedTuple

from estimator.readback.addresses import ROWS, column_number, row_and_column, row_number
from estimator.readback.budget import Budget
from estimator.readback.elements import MAIN, Attributes, Element, ElementParser
from estimator.readback.formulas import FormulaReader
from estimator.readback.looks import SheetLook
from estimator.readback.values import (
    ErrorValue,
    ReadCell,
    Value,
    WrongMarkup,
    date_value,
    number_value,
    text_value,
    truth_value,
)
from estimator.workbook.placed_cells import column_letter

Cells = dict[tuple[int, int], ReadCell]

ALL_ROWS = "worksheet/sheetData"
_ROW = f"{ALL_ROWS}/row"
_CELL = f"{_ROW}/c"
_FORMULA, _VALUE, _TEXTS = f"{_CELL}/f", f"{_CELL}/v", (f"{_CELL}/is/t", f"{_CELL}/is/r/t")
_ELSEWHERE, _IN_ROW, _IN_CELL, _IN_VALUE, _IN_FORMULA = range(5)


class Lookups(NamedTuple):
    """What cells refer to: shared texts by number, the cell formats that show dates, the day that days count from, the
    shared texts of which a part can't be read."""

    texts: Mapping[str, str | None]
    dates: frozenset[str]
    date1904: bool
    faint: frozenset[str] = frozenset()


class CellParser(ElementParser):
    """A parser that keeps what cells hold, of which a tab has ten thousands, and no elements of them.

    wanted: paths of the elements to keep beside. cells: what was read, by row and column, from 1; cells that hold
    nothing are left out. Its methods raise WrongMarkup for cells that contradict themselves, UnreadableFile for all else.
    """

    def __init__(self, budget: Budget, part: str, lookups: Lookups, wanted: Collection[str]) -> None:
        super().__init__(budget, part, MAIN, {ALL_ROWS, _CELL, _FORMULA, _VALUE, *_TEXTS, *wanted})
        self.cells: Cells = {}
        self.look = SheetLook()
        self._faint = lookups.faint
        self._dates = lookups.dates
        self._formulas = FormulaReader(budget)
        self._read: Mapping[str, Callable[[str], Value]] = {  # ECMA-376 part 1, 18.18.11 (ST_CellType)
            "n": _Numbers().__getitem__,
            "s": _SharedTexts(lookups.texts).__getitem__,
            "str": text_value,
            "b": truth_value,
            "e": ErrorValue,
            "d": lambda stored: date_value(stored, lookups.date1904),
            "inlineStr": _no_number,
        }
        self._row, self._column, self._digits = 0, 0, ""
        self._rows: set[int] = set()
        self._seen = self._kept = 0
        self._at = _ELSEWHERE
        self._plain: tuple[str, ...] = ("", "", "")  # of c, v and f, with their namespace
        self._cell: Attributes = {}
        self._stored: str | None = None
        self._form: Attributes | None = None
        self._formula = self._inline = ""

    def feed(self, data: bytes) -> list[Element]:
        """Parse more of the part. Returns the elements that ended and are no part of a cell."""
        done = super().feed(data)
        self.budget.spend("cells, with or without content", self._seen)
        self.budget.spend("cells with content", len(self.cells) - self._kept)
        self._seen, self._kept = 0, len(self.cells)
        return done

    # Cells that hold `v` and `f` alone are taken on a short way, without the checks that they can't fail. Wherever
    # something else comes, what is open is handed to the handlers for all elements.

    def _start_short(self, name: str, attributes: Attributes) -> None:
        at = self._at
        if at and not self._pieces:
            if at == _IN_ROW:
                if name == self._plain[0]:
                    self._cell, self._at = attributes, _IN_CELL
                    return
            elif at == _IN_CELL:
                if name == self._plain[1] and self._stored is None:
                    self._at = _IN_VALUE
                    return
                if name == self._plain[2] and self._form is None:
                    self._form, self._at = attributes, _IN_FORMULA
                    return
        self._hand_over()
        self._start(name, attributes)

    def _end_short(self, name: str) -> None:
        at = self._at
        if at == _IN_VALUE:
            self._stored = "".join(self._pieces)
            self._pieces.clear()
            self._at = _IN_CELL
        elif at == _IN_FORMULA:
            self._formula = "".join(self._pieces)
            self._pieces.clear()
            self._at = _IN_CELL
        elif at == _IN_CELL and not self._pieces:
            self._add_cell(self._cell)
            self._at = _IN_ROW
        else:
            self._hand_over()
            self._end(name)

    def _hand_over(self) -> None:
        """Leave a cell that is open to the handlers for all elements."""
        at, self._at = self._at, _ELSEWHERE
        if at >= _IN_CELL:
            pieces = self._pieces[:]
            self._pieces.clear()
            super()._start(self._plain[0], self._cell)
            if at > _IN_CELL:
                super()._start(self._plain[1 if at == _IN_VALUE else 2], {})
            self._pieces += pieces

    def _start(self, name: str, attributes: Attributes) -> None:
        super()._start(name, attributes)
        path = self._places[-1].path
        if path == _ROW:
            self._begin_row(attributes.get("r"))
            if "hidden" in attributes or "ht" in attributes:
                self.look.row(self._row, attributes)
            self._at = _IN_ROW
        elif (path == _VALUE and self._stored is not None) or (path == _FORMULA and self._form is not None):
            raise self._twice(path)
        elif path == ALL_ROWS:
            self._plain = tuple(f"{self._namespace}}}{name}" for name in ("c", "v", "f"))
            self._parser.StartElementHandler, self._parser.EndElementHandler = self._start_short, self._end_short

    def _end(self, name: str) -> None:
        path = self._places[-1].path
        super()._end(name)
        if path == _VALUE:
            self._stored = self._done.pop().text
        elif path == _FORMULA:
            formula = self._done.pop()
            self._form, self._formula = formula.attributes, formula.text
        elif path in _TEXTS:
            self._inline += self._done.pop().text
        elif path == _CELL:
            self._add_cell(self._done.pop().attributes)
        elif path == ALL_ROWS:
            self._parser.StartElementHandler, self._parser.EndElementHandler = self._start, self._end
        self._at = _IN_ROW if self._places[-1].path == _ROW else _ELSEWHERE

    def _begin_row(self, written: str | None) -> None:
        number = self._row + 1 if written is None else row_number(written)
        if number is None or number > ROWS:
            raise WrongMarkup(f'"{(written or str(number))[:20]}" as the number of a row')
        if number in self._rows:
            raise WrongMarkup(f"the row {number} twice")
        self._rows.add(number)
        self._row, self._column, self._digits = number, 0, str(number)
        self._seen += 1

    def _add_cell(self, given: Attributes) -> None:
        """Add the cell that has ended to `cells`."""
        self._seen += 1
        address = given.get("r")
        self._column = self._column + 1 if address is None else self._column_of(address)
        try:
            cell = self._content(given)
            if cell is not None and self.cells.setdefault((self._row, self._column), cell) is not cell:
                raise WrongMarkup("a cell that is there twice")
            if cell is not None:
                self.look.styles[self._row, self._column] = given.get("s", "0")
                if self._faint and self._stored in self._faint and given.get("t") == "s":
                    self.look.faint.add((self._row, self._column))
        except WrongMarkup as trouble:
            raise WrongMarkup(f"{trouble} ({column_letter(self._column)}{self._row})") from None
        self._stored = self._form = None
        self._formula = self._inline = ""

    def _column_of(self, address: str) -> int:
        """Return the column of a cell of the row that is open."""
        if address.endswith(self._digits):
            column = column_number(address[: -len(self._digits)])
            if column is not None:
                return column
        if row_and_column(address) is None:
            raise WrongMarkup(f'"{address[:20]}" as the address of a cell')
        raise WrongMarkup(f'the cell "{address}" in the row {self._row}')

    def _content(self, given: Attributes) -> ReadCell | None:
        """Return what the cell that has ended holds, None for nothing."""
        kind = given.get("t", "n")
        read = self._read.get(kind)
        if read is None:
            raise WrongMarkup(f'a cell of the type "{kind[:20]}"')
        value = read(self._stored) if self._stored else None
        if self._inline:
            if kind != "inlineStr":
                raise WrongMarkup("a text in a cell of another type")
            value = text_value(self._inline)
        formula, array = None, ""
        if self._form:
            formula, array = self._formulas.special(self._form, self._formula, self._row, self._column)
        elif self._formula:
            formula = self._formulas.ordinary(self._formula)
        elif value is None:
            return None
        is_date = kind == "d" if kind != "n" else given.get("s") in self._dates
        return tuple.__new__(ReadCell, (value, formula, is_date and value is not None, array))


class _Numbers(dict[str, int | float]):
    """Numbers by their markup, each worked out once."""

    def __missing__(self, text: str) -> int | float:
        number = self[text] = number_value(text)
        return number


class _SharedTexts(dict[str, str | None]):
    """Shared texts by their number, as cells write it."""

    def __missing__(self, number: str) -> None:
        raise WrongMarkup(f'"{number[:20]}", which is no shared text')


def _no_number(stored: str) -> Value:
    raise WrongMarkup("a number in a cell for text")
