"""Addresses for all cells of a Book, as drafted, or where a workbook that came back has them now."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from estimator.boxes.keys import apart
from estimator.workbook.book import Book, Cell, Tab
from estimator.workbook.placed_cells import GONE, NOTHING, Moves, PlacedBlock, column_letter
from estimator.workbook.styles import is_number

HEAD_ROW = 2

_PLACEHOLDER = re.compile(r"\{([^{}]+)\}")
# In a compiled template: the cell's own row, the row above it, the letters of its column.
_OWN_ROW, _ROW_ABOVE, _OWN_COLUMN = "\x00", "\x01", "\x02"
# The same, for a cell of the row's reference in another block: this, its name, this again.
_ELSEWHERE = "\x03"
_NAMED = re.compile("\x03([^\x03]*)@([^\x03]*)\x03")


@dataclass(frozen=True, slots=True)
class FixedText:
    """A text that is no cell of a block: a title, a caution, a heading, a line about a row."""

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
            moves = self.moves.get(tab.name, Moves())
            top = 1 if tab.head.kind == "form" else HEAD_ROW
            placed[tab.head.name] = PlacedBlock(tab.head, tab, 0, 0, top, moves)
            row = top + len(tab.head.rows) - 1 + len(tab.cautions)
            for part in tab.blocks:
                if part.name in placed:
                    raise ValueError(f"two blocks are called {part.name}")
                if part.kind == "form":
                    placed[part.name] = PlacedBlock(part, tab, row, row, row + 1, moves)
                    row += len(part.rows)
                    continue
                title_row = row + 2 if part.title else row
                heading_row = title_row + (2 if part.note else 1)
                place = placed[part.name] = PlacedBlock(part, tab, title_row, heading_row, heading_row + 1, moves)
                lines = sum(len(item.lines.above) + 1 + len(item.lines.below) for item in part.rows)
                row = place.first_row + max(lines, 1) - 1
        object.__setattr__(self, "placed", placed)
        object.__setattr__(self, "_compiled", {})
        in_forms = {
            cell.key: (place, row.ref, column)
            for place in placed.values()
            if place.block.kind == "form"
            for row in place.block.rows
            for cell, column in zip(row.cells, place.columns_of(row), strict=True)
        }
        object.__setattr__(self, "_in_forms", in_forms)

    def address(self, key: str) -> tuple[str, int, int]:
        """The tab, row and column (both from 1) of a key; row or column 0 where it is gone."""
        place, row, column = self._found(key)
        return place.tab.name, row, column

    def _found(self, key: str) -> tuple[PlacedBlock, int, int]:
        """The block, row and column of a key."""
        in_forms: Mapping[str, tuple[PlacedBlock, str, int]] = self._in_forms  # type: ignore[attr-defined]
        if key in in_forms:
            place, ref, column = in_forms[key]
            return place, place.row_of[ref], column
        name, reference, named = apart(key)
        place = self.placed[name]
        return place, place.row_of[reference], place.column_of[named]

    def texts(self, tab: Tab) -> Iterator[FixedText]:
        """All texts of a tab that are no cells of a block and are there still, with keys of their own."""
        moves = self.moves.get(tab.name)
        if moves is None:
            yield from self._texts(tab)
            return
        for text in self._texts(tab):
            owner = apart(text.key)[0]
            columns = moves.columns.get(owner, moves.columns.get("", NOTHING))
            row, column = moves.rows.get(text.row, text.row), columns.get(text.column, text.column)
            if row and column:
                yield FixedText(text.key, row, column, text.text, text.look)

    def _texts(self, tab: Tab) -> Iterator[FixedText]:
        if tab.title:
            yield FixedText(f"{tab.name}.title.text", 1, 1, tab.title, "title")
        for number, caution in enumerate(tab.cautions, 1):
            yield FixedText(f"{tab.name}.caution-{number}.text", HEAD_ROW + number, 1, caution, "caution")
        for part in tab.blocks:
            if part.kind != "form":
                yield from self._texts_of(self.placed[part.name])

    @staticmethod
    def _texts_of(place: PlacedBlock) -> Iterator[FixedText]:
        part = place.block
        if part.title:
            yield FixedText(f"{part.name}.title.text", place.title_row, 1, part.title, "block-title")
        if part.note:
            yield FixedText(f"{part.name}.note.text", place.heading_row - 1, 1, part.note, "block-note")
        for number, column in enumerate(part.columns, 1):
            key = f"{part.name}.heading.{column.name}"
            over = part.rows[0].cells[number - 1].look if part.rows else ""
            look = "heading-pointer" if over == "pointer" else "heading-right" if is_number(over) else "heading"
            yield FixedText(key, place.heading_row, number, column.heading, look)
        for row in part.rows:
            at = place.drafted_rows[row.ref]
            for number, line in enumerate(row.lines.above, 1):
                above = at - len(row.lines.above) + number - 1
                yield FixedText(f"{part.name}.{row.ref}.above-{number}", above, 1, line.text, line.look)
            for number, line in enumerate(row.lines.below, 1):
                yield FixedText(f"{part.name}.{row.ref}.below-{number}", at + number, 1, line.text, line.look)

    def formulas(self, place: PlacedBlock) -> Iterator[tuple[int, int, Cell, str | None]]:
        """Each cell of a block that is there still, by rows: its row, column and, if it has one, its formula with
        addresses. A formula that names what is gone, or a row of a sorted block, holds GONE."""
        for row, (ref, drafted) in zip(place.block.rows, place.drafted_rows.items(), strict=True):
            if row_number := place.row_of[ref]:
                own, above = str(row_number), place.above(drafted)
                for column_number, cell in zip(place.columns_of(row), row.cells, strict=True):
                    if column_number:
                        yield row_number, column_number, cell, self._filled(place, cell, own, above, column_number)

    def by_columns(self, place: PlacedBlock) -> Iterator[tuple[int, list[int], list[Cell], list[str | None]]]:
        """The same by columns: the column's number, the numbers of its rows, their cells, their formulas."""
        if place.block.kind == "form":
            by_column: dict[int, tuple[list[int], list[Cell], list[str | None]]] = {}
            for number, at, cell, formula in self.formulas(place):
                for mine, item in zip(by_column.setdefault(at, ([], [], [])), (number, cell, formula), strict=True):
                    mine.append(item)  # type: ignore[attr-defined]
            yield from ((at, *rest) for at, rest in by_column.items())
            return
        there = [
            (row, place.row_of[ref], place.above(drafted))
            for row, (ref, drafted) in zip(place.block.rows, place.drafted_rows.items(), strict=True)
            if place.row_of[ref]
        ]
        numbers = [number for _, number, _ in there]
        own, above = [str(number) for number in numbers], [up for _, _, up in there]
        cells_by_column = zip(*(row.cells for row, _, _ in there), strict=True)
        for column, cells in zip(place.column_of.values(), cells_by_column, strict=False):
            if not column:
                continue
            templates = {cell.formula for cell in cells}
            only = templates.pop() if len(templates) == 1 else None
            formulas: list[str | None]
            if not templates and only is None:
                formulas = [None] * len(cells)
            elif only is not None and not {_ROW_ABOVE, _OWN_COLUMN, _ELSEWHERE} & set(
                pattern := self._pattern(place, only)
            ):
                formulas = [pattern.replace(_OWN_ROW, number) for number in own]
            else:
                formulas = list(map(self._filled, itertools.repeat(place), cells, own, above, itertools.repeat(column)))
            yield column, numbers, list(cells), formulas

    def fills_down(self, place: PlacedBlock, template: str) -> bool:
        """Whether a formula of a table reads in each row as if it had been filled down from another."""
        return place.block.kind == "table" and _ELSEWHERE not in self._pattern(place, template)

    def filled(self, place: PlacedBlock, template: str) -> str:
        """A template of full keys with addresses, as seen from the tab of a block."""
        return self._compile(place, template)

    def _filled(self, place: PlacedBlock, cell: Cell, own: str, above: str, column: int) -> str | None:
        """The formula of a cell: `own` is its row and `above` the row above, as they are now."""
        if cell.formula is None:
            return None
        text = self._pattern(place, cell.formula).replace(_OWN_ROW, own)
        if _ELSEWHERE in text:
            ref = apart(cell.key)[1]
            text = _NAMED.sub(lambda match: self._one(place, f"{match[1]}.{ref}.{match[2]}", ""), text)
        if _ROW_ABOVE in text:
            text = text.replace(_ROW_ABOVE, above)
        return text.replace(_OWN_COLUMN, column_letter(column)) if _OWN_COLUMN in text else text

    def _pattern(self, place: PlacedBlock, template: str) -> str:
        compiled: dict[tuple[str, str], str] = self._compiled  # type: ignore[attr-defined]
        name = place.block.name, template
        if name not in compiled:
            compiled[name] = self._compile(place, template)
        return compiled[name]

    def _compile(self, place: PlacedBlock, template: str) -> str:
        """A template with addresses, and marks for what depends on the cell that holds it."""

        def address(match: re.Match[str]) -> str:
            try:
                return self._reference(place, match[1])
            except KeyError:
                raise KeyError(f"{template} in block {place.block.name} names {match[1]}, which isn't there") from None

        return _PLACEHOLDER.sub(address, template)

    def _reference(self, place: PlacedBlock, name: str) -> str:
        name, _, last = name.partition("..")
        if "~" in name:
            return self._down(place, *name.split("~"))
        if "@" in name:
            return f"{_ELSEWHERE}{name}{_ELSEWHERE}"
        if ":" in name:
            return self._range(place, name, last)
        if name.startswith("|"):
            row = place.row_of[name[1:]]
            return f"{_OWN_COLUMN}${row}" if row else GONE
        if "." in name:
            return self._one(place, name, last)
        first, end = place.column_of[name.lstrip("^")], place.column_of[last or name.lstrip("^")]
        if not first or not end:
            return GONE
        if name.startswith("^"):
            return f"{column_letter(first)}{_ROW_ABOVE}"
        start = f"{column_letter(first)}{_OWN_ROW}"
        return f"{start}:{column_letter(end)}{_OWN_ROW}" if last else start

    def _one(self, place: PlacedBlock, key: str, last: str) -> str:
        """One cell, or the cells of its row up to the column `last`."""
        other, row, first = self._found(key)
        end = other.column_of[last] if last else first
        if other.moves.gone or other.block.name in other.moves.sorted or not (row and first and end):
            return GONE
        # In a working each row has its own formula, and none is ever filled down: no dollar signs within its tab.
        mark = "" if place.block.kind != "table" and other.tab.name == place.tab.name else "$"
        start = f"{self._prefix(place, other)}{mark}{column_letter(first)}{mark}{row}"
        return f"{start}:{mark}{column_letter(end)}{mark}{row}" if last else start

    def _down(self, place: PlacedBlock, first: str, last: str) -> str:
        """The cells of a column from one to another."""
        (other, top, column), (_, bottom, same) = self._found(first), self._found(last)
        if other.moves.gone or other.block.name in other.moves.sorted or not (top and bottom and column == same):
            return GONE
        letter = column_letter(column)
        return f"{self._prefix(place, other)}${letter}${top}:${letter}${bottom}"

    def _range(self, place: PlacedBlock, name: str, last: str) -> str:
        """A column of a block, or several side by side, over all of its rows."""
        owner, column = name.split(":")
        other = self.placed[owner]
        first, end = other.column_of[column], other.column_of[last or column]
        top, bottom = other.span
        if other.moves.gone or not (first and end and top):
            return GONE
        return f"{self._prefix(place, other)}${column_letter(first)}${top}:${column_letter(end)}${bottom}"

    def _prefix(self, place: PlacedBlock, other: PlacedBlock) -> str:
        if other.tab.name == place.tab.name:
            return ""
        now = other.moves.name or other.tab.name
        return (now if now.isalnum() and now == other.tab.name else "'" + now.replace("'", "''") + "'") + "!"
