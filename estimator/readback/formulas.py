"""Formulas of one sheet: ordinary ones, array formulas, data tables, and those shared between cells."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from estimator.readback.addresses import COLUMNS, ROWS, area_of, column_number
from estimator.readback.budget import LONGEST_FORMULA, Budget
from estimator.readback.equal_formulas import tokens_of
from estimator.readback.values import WrongMarkup
from estimator.workbook.placed_cells import column_letter

_CELL = re.compile(r"(\$?)([A-Za-z]{1,3})(\$?)([1-9][0-9]{0,6})", re.ASCII)
_HALF = re.compile(r"(\$?)(?:([A-Za-z]{1,3})|([1-9][0-9]{0,6}))", re.ASCII)  # of A:B, 3:4


class FormulaReader:
    """Reads the formulas of one sheet, in the order in which they stand. `budget` says what shared ones may cost."""

    def __init__(self, budget: Budget) -> None:
        self._budget = budget
        self._shared: dict[str, SharedFormula] = {}

    def ordinary(self, text: str) -> str:
        """Return an ordinary formula with its leading "=". Raises WrongMarkup for one that is too long."""
        if len(text) > LONGEST_FORMULA:
            raise WrongMarkup(f"a formula of {len(text):,} characters")
        return "=" + text

    def special(self, form: Mapping[str, str], text: str, row: int, column: int) -> tuple[str | None, str]:
        """Return a formula whose tag has attributes, and the range that it fills.

        form: the attributes. row, column: of the cell. The formula has its leading "=" and is None if there is none;
        the range is "" unless it is an array formula or a data table.
        Raises WrongMarkup for a formula that contradicts itself, UnreadableFile past the budget.
        """
        formula = self.ordinary(text) if text else None
        kind = form.get("t", "normal")
        if kind == "normal":
            return formula, ""
        if kind in ("array", "dataTable"):
            area = area_of(form.get("ref", ""))
            if area is None:
                raise WrongMarkup("a formula for many cells that doesn't say for which")
            self._budget.spend("cells of formulas for many cells", area.size)
        if kind == "array":
            return formula, form["ref"]
        if kind == "dataTable":
            inputs = ",".join(form[name] for name in ("r1", "r2") if name in form)
            return f"=TABLE({inputs})", form["ref"]
        if kind == "shared":
            return self._of_many(form.get("si", ""), formula, row, column), ""
        raise WrongMarkup(f'a formula of the kind "{kind[:20]}"')

    def _of_many(self, number: str, formula: str | None, row: int, column: int) -> str:
        first = self._shared.get(number)
        if first is None:
            if formula is None:
                raise WrongMarkup("a share in a formula that isn't there")
            self._budget.spend("characters in formulas that are shared", len(formula))
            self._shared[number] = SharedFormula(formula, row, column)
            return formula
        self._budget.spend("formulas shared between cells")
        self._budget.spend("references in shared formulas", first.references)
        moved = first.at(row, column)
        self._budget.spend("characters in all the shares", len(moved))
        if formula is not None and formula != moved:
            raise WrongMarkup("a formula of its own and a share in another")
        return moved


class _Place(NamedTuple):
    """A reference, or half of one: its dollar signs, its column, its row; 0 for a column or row that it hasn't."""

    column_fixed: str
    column: int
    row_fixed: str
    row: int

    def moved(self, rows: int, columns: int) -> str:
        row = self.row if self.row_fixed or not self.row else self.row + rows
        column = self.column if self.column_fixed or not self.column else self.column + columns
        if (self.row and not 0 < row <= ROWS) or (self.column and not 0 < column <= COLUMNS):
            raise WrongMarkup("a share in a formula whose references leave the sheet")
        return f"{self.column_fixed}{column_letter(column)}{self.row_fixed}{row or ''}"


class SharedFormula:
    """A formula that stands in one cell and serves others, its references moved along.

    >>> SharedFormula("=LOG10(A1)*$B$1", 1, 3).at(3, 3)
    '=LOG10(A3)*$B$1'
    """

    def __init__(self, formula: str, row: int, column: int) -> None:
        tokens = tokens_of(formula)
        if tokens is None or tokens.count("(") != tokens.count(")"):
            raise WrongMarkup("a shared formula that can't be taken apart")
        self._formula, self._row, self._column = formula, row, column
        self._pieces = list(_pieces(tokens))
        self.references = sum(isinstance(piece, _Place) for piece in self._pieces)

    def at(self, row: int, column: int) -> str:
        """Return the formula as it reads in another cell. Raises WrongMarkup where a reference would leave the sheet."""
        rows, columns = row - self._row, column - self._column
        if not rows and not columns:
            return self._formula
        return "".join([piece if isinstance(piece, str) else piece.moved(rows, columns) for piece in self._pieces])


def _pieces(tokens: Sequence[str]) -> Iterator[str | _Place]:
    """The tokens of a formula, references taken apart."""
    for at, token in enumerate(tokens):
        if (cell := _CELL.fullmatch(token)) and tokens[at + 1 : at + 2] != ["("]:
            column, row = column_number(cell[2].upper()), int(cell[4])
            yield _Place(cell[1], column, cell[3], row) if column and row <= ROWS else token
        elif half := _half_of_range(tokens, at):
            column = column_number(half[2].upper()) if half[2] else 0
            yield _Place(half[1] if column else "", column or 0, half[1] if half[3] else "", int(half[3] or 0))
        else:
            yield token


def _half_of_range(tokens: Sequence[str], at: int) -> re.Match[str] | None:
    """The token taken apart, if it is a column or row on one side of a colon."""
    if tokens[at + 1 : at + 2] == [":"]:
        other = tokens[at + 2 : at + 3]
    else:
        other = tokens[at - 2 : at - 1] if at > 1 and tokens[at - 1] == ":" else ()
    mine, beside = _HALF.fullmatch(tokens[at]), _HALF.fullmatch(other[0]) if other else None
    return mine if mine and beside and bool(mine[2]) == bool(beside[2]) else None
