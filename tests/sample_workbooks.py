"""Workbooks for the tests of the reader: every kind of cell, written by two libraries, and copies in other markup."""

import re
from collections.abc import Callable
from datetime import date, datetime, time
from pathlib import Path

import openpyxl
import xlsxwriter
from hostile import pack, parts_of
from lxml import etree
from openpyxl.comments import Comment
from openpyxl.worksheet.formula import ArrayFormula

TEXTS = [
    "=1+1",
    "+44 1632 960001",
    "-4 °C",
    "@home",
    "'quoted'",
    'say "no"',
    "R & D <lines> 3/16",
    " led ",
    "two\nlines\tand a tab",
    "ungefähr 2 150 psi",
    "שלום",
    "عطل",
    "e\u0301 combining",
    "\U0001f527 \U0001d4d0",
    "#N/A",
    "TRUE",
    "2026-11-25",
    "1/4",
    "1E5",
    "0012",
    "x" * 32_767,
    "_x0041",
    "a]]>b",
    "&amp;",
    "&#65;",
    "\u200b",
    "nbsp\u00a0end\u00a0",
]
NUMBERS = [
    0,
    1,
    -1,
    2200,
    0.1,
    0.1 + 0.2,
    -3.75,
    1e-300,
    1.7e308,
    123456789012345,
    2**53,
    1e15 + 0.3,
    1 / 3,
    -0.0,
    1e21,
]
DATES = [
    datetime(2026, 11, 25),
    date(1999, 12, 31),
    datetime(2026, 11, 25, 13, 45, 30),
    time(6, 30),
    datetime(1904, 1, 2),
    date(2100, 3, 1),
]
DATE_FORMATS = ["yyyy-mm-dd", "d mmm yyyy", "m/d/yy h:mm", "[h]:mm:ss", "hh:mm", '[$-409]dddd", "d. mmmm']
OTHER_FORMATS = [
    "0.00",
    '0.0 "days"',
    "#,##0 [$psi]",
    "[Red]0.0;[Blue]-0.0",
    r"0.0\ \m\m",
    "0.00E+00",
    "@",
    "General",
    '"sum: "0',
]
FORMULAS = [
    ("=1/0", "#DIV/0!"),
    ("=NA()", "#N/A"),
    ('=A1&"<&>\'"', "text & <more>"),
    ("=TRUE", True),
    ("=1>2", False),
    ('=""', ""),
    ("=SUM(A1:A3)", 6.5),
    ("=ROUND(0.1+0.2,2)", 0.3),
    ("='Brake lines & hoses'!A1", " led "),
    ("=LOG10(100)", 2),
    ('=IF(ISNUMBER(B1),"within limits","not measured")', "not measured"),
    ('=IF(A1<>"",1,2)', 1),
    ('="line\nbreak"', "line\nbreak"),
]


def by_xlsxwriter(path: Path, extremes: bool = True, **options: object) -> Path:
    """Every kind of cell that XlsxWriter writes, with stored values; `extremes`: the largest number, the last cell."""
    book = xlsxwriter.Workbook(path, options)
    bold, plain = book.add_format({"bold": True}), book.add_format({"border": 1})
    first = book.add_worksheet("Inspection")
    second = book.add_worksheet("Brake lines & hoses")
    dated, whole = book.add_format({"num_format": "yyyy-mm-dd"}), not options.get("constant_memory")
    todo = [(second.write_string, number, 0, text, plain) for number, text in enumerate(TEXTS)]
    for number, value in enumerate(NUMBERS if extremes else NUMBERS[:7]):
        shown = book.add_format({"num_format": OTHER_FORMATS[number % len(OTHER_FORMATS)]})
        todo.append((second.write_number, number, 1, value, shown))
    for number, value in enumerate(DATES):
        todo.append((second.write_datetime, number, 2, value, book.add_format({"num_format": DATE_FORMATS[number]})))
    for number, (formula, value) in enumerate(FORMULAS):
        todo.append((first.write_formula, number, 3, formula, plain, value))
    todo += [
        (first.write_formula, 0, 5, "=TODAY()", dated, 46351),
        (first.write_formula, 1, 5, "=IF(1,F1)", dated, "not dated"),
        (first.write_array_formula, 0, 6, 2 if whole else 0, 6, "{=A1:A3*2}", plain, 4),
        (first.write_dynamic_array_formula, 0, 7, 2 if whole else 0, 7, "=LEN(A1:A3)", plain, 1),
        (first.write_boolean, 0, 8, True),
        (first.write_boolean, 1, 8, False, dated),
        (first.write_blank, 2, 8, None, plain),
        (first.write_string, 3, 8, "late", dated),
        (first.write_rich_string, 0, 9, "read ", bold, "twice", " & again"),
        (first.write_url, 1, 9, "https://example.org/a?b=c&d", None, "a page"),
        (first.write_number, 1_048_575 if extremes else 99, 16_383 if extremes else 99, 7),
    ]
    for method, *given in sorted(todo, key=lambda what: what[1]):  # with constant_memory rows are written as they come
        method(*given)
    if whole:
        first.merge_range("K1:L2", "merged", plain)
    first.write_comment("I1", "seen by Ida\nand again <&>")
    first.write_comment("C9", "on an empty cell", {"author": "Ida Fenwright"})
    first.protect("", {"format_cells": True})
    first.data_validation("A1", {"validate": "list", "source": ["authorized", "declined"]})
    first.conditional_format("A1:A9", {"type": "cell", "criteria": ">", "value": 5, "format": bold})
    book.add_worksheet("hidden one").hide()
    book.add_worksheet("Record").very_hidden()
    book.add_worksheet("emptied")
    book.define_name("rate", "='Brake lines & hoses'!$A$1")
    book.define_name("Inspection!local", "=Inspection!$D$1:$D$9")
    second.print_area("A1:C9")
    second.repeat_rows(0)
    book.close()
    return path


def by_openpyxl(path: Path) -> Path:
    """The like by openpyxl, which stores no values beside formulas."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "It's a tab"
    for number, text in enumerate(TEXTS, 1):
        cell = sheet.cell(number, 1, text)
        cell.data_type = "s"
    for number, value in enumerate(NUMBERS, 1):
        sheet.cell(number, 2, value).number_format = OTHER_FORMATS[number % len(OTHER_FORMATS)]
    for number, value in enumerate(DATES, 1):
        sheet.cell(number, 3, value)
    for number, (formula, _) in enumerate(FORMULAS, 1):
        sheet.cell(number, 4, formula)
    sheet["E1"], sheet["E2"], sheet["E3"] = True, "#DIV/0!", ArrayFormula("E3:E5", "=A1:A3*2")
    sheet["F1"].comment = Comment("seen", "Ida Fenwright")
    sheet.protection.sheet = True
    book.create_sheet("other").sheet_state = "veryHidden"
    book.defined_names["rate"] = openpyxl.workbook.defined_name.DefinedName("rate", attr_text="other!$A$1")
    book.save(path)
    return path


def rewritten(path: Path, copy: Path, change: Callable[[str, bytes], bytes]) -> Path:
    """A copy of a workbook, each part of it changed."""
    return pack(copy, {name: change(name, content) for name, content in parts_of(path).items()})


def with_a_comment(name: str, content: bytes) -> bytes:
    """Markup that says the same, with a comment where the cells or texts begin."""
    return re.sub(rb"(<sheetData>|<sst [^>]*>)", rb"\1<!-- <c r='A1'><v>666</v></c> -->", content)


def with_prefixes(name: str, content: bytes) -> bytes:
    """Markup that says the same, each element with a prefix."""
    if not name.startswith("xl/") or not name.endswith(".xml") or "/theme/" in name or "/drawings/" in name:
        return content
    root = etree.fromstring(content)
    space = etree.QName(root).namespace
    new = etree.Element(root.tag, dict(root.attrib), nsmap={"x": space} | {k: v for k, v in root.nsmap.items() if k})
    new.extend(root)
    text = etree.tostring(new, encoding="unicode").replace(f' xmlns="{space}"', "")
    return re.sub(r"<(/?)(?!x:|/|\?|!)(\w+[ />])", r"<\1x:\2", text).encode()


def in_utf16(name: str, content: bytes) -> bytes:
    """The same in another encoding."""
    if not re.match(r"xl/(worksheets/[^/]*|sharedStrings|workbook|styles)\.xml", name):
        return content
    return re.sub(r"^<\?xml[^>]*\?>", '<?xml version="1.0" encoding="UTF-16"?>', content.decode()).encode("utf-16")


def spread_out(name: str, content: bytes) -> bytes:
    """The same with a line break after each tag that holds no text."""
    if not name.startswith("xl/worksheets/sheet"):
        return content
    return re.sub(rb"(</(?:c|v|f|row)>|<(?:c|row|sheetData)(?: [^>]*)?>)", rb"\1\n  ", content)


STRICT = {
    "http://schemas.openxmlformats.org/spreadsheetml/2006/main": "http://purl.oclc.org/ooxml/spreadsheetml/main",
    "http://schemas.openxmlformats.org/officeDocument/2006/relationships": "http://purl.oclc.org/ooxml/officeDocument/relationships",
    "http://schemas.openxmlformats.org/officeDocument/2006/extended-properties": "http://purl.oclc.org/ooxml/officeDocument/extendedProperties",
}  # ECMA-376 part 1, annex A: the namespaces of the strict form


def strict(name: str, content: bytes) -> bytes:
    """The same in the strict form of the standard."""
    for transitional, namespace in STRICT.items():
        content = content.replace(transitional.encode(), namespace.encode())
    return content
