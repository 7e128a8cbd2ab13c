"""Writes a tab of forms: rows as their faces say, columns in pixels, pages at their own size."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from xlsxwriter.worksheet import Worksheet

from estimator.workbook.book import Block, Cell, Tab
from estimator.workbook.form_styles import form_look
from estimator.workbook.layout import Layout

_MARKS: dict[str, dict[str, Any]] = {
    "bold": {"bold": True},
    "ground": {"bold": True, "font_color": "#FFFFFF", "bg_color": "#000000"},
    "soft": {"bold": False, "font_color": "#404040"},
}
Format = Any
# A table, here as if it stood on the tab of the mark: references have dollar signs, so that they hold for all of its cells.
_SEEN_FROM = "standing"
# left, right, top, bottom, in inches: the columns' 176.7 mm fit on letter and on A4.
_MARGINS = (0.45, 0.40, 0.42, 0.58)


def write_form_tab(
    sheet: Worksheet,
    tab: Tab,
    layout: Layout,
    make: Callable[[dict[str, Any]], Format],
    cell: Callable[[Worksheet, int, int, Cell, str | None, Format], None],
    footer: str,
) -> None:
    """Write a tab of forms. make: a format of these properties; cell: writes one cell."""
    for number, width in enumerate(tab.widths):
        sheet.set_column_pixels(number, number, width, make(form_look("text", boxed=False, line="", column=0, last=0)))
    parts = (tab.head, *tab.blocks)
    for part in parts:
        _block(sheet, part, tab, layout, make, cell)
    seen_from = replace(layout.placed[_SEEN_FROM], tab=tab)
    for mark in tab.marks:
        _, row, column = layout.address(mark.key)
        criteria = "=" + layout.filled(seen_from, mark.formula)
        at = (row - 1, column - 1, row - 1, max(mark.across, column) - 1)
        sheet.conditional_format(*at, {"type": "formula", "criteria": criteria, "format": make(_MARKS[mark.look])})
    for key, name in tab.links:
        _, row, column = layout.address(key)
        look = make(form_look("link", boxed=False, line="", column=0, last=0))
        sheet.write_url(row - 1, column - 1, f"internal:'{name}'!A1", look, name)
    _page(sheet, tab, layout, footer)


def _block(
    sheet: Worksheet,
    part: Block,
    tab: Tab,
    layout: Layout,
    make: Callable[[dict[str, Any]], Format],
    cell: Callable[[Worksheet, int, int, Cell, str | None, Format], None],
) -> None:
    place, last = layout.placed[part.name], tab.page.columns
    faces = {place.row_of[row.ref]: row for row in part.rows}
    for number, row in faces.items():
        face = row.face
        options = {"level": face.level, "hidden": face.folded} if face.level else {}
        sheet.set_row(number - 1, face.height, None, options)
        if face.line:
            for column in sorted(set(range(1, last + 1)) - set(row.at)):
                look = form_look("text", boxed=False, line=face.line, column=column, last=last)
                sheet.write_blank(number - 1, column - 1, None, make(look))
    for row_number, column, item, formula in layout.formulas(place):
        line = faces[row_number].face.line if column <= last else ""
        look = form_look(item.look, boxed=item.box is not None, line=line, column=column, last=last)
        if formula is None and item.box is None and item.value in ("", None):
            sheet.write_blank(row_number - 1, column - 1, None, make(look))
        else:
            cell(sheet, row_number - 1, column - 1, item, formula, make(look))


def _page(sheet: Worksheet, tab: Tab, layout: Layout, footer: str) -> None:
    page = tab.page
    sheet.set_portrait()
    sheet.set_paper(0)
    sheet.set_margins(*_MARGINS)
    sheet.set_print_scale(100)
    sheet.center_horizontally()
    sheet.set_footer(footer)
    bottom = layout.placed[page.until].end_row
    sheet.print_area(0, 0, bottom - 1, page.columns - 1)
    breaks = [
        layout.placed[part.name].row_of[row.ref] - 1
        for part in (tab.head, *tab.blocks)
        for row in part.rows
        if row.face.page and layout.placed[part.name].row_of[row.ref] <= bottom
    ]
    if breaks:
        sheet.set_h_pagebreaks(breaks)
    if page.frozen:
        sheet.freeze_panes(page.frozen, 0)
    if page.repeat:
        sheet.repeat_rows(page.repeat[0] - 1, page.repeat[1] - 1)
    sheet.outline_settings(True, False, True, False)
