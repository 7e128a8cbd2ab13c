"""Rows of a form, put together cell by cell: words, live figures, boxes."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from estimator.workbook.book import Block, Box, Cell, Face, Row, Value, cell_of, form_columns

Placed = tuple[int, Cell]


def words(column: int, text: str, look: str = "text") -> Placed:
    """Words that stand there once and for all."""
    return column, Cell("", text, None, look, "", None)


def live(column: int, formula: str, value: Value, look: str = "words", unit: str = "", key: str = "") -> Placed:
    """What a formula yields."""
    return column, Cell(key, value, f"={formula}", look, unit, None)


def typed(column: int, key: str, value: Value | dt.date, box: Box, look: str = "entry", unit: str = "") -> Placed:
    """A box."""
    return column, cell_of((key, value, None, look, unit, box))


def blanks(first: int, last: int, look: str) -> list[Placed]:
    """Empty cells of a look, from one column to another."""
    return [words(column, "", look) for column in range(first, last + 1)]


def wide(first: int, last: int, key: str, value: Value, box: Box, look: str) -> list[Placed]:
    """A box over several columns: what is typed in the first runs on over the others."""
    return [typed(first, key, value, box, look), *blanks(first + 1, last - 1, "box"), *blanks(last, last, "box-end")]


class Form:
    """A form of so many columns, filled row by row. Cells without a key get one of their place."""

    def __init__(self, name: str, width: int) -> None:
        self.name = name
        self._columns = form_columns(width)
        self._rows: list[Row] = []

    def row(
        self,
        ref: str,
        cells: Iterable[Placed] = (),
        height: float = 15.0,
        line: str = "",
        *,
        level: int = 0,
        folded: bool = False,
        page: bool = False,
    ) -> None:
        """Add a row; its cells are sorted by their columns."""
        placed = sorted(cells, key=lambda item: item[0]) or [words(1, "")]
        mine = tuple(cell if cell.key else cell._replace(key=f"{self.name}.{ref}.c{at}") for at, cell in placed)
        face = Face(height, line, level, folded, page)
        self._rows.append(Row(ref, mine, at=tuple(at for at, _ in placed), face=face))

    def block(self) -> Block:
        """The form as a block of a tab."""
        return Block(self.name, "", self._columns, tuple(self._rows), kind="form")
