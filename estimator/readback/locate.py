"""Where the rows, columns and tabs of a workbook lie now: found by their printed references wherever they went."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from estimator.boxes.keys import apart
from estimator.errors import Finding
from estimator.readback.align import aligned
from estimator.readback.budget import one_line
from estimator.readback.cells import SheetCells, WorkbookCells
from estimator.readback.find_tabs import find_tabs, label_of, texts_of
from estimator.readback.root_causes import Cause
from estimator.workbook.book import Block, Tab
from estimator.workbook.layout import Layout
from estimator.workbook.placed_cells import Moves, PlacedBlock, column_letter

_NAMED = 5  # rows or columns that a message names before it counts the rest


@dataclass(frozen=True)
class Located:
    """The sheets by the names under which their tabs were drafted, copies by their names with the tab that they copy, the
    moves of each tab, the rows of references that stand more than once by block and reference, what is to be said."""

    sheets: Mapping[str, SheetCells]
    copies: Mapping[str, str]
    moves: Mapping[str, Moves]
    doubled: Mapping[tuple[str, str], tuple[int, ...]]
    causes: tuple[Cause, ...]


def locate(layout: Layout, workbook: WorkbookCells) -> Located:
    """Find every tab, row and column of a layout, which is as drafted, in a workbook."""
    tabs = find_tabs(layout, workbook)
    sheets, causes = tabs.sheets, tabs.causes
    moves: dict[str, Moves] = {}
    doubled: dict[tuple[str, str], tuple[int, ...]] = {}
    for tab in layout.book.tabs:
        if tab.name not in sheets:
            moves[tab.name] = Moves(gone=True)
            continue
        sheet = sheets[tab.name]
        if _in_place(layout, tab, sheet):
            if sheet.name != tab.name:
                moves[tab.name] = Moves(name=sheet.name)
            continue
        finder = _Finder(layout, tab, sheet)
        moves[tab.name] = finder.moves
        doubled |= finder.doubled
        causes += finder.causes()
    return Located(sheets, tabs.copies, moves, doubled, tuple(causes))


def cell_name(row: int, column: int) -> str:
    return f"{column_letter(column)}{row}"


def _in_place(layout: Layout, tab: Tab, sheet: SheetCells) -> bool:
    """Whether all labels and headings of a tab stand where they were drafted, and no label anywhere else."""
    cells = sheet.cells
    first = set()
    for text in layout.texts(tab):
        if text.text and ((cell := cells.get((text.row, text.column))) is None or cell.value != text.text):
            return False
        if text.column == 1:
            first.add(text.row)
    labels = set()
    for part in (tab.head, *tab.blocks):
        rows = layout.placed[part.name].row_of
        for row in part.rows:
            if label := label_of(row):
                number = rows[row.ref]
                first.add(number)
                labels.add(label)
                if (cell := cells.get((number, 1))) is None or cell.value != label:
                    return False
    return not any(at == 1 and row not in first and cell.value in labels for (row, at), cell in cells.items())


class _Finder:
    """Finds the rows and columns of one tab whose labels aren't all where they were drafted."""

    def __init__(self, layout: Layout, tab: Tab, sheet: SheetCells) -> None:
        self.layout, self.tab, self.sheet = layout, tab, sheet
        self.parts = (tab.head, *tab.blocks)
        self.places = {part.name: layout.placed[part.name] for part in self.parts}
        self.texts = texts_of(sheet)
        self.filled_rows = {row for row, _ in sheet.cells}
        self.owners, drafted = self._labels()
        at = self._label_column(label for _, label in drafted)
        in_column = sorted((row, text) for (row, column), text in self.texts.items() if column == at)
        self.rows, extra = aligned(drafted, in_column, self.filled_rows.__contains__)
        self.columns = self._all_columns(at)
        self.doubled = self._doubled(extra, at)
        sorted_blocks = frozenset(part.name for part in self.parts if self._disordered(part))
        changed = {old: new for old, new in self.rows.items() if old != new}
        self.moves = Moves(changed, self.columns, sheet.name, sorted_blocks)

    def _labels(self) -> tuple[dict[int, tuple[str, str]], list[tuple[int, str]]]:
        """Drafted row -> block and reference, and all that is printed in the first column, by drafted row."""
        labels = {text.row: text.text for text in self.layout.texts(self.tab) if text.column == 1 and text.text}
        owners = {}
        for part in self.parts:
            for ref, number in self.places[part.name].drafted_rows.items():
                owners[number] = (part.name, ref)
        for part in self.parts:
            for row in part.rows:
                labels[self.places[part.name].drafted_rows[row.ref]] = label_of(row)
        return owners, sorted(labels.items())

    def _label_column(self, labels: Iterable[str]) -> int:
        wanted = set(labels)
        count = Counter(column for (_, column), text in self.texts.items() if text in wanted)
        return max(count, key=lambda column: (count[column], -column), default=1)

    def _all_columns(self, label_column: int) -> dict[str, dict[int, int]]:
        """By block, the columns that moved; blocks without headings follow the others of the tab."""
        found: dict[str, dict[int, int]] = {}
        votes: dict[int, Counter[int]] = {}
        for part in self.tab.blocks:
            pairs = self._columns(self.places[part.name])
            if pairs is not None:
                found[part.name] = pairs
                for old, new in pairs.items():
                    votes.setdefault(old, Counter())[new] += 1
        usual = {old: count.most_common(1)[0][0] for old, count in votes.items()}
        usual[1] = label_column
        shift = label_column - 1
        for part in self.parts:
            if part.name not in found:
                numbers = range(1, len(part.columns) + 1)
                found[part.name] = {number: usual.get(number, number + shift) for number in numbers}
            found[part.name][1] = label_column
        found[""] = {1: label_column}
        return {name: {old: new for old, new in pairs.items() if old != new} for name, pairs in found.items()}

    def _columns(self, place: PlacedBlock) -> dict[int, int] | None:
        """Column as drafted -> column as found, 0 for one that is gone; None where no heading tells."""
        row = self.rows.get(place.heading_row, 0)
        headings = [(number, column.heading) for number, column in enumerate(place.block.columns, 1) if column.heading]
        if not row or not headings:
            return None
        found = sorted((column, text) for (at, column), text in self.texts.items() if at == row)
        rows = {now for drafted in place.drafted_rows.values() if (now := self.rows[drafted])}
        pairs, _ = aligned(headings, found, lambda column: any((row, column) in self.sheet.cells for row in rows))
        for number, column in enumerate(place.block.columns, 1):
            if not column.heading and pairs.get(number - 1):  # it follows the one before it
                pairs[number] = pairs[number - 1] + 1
        return pairs

    def _doubled(self, extra: list[int], at: int) -> dict[tuple[str, str], tuple[int, ...]]:
        """Block and reference -> the rows at which it stands, for references that stand too often within their block."""
        spans = self._spans()
        found: dict[tuple[str, str], tuple[int, ...]] = {}
        for row in extra:
            label = self.texts[row, at]
            for part in self.parts:
                first, last = spans[part.name]
                ref = next((item.ref for item in part.rows if label_of(item) == label), None)
                if ref is not None and first <= row <= last:
                    own = self.rows[self.places[part.name].drafted_rows[ref]]
                    found[part.name, ref] = (*found.get((part.name, ref), (own,)), row)
        return found

    def _spans(self) -> dict[str, tuple[int, int]]:
        """The rows that belong to each block: from its first row to the next block's title."""
        starts = {}
        for part in self.parts:
            rows = [self.rows[row] for row in self.places[part.name].drafted_rows.values()]
            starts[part.name] = min((row for row in rows if row), default=0)
        order = sorted((row, name) for name, row in starts.items() if row)
        ends = [row - 1 for row, _ in order[1:]] + [max(self.filled_rows, default=0)]
        spans = {name: (row, end) for (row, name), end in zip(order, ends, strict=True)}
        return {part.name: spans.get(part.name, (1, 0)) for part in self.parts}

    def _disordered(self, part: Block) -> bool:
        rows = [self.rows[row] for row in self.places[part.name].drafted_rows.values() if self.rows[row]]
        return rows != sorted(rows)

    def causes(self) -> list[Cause]:
        """What is to be said of the tab."""
        found = [*self._gone_texts()]
        for part in self.parts:
            found += [*self._gone_rows(part), *self._gone_columns(part), *self._sorted(part)]
        found += [self._stands_twice(*item) for item in self.doubled.items()]
        moved = sum(1 for old, new in self.rows.items() if new and old != new)
        shifted = sum(1 for pairs in self.columns.values() for new in pairs.values() if new)
        if (moved or shifted) and not found:
            what = "rows or columns were inserted or moved"
            found.append(Cause(Finding("cell-moved", "note", what, "no action: all were found", tab=self.sheet.name)))
        return found

    def _gone_texts(self) -> Iterable[Cause]:
        gone = {self.owners[row] for row, now in self.rows.items() if not now and row in self.owners}
        texts = [
            text.text
            for text in self.layout.texts(self.tab)
            if text.column == 1 and text.text and not self.rows[text.row] and apart(text.key)[:2] not in gone
        ]
        if texts:
            what = "texts of the workbook are missing: " + _list([f'"{one_line(text)}"' for text in texts])
            fix = "restore them, or use an earlier copy"
            yield Cause(Finding("text-changed", "stop", what, fix, tab=self.sheet.name))

    def _gone_rows(self, part: Block) -> Iterable[Cause]:
        drafted = self.places[part.name].drafted_rows
        gone = [row for row in part.rows if not self.rows[drafted[row.ref]]]
        if gone:
            keys = frozenset(cell.key for row in gone for cell in row.cells)
            named = _list([label_of(row) or row.ref for row in gone])
            which = "every row" if len(gone) == len(part.rows) else "a row" if len(gone) == 1 else f"{len(gone)} rows"
            yield self._lost(part, f"{which} of {_block(part)} cannot be found: {named}", keys)

    def _gone_columns(self, part: Block) -> Iterable[Cause]:
        columns = self.columns.get(part.name, {})
        gone = [number for number in columns if not columns[number]]
        if gone:
            place = self.places[part.name]
            keys = frozenset(
                cell.key
                for row in part.rows
                for number, cell in zip(row.at or place.column_of.values(), row.cells, strict=True)
                if number in gone
            )
            named = _list([f'"{part.columns[number - 1].heading}"' for number in gone])
            yield self._lost(part, f"columns of {_block(part)} cannot be found: {named}", keys)

    def _lost(self, part: Block, what: str, keys: frozenset[str]) -> Cause:
        boxes = sum(1 for row in part.rows for cell in row.cells if cell.key in keys and cell.box is not None)
        lost = f", and with it {boxes} entry boxes" if boxes else ""
        fix = "undo the deletion, or use an earlier copy"
        return Cause(Finding("cell-moved", "stop", what + lost, fix, tab=self.sheet.name), keys)

    def _sorted(self, part: Block) -> Iterable[Cause]:
        if part.name in self.moves.sorted:
            what = f"rows of {_block(part)} were sorted: entries read, formulas not checked"
            keys = frozenset(cell.key for row in part.rows for cell in row.cells if cell.box is None)
            yield Cause(Finding("cell-moved", "stop", what, "undo the sorting", tab=self.sheet.name), keys)

    def _stands_twice(self, where: tuple[str, str], rows: tuple[int, ...]) -> Cause:
        part = self.places[where[0]].block
        row = next(row for row in part.rows if row.ref == where[1])
        column = self.columns[part.name].get(1, 1)
        places = [cell_name(number, column) for number in sorted(rows)]
        what = f'the reference "{label_of(row)}" is at {", ".join(places)}: none of these rows is read'
        fix = "delete the copied rows"
        finding = Finding("cell-moved", "stop", what, fix, tab=self.sheet.name, cell=places[0])
        return Cause(finding, frozenset(cell.key for cell in row.cells))


def _block(part: Block) -> str:
    return f'the table "{part.title}"' if part.title else f"the table of {part.columns[0].heading or part.name}s"


def _list(names: list[str]) -> str:
    rest = len(names) - _NAMED
    return ", ".join(names[:_NAMED]) + (f" and {rest} more" if rest > 0 else "")
