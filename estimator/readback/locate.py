"""Where the rows, columns and tabs of a workbook lie now: found by their printed references wherever they went."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from estimator.errors import Finding
from estimator.readback.cells import SheetCells, WorkbookCells
from estimator.workbook.book import Layout, Moves, PlacedBlock, Tab, column_letter, split_key


@dataclass(frozen=True)
class Located:
    """The moves of every tab, the sheets by the names under which the tabs were drafted, rows and columns that are
    gone, blocks whose rows stand in another order, and what is to be said of it all."""

    moves: Mapping[str, Moves]
    sheets: Mapping[str, SheetCells]
    missing_rows: Mapping[str, frozenset[int]]
    missing_columns: Mapping[str, frozenset[int]]
    sorted_blocks: frozenset[str]
    findings: tuple[Finding, ...] = field(default=())

    def is_gone(self, layout: Layout, tab: str, key: str) -> bool:
        """Whether the row or the column of a cell isn't in the workbook any more."""
        block, reference, column = split_key(key)
        place = layout.placed[block]
        number = [item.name for item in place.block.columns].index(column) + 1
        return place.drafted_rows[reference] in self.missing_rows.get(tab, ()) or number in self.missing_columns.get(
            block, ()
        )


def locate(layout: Layout, workbook: WorkbookCells) -> Located:
    """Find every tab, row and column of a layout in a workbook."""
    sheets, findings = _tabs(layout, workbook)
    moves: dict[str, Moves] = {}
    gone_rows: dict[str, frozenset[int]] = {}
    gone_columns: dict[str, frozenset[int]] = {}
    disordered: set[str] = set()
    for tab in layout.book.tabs:
        sheet = sheets.get(tab.name)
        if sheet is None:
            continue
        rows, missing, doubled = _rows(layout, tab, sheet)
        findings += _row_findings(layout, tab, sheet, rows, missing, doubled)
        gone_rows[tab.name] = frozenset(missing)
        columns: dict[str, Mapping[int, int]] = {}
        for part in tab.blocks:
            place = layout.placed[part.name]
            columns[part.name], lost = _columns(place, sheet, rows)
            gone_columns[part.name] = frozenset(lost)
            for column in sorted(lost):
                heading = part.columns[column - 1].heading
                findings.append(
                    Finding(
                        "cell-moved",
                        "stop",
                        f'the column "{heading}" of the block "{part.title}" isn\'t there any more',
                        "undo the deletion, or take an earlier copy",
                        tab=sheet.name,
                    )
                )
            order = [rows.get(number, number) for number in place.row_of.values() if number not in missing]
            if order != sorted(order):
                disordered.add(part.name)
                what = f'the rows of the block "{part.title}" were sorted: its entries are read, its formulas aren\'t judged'
                findings.append(Finding("cell-moved", "stop", what, "undo the sorting", tab=sheet.name))
        moved = {old: new for old, new in rows.items() if old != new}
        shifted = {name: pairs for name, pairs in columns.items() if pairs}
        if moved or shifted or sheet.name != tab.name:
            moves[tab.name] = Moves(moved, shifted, sheet.name)
            if (moved or shifted) and not missing:
                what = f"rows or columns were inserted or moved: {len(moved)} rows stand elsewhere"
                findings.append(Finding("cell-moved", "note", what, "nothing: they were found", tab=sheet.name))
    return Located(moves, sheets, gone_rows, gone_columns, frozenset(disordered), tuple(findings))


def _tabs(layout: Layout, workbook: WorkbookCells) -> tuple[dict[str, SheetCells], list[Finding]]:
    """The tabs by their drafted names; a renamed one is known by its title."""
    found: dict[str, SheetCells] = {}
    findings: list[Finding] = []
    drafted = {tab.name for tab in layout.book.tabs}
    for tab in layout.book.tabs:
        sheet = workbook.sheets.get(tab.name)
        if sheet is None:
            strangers = [other for name, other in workbook.sheets.items() if name not in drafted]
            sheet = next((other for other in strangers if _text(other, 1, 1) == tab.title), None)
            if sheet is not None:
                what = f'the tab "{tab.name}" is now called "{sheet.name}"'
                findings.append(Finding("text-changed", "note", what, "nothing: it was found", tab=sheet.name))
        if sheet is None:
            what = f'the tab "{tab.name}" isn\'t in the workbook'
            findings.append(Finding("tab-missing", "stop", what, "take an earlier copy that has it", tab=tab.name))
        else:
            found[tab.name] = sheet
    return found, findings


def _text(sheet: SheetCells, row: int, column: int) -> str:
    cell = sheet.cells.get((row, column))
    return cell.value if cell is not None and isinstance(cell.value, str) else ""


def _expected_labels(layout: Layout, tab: Tab) -> dict[int, str]:
    """What is printed in the first column of a tab, by row."""
    labels = {text.row: text.text for text in layout.texts(tab) if text.column == 1}
    for part in (tab.head, *tab.blocks):
        place = layout.placed[part.name]
        for row in part.rows:
            labels[place.row_of[row.ref]] = str(row.cells[0].value)
    return labels


def _rows(layout: Layout, tab: Tab, sheet: SheetCells) -> tuple[dict[int, int], set[int], set[str]]:
    """By drafted row the row found; drafted rows that are gone; references that stand twice where once was drafted."""
    expected = _expected_labels(layout, tab)
    if all(_text(sheet, row, 1) == label for row, label in expected.items()):
        return {}, set(), set()
    present: dict[str, list[int]] = {}
    for row, column in sorted(sheet.cells):
        if column == 1 and (text := _text(sheet, row, 1)):
            present.setdefault(text, []).append(row)
    wanted: dict[str, list[int]] = {}
    for row, label in sorted(expected.items()):
        wanted.setdefault(label, []).append(row)
    rows: dict[int, int] = {}
    missing: set[int] = set()
    doubled: set[str] = set()
    for label, drafted in wanted.items():
        found = present.get(label, [])
        if len(found) == len(drafted):
            rows |= dict(zip(drafted, found, strict=True))
            continue
        if len(found) > len(drafted):
            doubled.add(label)
        for row in drafted:
            if row in found:
                rows[row] = row
            else:
                missing.add(row)
    for row in sorted(missing):
        # A label that was typed over leaves its row where its neighbors are.
        if _between(rows, row) and not _text(sheet, rows.get(row - 1, row - 1) + 1, 1) in wanted:
            rows[row] = rows.get(row - 1, row - 1) + 1
            missing.discard(row)
    return rows, missing, doubled


def _between(rows: Mapping[int, int], row: int) -> bool:
    """Whether exactly one row lies where this one should, between its neighbors."""
    above, below = rows.get(row - 1), rows.get(row + 1)
    return above is not None and below is not None and below - above == 2


def _row_findings(
    layout: Layout, tab: Tab, sheet: SheetCells, rows: Mapping[int, int], missing: Iterable[int], doubled: Iterable[str]
) -> list[Finding]:
    findings = []
    labels = _expected_labels(layout, tab)
    for row in sorted(missing):
        what = f'the row "{labels[row]}" isn\'t there any more'
        findings.append(Finding("cell-moved", "stop", what, "undo the deletion, or take an earlier copy", tab=sheet.name))
    for label in sorted(doubled):
        places = [f"A{row}" for row, column in sorted(sheet.cells) if column == 1 and _text(sheet, row, 1) == label]
        findings.append(
            Finding(
                "cell-moved",
                "stop",
                f'the reference "{label}" stands more than once, at {", ".join(places)}',
                "take out the rows that were copied in",
                tab=sheet.name,
                cell=places[0],
            )
        )
    return findings


def _columns(
    place: PlacedBlock, sheet: SheetCells, rows: Mapping[int, int]
) -> tuple[dict[int, int], set[int]]:
    """By drafted column the column found, for those that moved; drafted columns that are gone."""
    heading_row = rows.get(place.heading_row, place.heading_row)
    headings = [column.heading for column in place.block.columns]
    if all(_text(sheet, heading_row, number) == heading for number, heading in enumerate(headings, 1)):
        return {}, set()
    present: dict[str, list[int]] = {}
    for row, column in sorted(sheet.cells):
        if row == heading_row and (text := _text(sheet, row, column)):
            present.setdefault(text, []).append(column)
    moved: dict[int, int] = {}
    lost: set[int] = set()
    seen: dict[str, int] = {}
    for number, heading in enumerate(headings, 1):
        nth = seen[heading] = seen.get(heading, -1) + 1
        found = present.get(heading, [])
        if nth < len(found):
            if found[nth] != number:
                moved[number] = found[nth]
        elif heading:
            lost.add(number)
    if lost and not moved:
        # Headings typed over: the columns are where they were.
        return {}, set()
    return moved, lost


def cell_name(row: int, column: int) -> str:
    return f"{column_letter(column)}{row}"
