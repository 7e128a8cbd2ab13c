"""The manifest of a Book: where every cell lies, and its formula or constant as drafted. Boxes have neither."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

from estimator.workbook.book import Book, Layout, Value

Entry = list[str | int | float | None]


def manifest(book: Book) -> dict[str, dict[str, Entry]]:
    """By tab and key: row, column, kind (f formula, c constant, b box, t text), and formula, constant or kind of box."""
    layout = Layout(book)
    found: dict[str, dict[str, Entry]] = {}
    for tab in book.tabs:
        mine = found.setdefault(tab.name, {})
        for text in layout.texts(tab):
            mine[text.key] = [text.row, text.column, "t", text.text]
        for part in (tab.head, *tab.blocks):
            for row, column, cell, formula in layout.formulas(layout.placed[part.name]):
                if cell.box is not None:
                    mine[cell.key] = [row, column, "b", cell.box.kind]
                elif formula is not None:
                    mine[cell.key] = [row, column, "f", formula]
                else:
                    mine[cell.key] = [row, column, "c", plain(cell.value)]
    return found


def plain(value: Value | dt.date) -> str | int | float | None:
    """A constant as JSON holds it; an empty text is nothing."""
    if isinstance(value, Decimal):
        return float(value)
    if isinstance(value, dt.date):
        return value.isoformat()
    return None if value == "" else value
