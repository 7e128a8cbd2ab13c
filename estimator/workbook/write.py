"""Writes a Book as an xlsx file: each formula with the value that Python computed stored beside it."""

from __future__ import annotations

import datetime as dt
import io
import itertools
import re
import zipfile
import zlib
from collections import Counter
from decimal import Decimal
from typing import Any, NamedTuple

import xlsxwriter
from xlsxwriter.core import Core
from xlsxwriter.format import Format
from xlsxwriter.packager import Packager
from xlsxwriter.worksheet import Worksheet

from estimator.quantities import twelve_digits
from estimator.workbook.book import Book, Box, Cell, Row, Tab
from estimator.workbook.layout import HEAD_ROW, Layout
from estimator.workbook.page_look import page_texts, prompt
from estimator.workbook.placed_cells import PlacedBlock, column_letter
from estimator.workbook.styles import BASE_SIZE, lines_needed, look
from estimator.workbook.write_drawing import write_drawing
from estimator.workbook.write_forms import write_form_tab

_LANGUAGE = "en-US"
_NOWHERE = 200  # a column that holds nothing
_SHARE = "\x00"  # around the attributes of a shared formula
_SHORT_BLOCKS = 4  # zlib's memLevel: the addresses in a sheet change from row to row, and so do the best codes
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
    return _packed_well(buffer)


def _packed_well(written: io.BytesIO) -> bytes:
    """The same file, its parts compressed as well as can be: those of the sheets in short blocks."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(written) as old, zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as new:
        for part in old.infolist():
            content = old.read(part)
            memory = _SHORT_BLOCKS if part.filename.startswith("xl/worksheets/") else zlib.DEF_MEM_LEVEL
            with new.open(part, "w") as file:
                file._compressor = zlib.compressobj(9, zlib.DEFLATED, -zlib.MAX_WBITS, memory)  # type: ignore[attr-defined]
                file.write(content)
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
    it would have to mark; the workbook has none, and looking for them took half of the time of writing.

    A formula may be shared (ECMA-376 part 1, 18.3.1.40): its first cell holds it, the others name its number.
    """

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:
        return formula.removeprefix("=")

    def _xml_formula_element(self, formula: str, result: Any, attributes: Any = ()) -> None:
        if not formula.startswith(_SHARE):
            super()._xml_formula_element(formula, result, attributes)
            return
        given = "".join(f' {name}="{value}"' for name, value in attributes)
        _, share, text = formula.split(_SHARE)
        tag = f"<f {share}>{self._escape_data(text)}</f>" if text else f"<f {share}/>"
        self.fh.write(f"<c{given}>{tag}<v>{self._escape_data(result)}</v></c>")


class _Share(NamedTuple):
    """A formula of a column: its number in the file, the column's letters, its first and last row."""

    number: int
    letters: str
    first: int
    last: int

    def of(self, row: int, formula: str) -> str:
        """What stands in a row for its formula."""
        given = f't="shared" si="{self.number}"'
        if row != self.first:
            return f"{_SHARE}{given}{_SHARE}"
        given += f' ref="{self.letters}{self.first}:{self.letters}{self.last}"'
        return f"{_SHARE}{given}{_SHARE}{formula.removeprefix('=')}"


class _Writer:
    def __init__(self, workbook: xlsxwriter.Workbook, book: Book) -> None:
        self.workbook, self.book, self.layout = workbook, book, Layout(book)
        self._formats: dict[tuple[str, bool], Format] = {}
        self._forms: dict[tuple[tuple[str, Any], ...], Format] = {}
        self._boxes: dict[str, tuple[dict[str, Any], list[tuple[int, int, int, int]]]] = {}
        self._numbers = itertools.count()

    def format(self, name: str, *, boxed: bool = False) -> Format:
        if (name, boxed) not in self._formats:
            self._formats[name, boxed] = self.workbook.add_format(look(name, boxed=boxed))
        return self._formats[name, boxed]

    def write(self) -> None:
        sheets = {tab.name: self.workbook.add_worksheet(tab.name, _Sheet) for tab in self.book.tabs}
        for tab in self.book.tabs:
            self._boxes.clear()
            self._numbers = itertools.count()
            self._tab(sheets[tab.name], tab)
            for said, (first, *others) in self._boxes.values():
                sheets[tab.name].data_validation(*first, said | {"other_cells": others})

    def _tab(self, sheet: Worksheet, tab: Tab) -> None:
        if tab.hidden:
            sheet.hide()
        sheet.hide_gridlines(2)
        if tab.head.kind == "form":
            write_form_tab(sheet, tab, self.layout, self._made, self._cell_in, page_texts(self.book, tab))
            write_drawing(self.workbook, sheet, tab, self.layout)
            sheet.protect("", {"format_columns": True, "format_rows": True})
            return
        for number, width in enumerate(tab.widths):
            sheet.set_column(number, number, width, self.format("text"))
        sheet.set_row(0, 26)
        for text in self.layout.texts(tab):
            sheet.write_string(text.row - 1, text.column - 1, text.text, self.format(text.look))
        for part in (tab.head, *tab.blocks):
            self._block(sheet, self.layout.placed[part.name])
        sheet.protect("", {"format_columns": True, "format_rows": True, "autofilter": True})
        self._page(sheet, tab)

    def _block(self, sheet: Worksheet, place: PlacedBlock) -> None:
        if place.block.kind != "form":
            self._rows(sheet, place)
        for column, rows, cells, formulas in self.layout.by_columns(place):
            shares = self._shares(place, column, rows, cells)
            for row, cell, formula in zip(rows, cells, formulas, strict=True):
                share = shares.get(cell.formula)
                written = share.of(row, formula) if share and formula else formula
                self._cell(sheet, row - 1, column - 1, cell, written)

    def _shares(self, place: PlacedBlock, column: int, rows: list[int], cells: list[Cell]) -> dict[str | None, _Share]:
        """By template, the formulas that several rows of a column share."""
        found: dict[str | None, _Share] = {}
        for template, count in Counter(cell.formula for cell in cells).items():
            if template is not None and count > 1 and self.layout.fills_down(place, template):
                mine = [row for row, cell in zip(rows, cells, strict=True) if cell.formula == template]
                found[template] = _Share(next(self._numbers), column_letter(column), mine[0], mine[-1])
        return found

    def _rows(self, sheet: Worksheet, place: PlacedBlock) -> None:
        """The heights of a table's rows, its headings and the lines between them."""
        part = place.block
        if any(column.heading for column in part.columns):
            pairs = zip(part.columns, place.tab.widths, strict=False)
            most = max(lines_needed("heading", column.heading, width) for column, width in pairs)
            sheet.set_row(place.heading_row - 1, LINE_HEIGHT * most)
        for row in part.rows:
            number = place.row_of[row.ref]
            for at, line in enumerate(row.lines.above, number - 1 - len(row.lines.above)):
                if line.look == "section":
                    sheet.set_row(at, SECTION_HEIGHT)  # a format of its own would be 16,384 cells to Gnumeric
                    for column_number in range(1, len(part.columns)):
                        sheet.write_blank(at, column_number, None, self.format("section"))
            height = self._height(place, row)
            if row is part.rows[0] and not row.lines.above:
                height = (height or LINE_HEIGHT) + UNDER_HEADING
            if height:
                sheet.set_row(number - 1, height)

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

    def _made(self, properties: dict[str, Any]) -> Format:
        key = tuple(sorted(properties.items()))
        if key not in self._forms:
            self._forms[key] = self.workbook.add_format(properties)
        return self._forms[key]

    def _cell(self, sheet: Worksheet, row: int, column: int, cell: Cell, formula: str | None) -> None:
        self._cell_in(sheet, row, column, cell, formula, self.format(cell.look, boxed=cell.box is not None))

    def _cell_in(self, sheet: Worksheet, row: int, column: int, cell: Cell, formula: str | None, style: Format) -> None:
        if formula is not None:
            value = float(cell.value) if isinstance(cell.value, Decimal) else cell.value
            if isinstance(value, str):
                value = _stored(value)
            elif isinstance(value, float):
                value = twelve_digits(value)
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
            self._take(cell.box, (row, column, row, column))

    def _take(self, box: Box, place: tuple[int, int, int, int]) -> None:
        """Boxes that take the same and say the same have one validation."""
        said = _validation(box)
        if box.listed:
            said |= {"source": self._range(box.listed)}
        self._boxes.setdefault(repr(said), (said, []))[1].append(place)

    def _range(self, name: str) -> str:
        """A column of a block as a chart or a list names it."""
        owner, column = name.split(":")
        place = self.layout.placed[owner]
        letter = column_letter(place.column_of[column])
        top, bottom = place.span
        return f"='{place.tab.name}'!${letter}${top}:${letter}${bottom}"

    def _page(self, sheet: Worksheet, tab: Tab) -> None:
        sheet.set_paper(0)
        sheet.set_margins(0.4, 0.4, 0.75, 0.6)
        sheet.set_landscape()
        sheet.freeze_panes(HEAD_ROW, 1)
        sheet.print_area(0, _NOWHERE, 0, _NOWHERE)  # an empty cell: no page


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
