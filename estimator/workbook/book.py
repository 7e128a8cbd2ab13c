"""The Book: every cell of a workbook, described. Tabs of blocks of keyed cells, as plain data.

A cell's key is `block.reference.column`. Formulas are templates that name other cells by key, and the layout alone
turns them into addresses:

* `{column}`: the cell of this row in that column of this block;
* `{^column}`: the same in the row above;
* `{block.reference.column}`: one cell, wherever it lies (a reference may hold dots);
* `{|reference}`: the cell of this column in that row of this block;
* `{block:column}`: the whole column of a block;
* `{first key~last key}`: the cells of a column from one to another;
* `{block@column}`: the cell of this row's reference in another block;
* `{first..last}`, `{block.reference.first..last}`, `{block:first..last}`: the cells from one column to another of this
  row, of a row elsewhere, of a whole block.

Writer and reader use the same Book, so a cell that is written is a cell that is looked for.
"""

from __future__ import annotations

import datetime as dt
import functools
import itertools
import operator
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType
from typing import Any, Literal, NamedTuple

from estimator.boxes import keys

Value = str | int | float | Decimal | None


@dataclass(frozen=True)
class Box:
    """A cell that a person may type in: what is allowed there and what is said about it."""

    kind: Literal["number", "text", "list", "date"]
    allowed: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None
    believed: tuple[float, float] | None = None
    prompt: str = ""
    title: str = ""
    # The column (`block:column`) that holds the words of a list too long to stand in the box's own validation.
    listed: str = ""

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


# Makes a cell from a tuple of its fields, three times as fast as the class itself: a workbook has 60,000.
cell_of: Callable[[tuple[Any, ...]], Cell] = functools.partial(tuple.__new__, Cell)


def form_columns(count: int) -> tuple[Column, ...]:
    """The columns of a form, which have places but no meaning."""
    return tuple(Column(f"c{number}", "") for number in range(1, count + 1))


PerItem = Callable[[Any], Any]


@dataclass(frozen=True)
class Column:
    """A column of a block. `formula`, `look`, `unit` and `box` may depend on the row's item; `value` defaults to the
    item's attribute of the column's name. A `sparse` one leaves its zeros out: in formulas nothing counts as 0."""

    name: str
    heading: str
    look: str | PerItem = "text"
    formula: str | PerItem | None = None
    box: Box | PerItem | None = None
    unit: str | PerItem = ""
    value: PerItem | None = None
    sparse: bool = False

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


class Face(NamedTuple):
    """What a row of a form looks like: its height in points, the line under it or the fill over its whole width, its
    level in the outline and whether it is folded away at first, whether a page begins with it, and whether the outline may
    fold it away in some workbook."""

    height: float = 15.0
    line: str = ""
    level: int = 0
    folded: bool = False
    page: bool = False
    folds: bool = False


PLAIN = Face()


@dataclass(frozen=True)
class Row:
    """A row; in a form, `at` are the columns of its cells and `face` is what it looks like."""

    ref: str
    cells: tuple[Cell, ...]
    lines: Lines = NO_LINES
    at: tuple[int, ...] = ()
    face: Face = PLAIN


@dataclass(frozen=True)
class Block:
    """A table (one formula a column), a working (one formula a row) or a form (cells of any keys, placed one by one). The
    first column is the printed reference."""

    name: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    note: str = ""
    kind: Literal["table", "working", "form"] = "table"


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
) -> Block:
    """A block with a row an item and a cell a column. `lines` holds, by reference, the lines about a row."""
    columns, items = tuple(columns), tuple(items)
    refs = [ref(item) for item in items]
    by_column = []
    for column in columns:
        cells = keys.column(name, refs, column.name)
        values = map(column.value or operator.attrgetter(column.name), items)
        if column.sparse:
            values = map(lambda value: value or None, values)
        settings = [column.settings(x, items) for x in (column.formula, column.look, column.unit, column.box)]
        by_column.append(list(map(cell_of, zip(cells, values, *settings, strict=True))))
    rows = [
        Row(reference, cells, lines.get(reference, NO_LINES))
        for reference, cells in zip(refs, zip(*by_column, strict=True), strict=True)
    ]
    return Block(name, title, columns, tuple(rows), note, kind)


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
class Mark:
    """A look that one cell of a form takes on, or those up to the column `across`, while a formula is true: a template of
    full keys."""

    key: str
    formula: str
    look: Literal["bold", "ground", "soft"]
    across: int = 0


@dataclass(frozen=True)
class Series:
    """Points of a drawing that belong together: what the keys of their rows begin with, how they are drawn (`base`, `frame`,
    `hold`, or the mark of a reading), and which of them are labelled: by `name`, or where it is "" by the last row's cell."""

    name: str
    rows: tuple[str, ...]
    look: str
    named: tuple[int, ...]


@dataclass(frozen=True)
class Drawing:
    """A chart of points over the rows between two cells of a form; the columns x and y of their rows hold them, `said` their
    labels. `levels`: how many lines lie above each other."""

    first: str
    last: str
    title: str
    description: str
    levels: int
    series: tuple[Series, ...]


@dataclass(frozen=True)
class Page:
    """How a tab prints: as wide as `columns` of it (0: all), down to the end of the block `until` ("": all). `frozen`:
    so many rows of a form stay in view."""

    columns: int = 0
    until: str = ""
    frozen: int = 0
    # The first and the last row that each page repeats.
    repeat: tuple[int, int] | None = None


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
    marks: tuple[Mark, ...] = ()
    # Cells that lead elsewhere when they are clicked: their keys and the keys of where they lead.
    links: tuple[tuple[str, str], ...] = ()
    drawing: Drawing | None = None
    hidden: bool = False


class Properties(NamedTuple):
    """What a file says of itself outside its sheets: whose it is, what it is, what made it, the day of the document."""

    title: str = ""
    subject: str = ""
    shop: str = ""
    program: str = ""
    day: dt.date = dt.date(2026, 1, 1)


NO_PROPERTIES = Properties()


@dataclass(frozen=True)
class Book:
    document: str
    revision: int
    tabs: tuple[Tab, ...]
    properties: Properties = NO_PROPERTIES

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
