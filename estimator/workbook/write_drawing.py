"""Draws points of a block as a chart over rows of a form."""

from __future__ import annotations

from typing import Any

from xlsxwriter import Workbook
from xlsxwriter.worksheet import Worksheet

from estimator.workbook.book import Drawing, Series, Tab
from estimator.workbook.form_styles import SOFT
from estimator.workbook.layout import Layout
from estimator.workbook.placed_cells import column_letter

_INK = "#000000"
_LABEL = {"name": "Calibri", "size": 9, "color": _INK}
_LINES: dict[str, dict[str, Any]] = {
    "base": {"color": _INK, "width": 0.75},
    "frame": {"color": _INK, "width": 1.0},
    "hold": {"color": _INK, "width": 2.25},
}


def write_drawing(workbook: Workbook, sheet: Worksheet, tab: Tab, layout: Layout) -> None:
    """Draw the drawing of a tab, if it has one."""
    drawing = tab.drawing
    if drawing is None:
        return
    chart = workbook.add_chart({"type": "scatter", "subtype": "straight"})
    for series in drawing.series:
        chart.add_series(_series(series, layout))
    chart.show_blanks_as("gap")
    chart.set_legend({"none": True})
    chart.set_title({"none": True})
    chart.set_x_axis({"min": 0, "major_gridlines": {"visible": False}, "num_font": _LABEL, "line": {"color": SOFT}})
    chart.set_y_axis({"min": 0.4, "max": drawing.levels + 0.6, "visible": False, "major_gridlines": {"visible": False}})
    chart.set_chartarea({"border": {"none": True}, "fill": {"none": True}})
    chart.set_plotarea({"fill": {"none": True}})
    top, bottom = (layout.address(key)[1] for key in (drawing.first, drawing.last))
    rows = {layout.placed[part.name].row_of[row.ref]: row for part in (tab.head, *tab.blocks) for row in part.rows}
    height = sum(rows[number].face.height for number in range(top, bottom + 1)) * 4 / 3
    chart.set_size({"width": sum(tab.widths[: tab.page.columns]) - 4, "height": height - 4})
    sheet.insert_chart(top - 1, 0, chart, {"description": drawing.description, "object_position": 1, "x_offset": 2})


def _series(series: Series, layout: Layout) -> dict[str, Any]:
    """A label is the name of a series: programs follow no other that lies in a cell."""
    custom = [None if number in series.named else {"delete": True} for number in range(len(series.rows))]
    position = "above" if series.name else "below"
    said = {
        "name": series.name or _cell(f"{series.rows[-1]}.said", layout),
        "categories": _range(series, "x", layout),
        "values": _range(series, "y", layout),
        "data_labels": {"series_name": True, "custom": custom, "font": _LABEL, "position": position},
    }
    if series.look in _LINES:
        return said | {"line": _LINES[series.look], "marker": {"type": "none"}}
    mark = {"type": series.look, "size": 8, "fill": {"color": _INK}, "border": {"color": _INK}}
    return said | {"line": {"none": True}, "marker": mark}


def ranges(drawing: Drawing, layout: Layout) -> frozenset[str]:
    """Return every range that a drawing is drawn from, as a chart names it."""
    points = {_range(series, column, layout) for series in drawing.series for column in ("x", "y")}
    said = {_cell(f"{series.rows[-1]}.said", layout) for series in drawing.series if not series.name}
    return frozenset(points | said)


def _cell(key: str, layout: Layout) -> str:
    tab, row, column = layout.address(key)
    return f"='{tab}'!${column_letter(column)}${row}"


def _range(series: Series, column: str, layout: Layout) -> str:
    tab, top, at = layout.address(f"{series.rows[0]}.{column}")
    _, bottom, _ = layout.address(f"{series.rows[-1]}.{column}")
    letter = column_letter(at)
    return f"='{tab}'!${letter}${top}:${letter}${bottom}"
