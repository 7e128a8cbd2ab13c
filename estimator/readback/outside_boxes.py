"""What people put into a workbook outside of its boxes: texts, comments, drawings, tabs; and protection taken off."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from estimator.errors import Finding
from estimator.readback.cells import ReadCell, SheetCells, WorkbookCells
from estimator.readback.equal_values import words
from estimator.readback.locate import Located, cell_name
from estimator.readback.root_causes import Cause
from estimator.workbook.book import Tab
from estimator.workbook.layout import Layout
from estimator.workbook.placed_cells import PlacedBlock

_KEPT = "nothing: fill and redraft carry it into the notes"
_MOST = 200  # added cells of a tab that are listed one by one


def added_cells(layout: Layout, tab: Tab, sheet: SheetCells, places: set[tuple[int, int]]) -> Iterator[Cause]:
    """What stands in cells that were drafted empty; within a block's rows and columns, a sum or a search may take it in.

    places: of all cells that were drafted.
    """
    added = sorted(place for place in sheet.cells.keys() - places if _holds(sheet.cells[place]))
    blocks = [layout.placed[part.name] for part in (tab.head, *tab.blocks)]
    listed = [Cause(_added(sheet, place, blocks)) for place in added[:_MOST]]
    if rest := added[_MOST:]:
        inside = any(_inside(place, blocks) for place in rest)
        what = f"text outside the entry boxes in {len(rest)} more cells"
        found = "; ".join(f"{cell_name(*place)} {_text(sheet.cells[place])}" for place in rest)
        listed.append(
            Cause(Finding("text-added", "warn" if inside else "note", what, _KEPT, tab=sheet.name, found=found))
        )
    yield from listed
    for place, comment in sorted(sheet.comments.items()):
        finding = Finding("text-added", "note", "a comment was added", _KEPT, tab=sheet.name, cell=cell_name(*place))
        yield Cause(replace(finding, found=comment))


def _added(sheet: SheetCells, place: tuple[int, int], blocks: list[PlacedBlock]) -> Finding:
    where, found = cell_name(*place), _text(sheet.cells[place])
    if _inside(place, blocks):
        what = "text among the cells of a table: sums and searches may include it"
        fix = "move it to the right of the table"
        return Finding("text-added", "warn", what, fix, tab=sheet.name, cell=where, found=found)
    what = "text outside the entry boxes"
    return Finding("text-added", "note", what, _KEPT, tab=sheet.name, cell=where, found=found)


def _inside(place: tuple[int, int], blocks: list[PlacedBlock]) -> bool:
    row, column = place
    for block in blocks:
        columns = [number for number in block.column_of.values() if number]
        if block.span[0] <= row <= block.span[1] and columns and min(columns) <= column <= max(columns):
            return True
    return False


def _holds(cell: ReadCell) -> bool:
    return cell.formula is not None or cell.value not in (None, "")


def _text(cell: ReadCell) -> str:
    """What a cell holds, uncut."""
    if cell.formula is not None:
        return f"{cell.formula} ({words(cell.value)})" if cell.value not in (None, "") else cell.formula
    return cell.value if isinstance(cell.value, str) else words(cell.value)


def strange_tabs(workbook: WorkbookCells, located: Located) -> Iterator[Cause]:
    """Tabs that were never drafted; what a copy of a drafted tab holds is only what differs from it."""
    mine = {sheet.name for sheet in located.sheets.values()}
    for name, sheet in workbook.sheets.items():
        if name in mine:
            continue
        original = located.copies.get(name)
        known: Mapping[tuple[int, int], ReadCell] = {} if original is None else located.sheets[original].cells
        texts = [
            f"{cell_name(*place)} {_text(cell)}"
            for place, cell in sorted(sheet.cells.items())
            if _holds(cell) and (original is None or (there := known.get(place)) is None or there.value != cell.value)
        ]
        texts += [f"{cell_name(*place)} {text}" for place, text in sorted(sheet.comments.items())]
        finding = Finding("text-added", "note", "a tab was added", _KEPT, tab=name, found="; ".join(texts))
        if original is not None:
            what = f'the tab is a copy of "{original}": entries in it are not read'
            fix = f'enter what is new in it in "{located.sheets[original].name}", and delete the copy'
            finding = replace(finding, severity="warn" if texts else "note", what=what, fix=fix)
        yield Cause(finding)


def protection(layout: Layout, located: Located) -> Iterator[Cause]:
    """Tabs on which anyone can type over a formula now."""
    open_tabs = [
        sheet.name for tab in layout.book.tabs if (sheet := located.sheets.get(tab.name)) and not sheet.protected
    ]
    if open_tabs:
        what = f"the protection of {len(open_tabs)} tabs is off ({', '.join(open_tabs)}): formulas can be overwritten"
        fix = "fill and redraft write a protected workbook again"
        yield Cause(Finding("protection-off", "note", what, fix, tab=open_tabs[0]))


def attachments(workbook: WorkbookCells) -> Iterator[Cause]:
    """What the file holds beside its tabs, and texts in drawings."""
    for sheet in workbook.sheets.values():
        for text in sheet.shapes:
            yield Cause(Finding("text-added", "note", "a text box was added", _KEPT, tab=sheet.name, found=text))
    for note in workbook.notes:
        yield Cause(Finding("text-added", "note", f"the file holds more than tabs: {note}"))
