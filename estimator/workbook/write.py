"""Writes a Book as an xlsx file: each formula with the value that Python computed stored beside it."""

from __future__ import annotations

import datetime as dt
import io
import itertools
import re
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import xlsxwriter
from xlsxwriter.core import Core
from xlsxwriter.format import Format
from xlsxwriter.packager import Packager
from xlsxwriter.worksheet import Worksheet

from estimator.workbook.book import Book, Box, Cell, Chart, Row, Tab
from estimator.workbook.layout import HEAD_ROW, Layout
from estimator.workbook.page_look import CHART_ROWS, fading, page_texts, printed, prompt
from estimator.workbook.placed_cells import PlacedBlock, column_letter
from estimator.workbook.styles import ACT_FILL, BASE_SIZE, BOX_FILL, FAINT, RULE, lines_needed, look

_LANGUAGE = "en-US"
LINE_HEIGHT, SECTION_HEIGHT, UNDER_HEADING = 15, 22, 4
# Control characters, what looks like an escaped one, a "#" in front.
_ESCAPED = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)|[\x00-\x08\x0b-\x1f\ufffe\uffff]|^#")


def workbook_bytes(book: Book) -> bytes:
    """The xlsx file of a Book; the same Book gives the same bytes."""
    buffer = io.BytesIO()
    workbook = File(buffer, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    about = book.properties
    workbook.set_properties(
        {
            "title": about.title,
            "subject": about.subject,
            "author": about.shop,
            "company": about.shop,
            "comments": about.program and f"Drafted by {about.program}",
            "created": dt.datetime.combine(about.day, dt.time()),
        }
    )
    workbook.set_calc_mode("auto")
    _Writer(workbook, book).write()
    workbook.close()
    return buffer.getvalue()


class _Core(Core):  # type: ignore[misc]
    """The properties of a file, with its language, which XlsxWriter leaves out."""

    def _write_dc_subject(self) -> None:
        super()._write_dc_subject()
        self._xml_data_element("dc:language", _LANGUAGE)


class _Packager(Packager):  # type: ignore[misc]
    def _write_core_file(self) -> None:
        core = _Core()
        core._set_properties(self.workbook.doc_properties)
        core._set_xml_writer(self._filename("docProps/core.xml"))
        core._assemble_xml_file()


class File(xlsxwriter.Workbook):  # type: ignore[misc]
    """A workbook whose properties name its language."""

    def _get_packager(self) -> Packager:
        return _Packager()


class _Sheet(Worksheet):  # type: ignore[misc]  # XlsxWriter has no types
    """A sheet that takes formulas as they are. XlsxWriter looks in each for some thirty functions newer than 2007 that
    it would have to mark; the workbook has none, and looking for them took half of the time of writing."""

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:
        return formula.removeprefix("=")


class _Writer:
    def __init__(self, workbook: xlsxwriter.Workbook, book: Book) -> None:
        self.workbook, self.book, self.layout = workbook, book, Layout(book)
        self._formats: dict[tuple[str, bool], Format] = {}

    def format(self, name: str, *, boxed: bool = False) -> Format:
        if (name, boxed) not in self._formats:
            self._formats[name, boxed] = self.workbook.add_format(look(name, boxed=boxed))
        return self._formats[name, boxed]

    def write(self) -> None:
        sheets = {tab.name: self.workbook.add_worksheet(tab.name, _Sheet) for tab in self.book.tabs}
        for tab in self.book.tabs:
            self._tab(sheets[tab.name], tab)

    def _tab(self, sheet: Worksheet, tab: Tab) -> None:
        for number, width in enumerate(tab.widths):
            sheet.set_column(number, number, width, self.format("text"))
        sheet.set_row(0, 26)
        for text in self.layout.texts(tab):
            sheet.write_string(text.row - 1, text.column - 1, text.text, self.format(text.look))
        for part in (tab.head, *tab.blocks):
            self._block(sheet, self.layout.placed[part.name])
        for emphasis in tab.emphases:
            self._emphasis(sheet, emphasis)
        sheet.protect("", {"format_columns": True, "format_rows": True, "autofilter": True})
        sheet.hide_gridlines(2)
        for number, chart in enumerate(tab.charts):
            self._chart(sheet, tab, chart, number)
        self._page(sheet, tab)

    def _block(self, sheet: Worksheet, place: PlacedBlock) -> None:
        part = place.block
        if any(column.heading for column in part.columns):
            pairs = zip(part.columns, place.tab.widths, strict=False)
            most = max(lines_needed("heading", column.heading, width) for column, width in pairs)
            sheet.set_row(place.heading_row - 1, LINE_HEIGHT * most)
        for row in part.rows:
            number = place.row_of[row.ref]
            for at, line in enumerate(row.lines.above, number - 1 - len(row.lines.above)):
                if line.look == "section":
                    sheet.set_row(at, SECTION_HEIGHT)
                    for column_number in range(1, len(part.columns)):
                        sheet.write_blank(at, column_number, None, self.format("section"))
            height = part.row_height or self._height(place, row)
            if row is part.rows[0] and not row.lines.above:
                height = (height or LINE_HEIGHT) + UNDER_HEADING
            if height:
                sheet.set_row(number - 1, height)
        for row_number, column_number, cell, formula in self.layout.formulas(place):
            self._cell(sheet, row_number - 1, column_number - 1, cell, formula)
        if part.faded_by and part.rows:
            self._fade(sheet, place)

    def _height(self, place: PlacedBlock, row: Row) -> float | None:
        """The height that a row's longest text needs; programs don't all fit rows to wrapped texts by themselves."""
        widths = place.tab.widths
        most = max(
            LINE_HEIGHT
            * lines_needed(cell.look, cell.value, widths[column - 1], boxed=cell.box is not None)
            * max(1.0, look(cell.look)["font_size"] / BASE_SIZE)
            for column, cell in zip(place.column_of.values(), row.cells, strict=True)
            if isinstance(cell.value, str) and column <= len(widths)
        )
        return most if most > LINE_HEIGHT else None

    def _cell(self, sheet: Worksheet, row: int, column: int, cell: Cell, formula: str | None) -> None:
        style = self.format(cell.look, boxed=cell.box is not None)
        if formula is not None:
            value = float(cell.value) if isinstance(cell.value, Decimal) else cell.value
            value = _stored(value) if isinstance(value, str) else value
            sheet.write_formula(row, column, formula, style, "" if value is None else value)
        elif cell.value is None or cell.value == "":
            if cell.box is not None:
                sheet.write_blank(row, column, None, style)
        elif isinstance(cell.value, str):
            if cell.value.startswith("<r>") and cell.value.endswith("</r>"):
                # XlsxWriter takes such a text for its own markup; of two pieces it makes markup that says this text.
                sheet.write_rich_string(row, column, style, cell.value[:3], style, cell.value[3:], style)
            else:
                sheet.write_string(row, column, cell.value, style)
        elif isinstance(cell.value, dt.date):
            sheet.write_datetime(row, column, dt.datetime.combine(cell.value, dt.time()), style)
        else:
            sheet.write_number(row, column, float(cell.value), style)
        if cell.box is not None:
            sheet.data_validation(row, column, row, column, self._validation(cell.box))

    def _validation(self, box: Box) -> dict[str, Any]:
        said = _validation(box)
        return said | {"source": self._range(box.listed)} if box.listed else said

    def _fade(self, sheet: Worksheet, place: PlacedBlock) -> None:
        last = len(place.block.columns) - 1
        sheet.conditional_format(
            place.first_row - 1,
            0,
            place.last_row - 1,
            last,
            {
                "type": "formula",
                "criteria": fading(place),
                "format": self.workbook.add_format(
                    {"num_format": ";;;"} if place.block.blanked else {"font_color": FAINT}
                ),
            },
        )

    def _emphasis(self, sheet: Worksheet, emphasis: Any) -> None:
        place = self.layout.placed[emphasis.block]
        column = place.column_of[emphasis.column]
        properties = {"bold": True} | ({"bg_color": ACT_FILL} if emphasis.look == "act" else {})
        first = f"{column_letter(column)}{place.first_row}"
        words = ",".join(f'{first}="{word}"' for word in emphasis.words)
        sheet.conditional_format(
            place.first_row - 1,
            column - 1,
            place.last_row - 1,
            column - 1,
            {"type": "formula", "criteria": f"=OR({words})", "format": self.workbook.add_format(properties)},
        )

    def _chart(self, sheet: Worksheet, tab: Tab, chart: Chart, number: int) -> None:
        """A chart below the last block; charts stand beneath each other."""
        drawn = self.workbook.add_chart({"type": "line" if chart.kind == "line" else "bar"})
        for place, series in enumerate(chart.series):
            style: dict[str, Any] = {"name": series.name}
            style |= {part: self._range(getattr(series, part)) for part in ("categories", "values")}
            if chart.kind == "line":
                style |= {"line": {"color": RULE, "width": 2.25 if place == 0 else 1.25, "dash_type": series.dash}}
                style |= {"marker": {"type": "none"}}
            else:
                style |= {"fill": {"color": BOX_FILL if place == 0 else ACT_FILL}, "border": {"color": RULE}}
            drawn.add_series(style)
        drawn.set_title({"name": chart.title, "name_font": {"size": 12}, "overlay": False})
        drawn.set_x_axis({"name": chart.category_title, "reverse": False})
        drawn.set_y_axis({"name": chart.value_title, "major_gridlines": {"visible": chart.kind == "line"}})
        if chart.kind == "bar":
            drawn.set_x_axis({"name": chart.value_title})
            drawn.set_y_axis({"name": "", "reverse": True, "major_gridlines": {"visible": False}})
        drawn.set_legend({"position": "bottom"})
        drawn.set_size({"width": 720, "height": CHART_ROWS * 20 - 20})
        bottom = self.layout.placed[tab.blocks[-1].name].end_row
        sheet.insert_chart(
            bottom + 1 + number * CHART_ROWS, 0, drawn, {"description": chart.description, "object_position": 1}
        )

    def _range(self, name: str) -> str:
        """A column of a block as a chart or a list names it."""
        owner, column = name.split(":")
        place = self.layout.placed[owner]
        letter = column_letter(place.column_of[column])
        top, bottom = place.span
        return f"={place.tab.name}!${letter}${top}:${letter}${bottom}"

    @staticmethod
    def _between_sections(place: PlacedBlock, most: int) -> Iterator[int]:
        """The rows after which pages end, so that no section of a block is split."""
        starts = [number for number, row in enumerate(place.block.rows) if most and row.lines.above]
        on_page = 0
        for start, end in itertools.pairwise([*starts, len(place.block.rows)]):
            if on_page and on_page + end - start > most:
                row = place.block.rows[start]
                yield place.row_of[row.ref] - len(row.lines.above) - 1
                on_page = 0
            on_page += end - start

    def _page(self, sheet: Worksheet, tab: Tab) -> None:
        page = tab.page
        if page.landscape:
            sheet.set_landscape()
        sheet.set_paper(0)
        sheet.set_margins(0.4, 0.4, 0.75, 0.6)
        sheet.fit_to_pages(1, 0)
        top = self.layout.placed[tab.frozen_to].heading_row if tab.frozen_to else HEAD_ROW
        sheet.repeat_rows(0, top - 1)
        sheet.freeze_panes(top, 1)
        header, footer = page_texts(self.layout, tab)
        if header:
            sheet.set_header(header)
        sheet.set_footer(footer)
        if page.columns or page.until:
            last, width = printed(self.layout, tab)
            sheet.print_area(0, 0, last - 1, width - 1)
        breaks = [self.layout.placed[name].title_row - 1 for name in page.breaks_before]
        breaks += self._between_sections(self.layout.placed[tab.blocks[0].name], page.rows_a_page)
        if breaks:
            sheet.set_h_pagebreaks(breaks)
        if tab.filtered:
            place = self.layout.placed[tab.filtered]
            sheet.autofilter(
                place.heading_row - 1, 0, place.last_row - 1, (page.columns or len(place.block.columns)) - 1
            )


def _stored(text: str) -> str:
    """A text as a formula cell stores it. XlsxWriter escapes other texts only, and writes "#N/A" and its kin, which a
    person may have typed, as error values; a "#" that is escaped stays a text."""
    return _ESCAPED.sub(lambda match: f"_x{ord(match[0]):04X}_", text)


def _validation(box: Box) -> dict[str, Any]:
    """The data validation of a box, with a prompt and an error text on each."""
    title, message = prompt(box)
    said = {
        "input_title": title,
        "input_message": message,
        "error_title": "Not understood",
        "error_message": f"Allowed here: {box.rule}."[:255],
        "ignore_blank": True,
    }
    if box.kind == "list":
        return said | {"validate": "list", "source": list(box.allowed)}
    if box.kind == "number":
        within = {"validate": "decimal", "criteria": "between", "minimum": box.low, "maximum": box.high}
        if box.believed:
            low, high = box.believed
            doubt = f"By the car's data {low:g} to {high:g} can be true. A reading beyond counts as not measured, or as failed."
            within |= {"minimum": low, "maximum": high, "error_type": "warning", "error_title": "Not believable"}
            within |= {"error_message": doubt}
        return said | within
    if box.kind == "date":
        return said | {
            "validate": "date",
            "criteria": "between",
            "minimum": dt.date(1950, 1, 1),
            "maximum": dt.date(2099, 12, 31),
        }
    return said | {"validate": "length", "criteria": "<=", "value": 2000}
