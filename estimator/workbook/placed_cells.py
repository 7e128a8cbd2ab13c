"""Where the blocks of a tab lie: as drafted, or where a workbook that came back has them now."""

from __future__ import annotations

import functools
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from estimator.workbook.book import Block, Row, Tab

NOTHING: Mapping[int, int] = MappingProxyType({})
# Stands in a formula for what isn't in the workbook any more, as spreadsheet programs write it.
GONE = "#REF!"


@functools.cache
def column_letter(column: int) -> str:
    letters = ""
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


@dataclass(frozen=True)
class Moves:
    """Where a tab's rows, and the columns of its blocks, are found, by where they were drafted; 0 for one that is gone.
    What isn't named is where it was. Columns by block; "" for the tab's own texts. `name`: what the tab is called now.
    `sorted`: blocks whose rows stand in another order. `gone`: the tab itself isn't there."""

    rows: Mapping[int, int] = field(default_factory=dict)
    columns: Mapping[str, Mapping[int, int]] = field(default_factory=dict)
    name: str = ""
    sorted: frozenset[str] = frozenset()
    gone: bool = False

    @property
    def loses(self) -> bool:
        """Whether rows or columns are gone."""
        return 0 in self.rows.values() or any(0 in pairs.values() for pairs in self.columns.values())


@dataclass(frozen=True)
class PlacedBlock:
    """Where a block lies: 1-based rows of its title and headings, and the first row of its cells, as drafted."""

    block: Block
    tab: Tab
    title_row: int
    heading_row: int
    first_row: int
    moves: Moves = Moves()

    @functools.cached_property
    def column_of(self) -> Mapping[str, int]:
        """Each column's number by its name; 0 where it is gone."""
        moved = self.moves.columns.get(self.block.name, NOTHING)
        return {column.name: moved.get(number, number) for number, column in enumerate(self.block.columns, 1)}

    def columns_of(self, row: Row) -> Collection[int]:
        """The numbers of the columns of a row's cells, in their order; 0 where one is gone."""
        if not row.at:
            return self.column_of.values()
        moved = self.moves.columns.get(self.block.name, NOTHING)
        return [moved.get(number, number) for number in row.at]

    @functools.cached_property
    def row_of(self) -> Mapping[str, int]:
        """Each row's number by its reference; 0 where it is gone."""
        moved = self.moves.rows
        return {ref: moved.get(row, row) for ref, row in self.drafted_rows.items()} if moved else self.drafted_rows

    @functools.cached_property
    def drafted_rows(self) -> Mapping[str, int]:
        found: dict[str, int] = {}
        number = self.first_row
        for row in self.block.rows:
            number += len(row.lines.above)
            found[row.ref] = number
            number += 1 + len(row.lines.below)
        return found

    @functools.cached_property
    def span(self) -> tuple[int, int]:
        """First and last row of the block's ranges, the lines above its first row included; 0, 0 where none is left."""
        last = self.drafted_rows[self.block.rows[-1].ref] if self.block.rows else self.first_row
        if not self.moves.rows:
            return self.first_row, last
        left = [now for row in range(self.first_row, last + 1) if (now := self.moves.rows.get(row, row))]
        return (min(left), max(left)) if left else (0, 0)

    def above(self, drafted: int) -> str:
        """The number of the row above the one that was drafted at this row, or GONE."""
        return str(self.moves.rows.get(drafted - 1, drafted - 1) or GONE)

    @property
    def last_row(self) -> int:
        return self.span[1]

    @property
    def end_row(self) -> int:
        """The last row that the block takes, lines below its last row included."""
        return self.last_row + (len(self.block.rows[-1].lines.below) if self.block.rows else 0)
