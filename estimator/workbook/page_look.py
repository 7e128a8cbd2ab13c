"""What a tab shows beside its cells: prompts of boxes, words below the page, what is printed, what folds away."""

from __future__ import annotations

from estimator.workbook.book import Book, Box, Tab
from estimator.workbook.form_styles import form_look
from estimator.workbook.layout import Layout
from estimator.workbook.styles import look


def prompt(box: Box) -> tuple[str, str]:
    """The title and the text that a box shows when it is entered, as long as programs take them."""
    return (box.title or "Type here")[:32], (box.prompt or box.rule)[:255]


def prompts(tab: Tab) -> frozenset[tuple[str, str]]:
    """The prompts of all boxes of a tab."""
    cells = (cell for part in (tab.head, *tab.blocks) for row in part.rows for cell in row.cells)
    return frozenset(prompt(cell.box) for cell in cells if cell.box is not None)


def page_texts(book: Book, tab: Tab) -> str:
    """The footer of a tab's pages, in the codes of the file."""
    return f"&L&9{book.document} r{book.revision} · {tab.name}&R&9page &P of &N"


def printed(layout: Layout, tab: Tab) -> tuple[int, int] | None:
    """The last row and column that a tab prints; None for one that prints no page."""
    return (layout.placed[tab.page.until].end_row, tab.page.columns) if tab.head.kind == "form" else None


def number_format(tab: Tab, name: str, *, boxed: bool) -> str:
    """The number format that a look has in a tab."""
    if tab.head.kind == "form":
        return str(form_look(name, boxed=boxed, line="", column=0, last=0).get("num_format", "General"))
    return str(look(name, boxed=boxed).get("num_format", "General"))


def folding(layout: Layout, tab: Tab) -> frozenset[int]:
    """The rows of a tab that its outline may fold away, now or by what was entered before."""
    return frozenset(
        layout.placed[part.name].row_of[row.ref]
        for part in (tab.head, *tab.blocks)
        for row in part.rows
        if row.face.folds
    )
