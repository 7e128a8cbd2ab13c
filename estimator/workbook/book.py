"""The Book: every cell of a workbook, described. Tabs of blocks of keyed cells, as plain data.

A cell's key is `block.reference.column`. Formulas are templates that name other cells by key, and the layout alone
turns them into addresses:

* `{column}`: the cell of this row in that column of this block;
* `{^column}`: the same in the row above;
* `{block.reference.column}`: one cell, wherever it lies (a reference may hold dots);
* `{|reference}`: the cell of this column in that row of this block;
* `{block:column}`: the whole column of a block;
* `{first..last}`, `{block.reference.first..last}`, `{block:first..last}`: the cells from one column to another of this
  row, of a row elsewhere, of a whole block.

Writer and reader use the same Book, so a cell that is written is a cell that is looked for.
"""

from __future__ import annotations

import functools
import itertools
import operator
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from types import MappingProxyType
from typing import Any, Literal, NamedTuple

Value = str | int | float | Decimal | None
_PLACEHOLDER = re.compile(r"\{([^{}]+)\}")


@dataclass(frozen=True)
class Box:
    """A cell that a person may type in: what is allowed there and what is said about it."""

    kind: Literal["number", "text", "list", "date"]
    allowed: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None
    prompt: str = ""
    title: str = ""

    @property
    def rule(self) -> str:
        """What is allowed, in words."""
        if self.kind == "list":
            return "one of: " + ", ".join(self.allowed)
        if self.kind == "number":
            return f"a number from {self.low:g} to {self.high:g}"
        return "a date" if self.kind == "date" else "any text"


class Cell(NamedTuple):
    """One cell: its key, its value, its formula template if it has one, its look, its unit, its box if it is one."""

    key: str
    value: Value
    formula: str | None
    look: str
    unit: str
    box: Box | None


PerItem = Callable[[Any], Any]
_Moving = Callable[[int, int], str]


@dataclass(frozen=True)
class Column:
    """A column of a block. `formula`, `look`, `unit` and `box` may depend on the row's item; `value` defaults to the
    item's attribute of the column's name."""

    name: str
    heading: str
    look: str | PerItem = "text"
    formula: str | PerItem | None = None
    box: Box | PerItem | None = None
    unit: str | PerItem = ""
    value: PerItem | None = None

    def settings(self, setting: Any, items: Sequence[Any]) -> Iterable[Any]:
        """A setting for each item."""
        return map(setting, items) if callable(setting) else itertools.repeat(setting, len(items))


class Line(NamedTuple):
    """A line of text inside a block that is no row of it: a section's heading, a caution, a method."""

    text: str
    look: str


class Lines(NamedTuple):
    """The lines that stand above and below a row."""

    above: tuple[Line, ...] = ()
    below: tuple[Line, ...] = ()


NO_LINES = Lines()


@dataclass(frozen=True)
class Row:
    ref: str
    cells: tuple[Cell, ...]
    lines: Lines = NO_LINES


@dataclass(frozen=True)
class Block:
    """A table (one formula a column) or a working (one formula a row). The first column is the printed reference."""

    name: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    note: str = ""
    kind: Literal["table", "working"] = "table"
    # The column whose 0 folds a row away by the look (grey), never by hiding.
    faded_by: str = ""
    row_height: float | None = None


def block(
    name: str,
    title: str,
    columns: Iterable[Column],
    items: Iterable[Any],
    *,
    note: str = "",
    kind: Literal["table", "working"] = "table",
    ref: Callable[[Any], str] = lambda item: item.ref,
    lines: Mapping[str, Lines] = MappingProxyType({}),
    faded_by: str = "",
    row_height: float | None = None,
) -> Block:
    """A block with a row an item and a cell a column. `lines` holds, by reference, the lines about a row."""
    columns, items = tuple(columns), tuple(items)
    refs = [ref(item) for item in items]
    by_column = []
    for column in columns:
        keys = [f"{name}.{reference}.{column.name}" for reference in refs]
        values = map(column.value or operator.attrgetter(column.name), items)
        settings = [column.settings(x, items) for x in (column.formula, column.look, column.unit, column.box)]
        by_column.append(list(map(Cell, keys, values, *settings)))
    rows = [
        Row(reference, cells, lines.get(reference, NO_LINES))
        for reference, cells in zip(refs, zip(*by_column, strict=True), strict=True)
    ]
    return Block(name, title, columns, tuple(rows), note, kind, faded_by, row_height)


def sections(items: Iterable[Any], heading: Callable[[Any], str]) -> dict[str, Lines]:
    """The lines of a block whose items stand under headings."""
    found: dict[str, Lines] = {}
    last = ""
    for item in items:
        previous, last = last, heading(item)
        if last not in ("", previous):
            found[item.ref] = Lines((Line(last, "section"),))
    return found


def positions(items: Iterable[Any], lines: Mapping[str, Lines] = MappingProxyType({})) -> dict[str, int]:
    """Where MATCH finds each item's row in a column of its block, lines between the rows counted, by reference."""
    found: dict[str, int] = {}
    number = 0
    for item in items:
        mine = lines.get(item.ref, NO_LINES)
        number += len(mine.above) + 1
        found[item.ref] = number
        number += len(mine.below)
    return found


@dataclass(frozen=True)
class Emphasis:
    """A look that a column's cells take on while they show one of these words."""

    block: str
    column: str
    words: tuple[str, ...]
    look: Literal["act", "bold"] = "act"


@dataclass(frozen=True)
class Page:
    """How a tab prints: as wide as `columns` of it (0: all), down to the end of the block `until` ("": all)."""

    landscape: bool = False
    columns: int = 0
    until: str = ""
    breaks_before: tuple[str, ...] = ()
    header: str = ""


@dataclass(frozen=True)
class Tab:
    """A sheet: a title in A1, a head of one row without headings, cautions, and blocks below each other."""

    name: str
    title: str
    head: Block
    cautions: tuple[str, ...]
    blocks: tuple[Block, ...]
    widths: tuple[float, ...]
    page: Page = Page()
    emphases: tuple[Emphasis, ...] = ()
    # The block whose headings stay in view, and are printed on each page, with all that stands above them.
    frozen_to: str = ""
    filtered: str = ""


@dataclass(frozen=True)
class Book:
    document: str
    revision: int
    tabs: tuple[Tab, ...]

    def cells(self) -> Iterator[Cell]:
        for tab in self.tabs:
            for part in (tab.head, *tab.blocks):
                for row in part.rows:
                    yield from row.cells

    def boxes(self) -> Iterator[Cell]:
        return (cell for cell in self.cells() if cell.box is not None)

    @functools.cached_property
    def by_key(self) -> Mapping[str, Cell]:
        found: dict[str, Cell] = {}
        for cell in self.cells():
            if cell.key in found:
                raise ValueError(f"the key {cell.key} stands twice in the Book")
            found[cell.key] = cell
        return found


# --- layout -----------------------------------------------------------------------------------------------------------


def column_letter(column: int) -> str:
    letters = ""
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


@dataclass(frozen=True)
class PlacedBlock:
    """Where a block lies: 1-based rows of its title and headings, and of its first and last row of cells."""

    block: Block
    tab: Tab
    title_row: int
    heading_row: int
    first_row: int
    moved_rows: Mapping[int, int] = field(default_factory=dict)
    moved_columns: Mapping[int, int] = field(default_factory=dict)

    @functools.cached_property
    def column_of(self) -> Mapping[str, int]:
        numbers = enumerate(self.block.columns, 1)
        return {column.name: self.moved_columns.get(number, number) for number, column in numbers}

    @functools.cached_property
    def row_of(self) -> Mapping[str, int]:
        """Each row's number by its reference."""
        return {ref: self.moved_rows.get(row, row) for ref, row in self.drafted_rows.items()}

    @functools.cached_property
    def drafted_rows(self) -> Mapping[str, int]:
        found: dict[str, int] = {}
        number = self.first_row
        for row in self.block.rows:
            number += len(row.lines.above)
            found[row.ref] = number
            number += 1 + len(row.lines.below)
        return found

    @property
    def top(self) -> int:
        """The first row of the block's ranges, the lines above its first row included."""
        return self.moved_rows.get(self.first_row, self.first_row)

    @property
    def end_row(self) -> int:
        """The last row that the block takes, lines below its last row included."""
        return self.last_row + (len(self.block.rows[-1].lines.below) if self.block.rows else 0)

    @property
    def last_row(self) -> int:
        return self.row_of[self.block.rows[-1].ref] if self.block.rows else self.top


HEAD_ROW = 2


@dataclass(frozen=True)
class Moves:
    """Where the rows of a tab and the columns of its blocks are found, by where they were drafted; the tab's name now."""

    rows: Mapping[int, int] = field(default_factory=dict)
    columns: Mapping[str, Mapping[int, int]] = field(default_factory=dict)
    name: str = ""


@dataclass(frozen=True, slots=True)
class FixedText:
    """A text that is no cell of a block: a title, a caution, a heading."""

    key: str
    row: int
    column: int
    text: str
    look: str


@dataclass(frozen=True)
class Layout:
    """Addresses for all cells of a Book. Below the title come the cautions, then blocks with a blank row between."""

    book: Book
    moves: Mapping[str, Moves] = field(default_factory=dict)
    placed: Mapping[str, PlacedBlock] = field(init=False)

    def __post_init__(self) -> None:
        placed: dict[str, PlacedBlock] = {}
        for tab in self.book.tabs:
            placed[tab.head.name] = PlacedBlock(tab.head, tab, 0, 0, HEAD_ROW)
            row = HEAD_ROW + len(tab.cautions)
            for part in tab.blocks:
                if part.name in placed:
                    raise ValueError(f"two blocks are called {part.name}")
                title_row = row + 2 if part.title else row
                heading_row = title_row + (2 if part.note else 1)
                placed[part.name] = PlacedBlock(part, tab, title_row, heading_row, heading_row + 1)
                row = placed[part.name].end_row
        for name, place in placed.items():
            if moves := self.moves.get(place.tab.name):
                placed[name] = replace(place, moved_rows=moves.rows, moved_columns=moves.columns.get(name, {}))
        object.__setattr__(self, "placed", placed)
        object.__setattr__(self, "_compiled", {})

    def address(self, key: str) -> tuple[str, int, int]:
        """The tab, row and column (both from 1) of a key."""
        name, reference, column = split_key(key)
        place = self.placed[name]
        return place.tab.name, place.row_of[reference], place.column_of[column]

    def a1(self, key: str, *, from_tab: str = "") -> str:
        tab, row, column = self.address(key)
        plain = f"${column_letter(column)}${row}"
        return plain if tab == from_tab else f"{self.sheet(tab)}!{plain}"

    def sheet(self, tab: str) -> str:
        """A tab's name in formulas, as it is now."""
        name = self.moves[tab].name if tab in self.moves else ""
        return tab if name in ("", tab) else "'" + name.replace("'", "''") + "'"

    def texts(self, tab: Tab) -> Iterator[FixedText]:
        """All texts of a tab that are no cells of a block, with keys of their own."""
        yield FixedText(f"{tab.name}.title.text", 1, 1, tab.title, "title")
        for number, caution in enumerate(tab.cautions, 1):
            yield FixedText(f"{tab.name}.caution-{number}.text", HEAD_ROW + number, 1, caution, "caution")
        for part in tab.blocks:
            place = self.placed[part.name]
            if part.title:
                yield FixedText(f"{part.name}.title.text", place.title_row, 1, part.title, "block-title")
            if part.note:
                yield FixedText(f"{part.name}.note.text", place.title_row + 1, 1, part.note, "block-note")
            for number, column in enumerate(part.columns, 1):
                key = f"{part.name}.heading.{column.name}"
                yield FixedText(key, place.heading_row, number, column.heading, "heading")
            for row in part.rows:
                at = place.row_of[row.ref]
                for number, line in enumerate(row.lines.above):
                    above = at - len(row.lines.above) + number
                    yield FixedText(f"{part.name}.above-{number + 1}.{row.ref}", above, 1, line.text, line.look)
                for number, line in enumerate(row.lines.below, 1):
                    yield FixedText(f"{part.name}.below-{number}.{row.ref}", at + number, 1, line.text, line.look)

    def formulas(self, place: PlacedBlock) -> Iterator[tuple[int, int, Cell, str | None]]:
        """Each cell of a block with its row, column and, if it has one, its formula with addresses."""
        for row in place.block.rows:
            row_number = place.row_of[row.ref]
            for column, cell in zip(place.block.columns, row.cells, strict=True):
                column_number = place.column_of[column.name]
                text = None if cell.formula is None else self._fill(place, cell.formula, row_number, column_number)
                yield row_number, column_number, cell, text

    def _fill(self, place: PlacedBlock, template: str, row: int, column: int) -> str:
        compiled: dict[tuple[str, str], tuple[str | _Moving, ...]] = self._compiled  # type: ignore[attr-defined]
        pieces = compiled.get((place.block.name, template))
        if pieces is None:
            pieces = compiled[place.block.name, template] = tuple(self._compile(place, template))
        return "".join(piece if isinstance(piece, str) else piece(row, column) for piece in pieces)

    def _compile(self, place: PlacedBlock, template: str) -> Iterator[str | _Moving]:
        """Literal text, and functions of row and column for what moves with the cell."""
        end = 0
        for match in _PLACEHOLDER.finditer(template):
            yield template[end : match.start()]
            end = match.end()
            try:
                yield self._reference(place, match[1])
            except KeyError:
                raise KeyError(f"{template} in block {place.block.name} names {match[1]}, which isn't there") from None
        yield template[end:]

    def _reference(self, place: PlacedBlock, name: str) -> str | _Moving:
        name, _, last = name.partition("..")
        if ":" in name:
            return self._range(name, last, place.tab.name)
        if name.startswith("|"):
            row = place.row_of[name[1:]]
            return lambda _, column: f"{column_letter(column)}${row}"
        if "." in name:
            first = self.a1(name, from_tab=place.tab.name)
            return first + (":" + self.a1(f"{name.rsplit('.', 1)[0]}.{last}").split("!")[-1] if last else "")
        up = name.startswith("^")
        letter = column_letter(place.column_of[name.lstrip("^")])
        if last:
            end = column_letter(place.column_of[last])
            return lambda row, _: f"${letter}{row}:${end}{row}"
        return lambda row, _: f"{letter}{row - 1}" if up else f"${letter}{row}"

    def _range(self, name: str, last: str, from_tab: str) -> str:
        block_name, column = name.split(":")
        place = self.placed[block_name]
        letter = column_letter(place.column_of[column])
        end = column_letter(place.column_of[last or column])
        prefix = "" if place.tab.name == from_tab else f"{self.sheet(place.tab.name)}!"
        return f"{prefix}${letter}${place.top}:${end}${place.last_row}"


def split_key(key: str) -> tuple[str, str, str]:
    """A key's block, reference and column.

    >>> split_key("inspection.precharge.accumulator-1.before")
    ('inspection', 'precharge.accumulator-1', 'before')
    """
    name, rest = key.split(".", 1)
    reference, column = rest.rsplit(".", 1)
    return name, reference, column
