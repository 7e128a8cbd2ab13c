"""Which sheet of a workbook is which tab: by its name, else by what is printed in it."""

from __future__ import annotations

from dataclasses import dataclass

from estimator.errors import Finding
from estimator.readback.cells import ErrorValue, SheetCells, WorkbookCells
from estimator.readback.root_causes import Cause, keys_of
from estimator.workbook.book import Row, Tab
from estimator.workbook.layout import Layout

_LIKE, _OWN_NAME = 0.5, 0.2  # share of a tab's printed texts that a sheet must have, and that one of its name must have

Texts = dict[tuple[int, int], str]


@dataclass(frozen=True)
class Tabs:
    """The sheets by the names under which their tabs were drafted, the tabs of which sheets are copies, what is to be
    said of them."""

    sheets: dict[str, SheetCells]
    copies: dict[str, str]
    causes: list[Cause]


def find_tabs(layout: Layout, workbook: WorkbookCells) -> Tabs:
    """Find the tabs of a layout among the sheets of a workbook."""
    found = Tabs({}, {}, [])
    for tab in layout.book.tabs:
        sheet = workbook.sheets.get(tab.name)
        if sheet is not None and (_title(sheet) == tab.title or likeness(layout, tab, sheet) >= _OWN_NAME):
            found.sheets[tab.name] = sheet
    strangers = [sheet for sheet in workbook.sheets.values() if found.sheets.get(sheet.name) is not sheet]
    for tab in layout.book.tabs if strangers or len(found.sheets) < len(layout.book.tabs) else ():
        like = [sheet for sheet in strangers if likeness(layout, tab, sheet) >= _LIKE]
        if tab.name in found.sheets:
            found.copies.update({sheet.name: tab.name for sheet in like})
        elif len(like) == 1:
            found.sheets[tab.name] = like[0]
            what = f'the tab "{tab.name}" is now called "{like[0].name}"'
            found.causes.append(Cause(Finding("text-changed", "note", what, "nothing: it was found", tab=like[0].name)))
        else:
            found.causes.append(_missing(tab, workbook, like))
    return found


def texts_of(sheet: SheetCells) -> Texts:
    """The texts that a sheet holds as constants, by place."""
    return {
        place: cell.value
        for place, cell in sheet.cells.items()
        if cell.formula is None and isinstance(cell.value, str) and not isinstance(cell.value, ErrorValue)
    }


def label_of(row: Row) -> str:
    """The printed reference of a row; "" where its first cell is no constant text."""
    first = row.cells[0]
    if row.at and row.at[0] != 1:
        return ""
    return first.value if first.formula is None and first.box is None and isinstance(first.value, str) else ""


def likeness(layout: Layout, tab: Tab, sheet: SheetCells) -> float:
    """The share of the texts printed in a tab's first column that stand anywhere in a sheet, 0 to 1."""
    texts = {text.text for text in layout.texts(tab) if text.column == 1}
    texts |= {label_of(row) for part in (tab.head, *tab.blocks) for row in part.rows}
    texts.discard("")
    return len(texts & set(texts_of(sheet).values())) / len(texts)


def _title(sheet: SheetCells) -> object:
    cell = sheet.cells.get((1, 1))
    return None if cell is None else cell.value


def _missing(tab: Tab, workbook: WorkbookCells, like: list[SheetCells]) -> Cause:
    fix = "take an earlier copy that has it"
    if like:
        names = " and ".join(f'"{sheet.name}"' for sheet in like)
        what, fix = f'{names} may each be the tab "{tab.name}"', f'call the right one "{tab.name}" again'
    elif tab.name in workbook.sheets:
        what = f'the tab "{tab.name}" holds nothing of what was drafted there'
    else:
        what = f'the tab "{tab.name}" isn\'t in the workbook'
    return Cause(Finding("tab-missing", "stop", what, fix, tab=tab.name), keys_of(tab))
