"""What a tab shows beside its cells: prompts of boxes, words above and below the page, what is printed, what fades."""

from __future__ import annotations

from estimator.workbook.book import Box, Tab
from estimator.workbook.layout import Layout
from estimator.workbook.placed_cells import PlacedBlock, column_letter

CHART_ROWS = 15


def prompt(box: Box) -> tuple[str, str]:
    """The title and the text that a box shows when it is entered, as long as programs take them."""
    return (box.title or "Type here")[:32], (box.prompt or box.rule)[:255]


def prompts(tab: Tab) -> frozenset[tuple[str, str]]:
    """The prompts of all boxes of a tab."""
    cells = (cell for part in (tab.head, *tab.blocks) for row in part.rows for cell in row.cells)
    return frozenset(prompt(cell.box) for cell in cells if cell.box is not None)


def page_texts(layout: Layout, tab: Tab) -> tuple[str, str]:
    """The header, "" for none, and the footer of a tab's pages, in the codes of the file."""
    book = layout.book
    header = "&L&9" + tab.page.header.replace("&", "&&") if tab.page.header else ""
    return header, f"&L{book.document} revision {book.revision}&C{tab.name}&Rpage &P of &N"


def printed(layout: Layout, tab: Tab) -> tuple[int, int]:
    """The last row and column that a tab prints, where it says so, or those of its blocks."""
    blocks = [layout.placed[part.name] for part in tab.blocks]
    last = layout.placed[tab.page.until].end_row if tab.page.until else blocks[-1].end_row
    last += len(tab.charts) * CHART_ROWS + 1 if tab.charts else 0
    return last, tab.page.columns or max(len(place.block.columns) for place in blocks)


def fading(place: PlacedBlock) -> str:
    """The condition, for the first row of a block, under which a row that nobody chose fades."""
    cell = f"${column_letter(place.column_of[place.block.faded_by])}{place.first_row}"
    return f"=AND(ISNUMBER({cell}),{cell}=0)"
