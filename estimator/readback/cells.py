"""A workbook read in one pass: the formula and the stored value of every cell, comments, names, states.

The tests hold it equal to openpyxl, cell by cell. It differs on purpose in these: escapes such as _x0007_ are decoded;
what a merged range covers is kept; a tab whose part is missing, a cell that is there twice and a shared formula with
two texts are refused, not passed over; Strict Open XML is read.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from estimator.readback.addresses import Area, area_of
from estimator.readback.budget import one_line
from estimator.readback.cell_parser import Cells, Lookups
from estimator.readback.comments_and_shapes import comments_of, shape_texts
from estimator.readback.elements import MAIN, Element
from estimator.readback.looks import BookLook, SheetLook, read_looks
from estimator.readback.open_safely import open_package
from estimator.readback.package_parts import Package
from estimator.readback.read_sheet import read_cells, shared_texts
from estimator.readback.values import ErrorValue, ReadCell, shows_dates
from estimator.readback.workbook_part import Tab, kind_of_workbook, read_structure, relation_id

__all__ = ["ErrorValue", "ReadCell", "SheetCells", "WorkbookCells", "read_workbook"]

_BUILT_IN = frozenset(str(number) for number in range(164))  # number formats that need no code
_DRAWINGS = ("worksheet/drawing", "worksheet/legacyDrawing")
_PROTECTION, _MERGE = "worksheet/sheetProtection", "worksheet/mergeCells/mergeCell"
_BESIDE_CELLS = (*_DRAWINGS, _PROTECTION, _MERGE)
# Where a part lies -> what it is, what becomes of it
_LEFT_OUT = (
    ("xl/externallinks/external", "links to other workbooks", "not followed"),
    ("xl/vbaproject.bin", "macros", "not run"),
    ("xl/macrosheets/", "macro sheets", "not run"),
    ("xl/dialogsheets/", "dialog sheets", "not read"),
    ("xl/chartsheets/", "chart sheets", "not read"),
    ("xl/media/", "pictures", "not read"),
    ("xl/embeddings/", "embedded files", "not opened"),
    ("xl/activex/", "controls", "not run"),
    ("xl/ctrlprops/", "form controls", "not read"),
    ("xl/connections.xml", "connections to data", "not followed"),
    ("xl/pivottables/", "pivot tables", "not read"),
    ("_xmlsignatures/", "digital signatures", "not checked"),
)


@dataclass(frozen=True)
class SheetCells:
    """One tab. cells and comments: by row and column, counted from 1; a cell that holds nothing isn't there.

    state: "visible", "hidden" or "veryHidden". protected: whether the tab's protection is on. shapes: what is written
    in drawn shapes and text boxes. merged: the ranges that are shown as one cell.
    """

    name: str
    state: str
    cells: Cells
    comments: dict[tuple[int, int], str] = field(default_factory=dict)
    protected: bool = False
    shapes: tuple[str, ...] = ()
    merged: tuple[Area, ...] = ()
    look: SheetLook = field(default_factory=SheetLook)


@dataclass(frozen=True)
class WorkbookCells:
    """A workbook as it was saved.

    sheets: in the order of the tabs. defined_names: name -> what it stands for, without "="; a name of one tab is
    "Tab!name". program: the one that saved it, as it names itself, or "". date1904: days count from 1904-01-01.
    notes: what was left out, in words.
    """

    path: Path
    sheets: dict[str, SheetCells]
    defined_names: dict[str, str] = field(default_factory=dict)
    program: str = ""
    date1904: bool = False
    notes: tuple[str, ...] = ()
    look: BookLook = field(default_factory=BookLook)


def read_workbook(path: Path) -> WorkbookCells:
    """Read the workbook at `path` in one pass, under the limits of `budget.LIMITS`.

    No link is followed, no macro is run, no entity is expanded.
    Raises UnreadableFile for everything that goes wrong: its message is one line that says what the file is and what
    to do; rule `unreadable-file` or `over-size`; exit status 65, or 66 for a file that is missing, locked or vanishes.

    >>> read_workbook(Path("quote.ods"))  # doctest: +SKIP
    Traceback (most recent call last):
    estimator.errors.UnreadableFile: quote.ods · an OpenDocument workbook (.ods) · open it in a spreadsheet program, ...
    """
    path = Path(path)
    with open_package(path) as package:
        main = kind_of_workbook(package)
        structure = read_structure(package, main)
        texts, faint = shared_texts(package, structure.texts) if structure.texts else ({}, frozenset[str]())
        lookups = Lookups(
            texts,
            _date_styles(package, structure.styles) if structure.styles else frozenset(),
            structure.date1904,
            faint,
        )
        sheets = {}
        left_out = []
        for tab in structure.tabs:
            if tab.kind == "worksheet":
                sheets[tab.name] = _read_sheet(package, tab, lookups)
            else:
                left_out.append(f'the tab "{one_line(tab.name)}" is no worksheet: not read')
        if not sheets:
            raise package.budget.damaged("it holds no worksheet")
        return WorkbookCells(
            path,
            sheets,
            structure.names,
            _program(package),
            structure.date1904,
            (*left_out, *_left_out(package)),
            read_looks(package, main, structure.styles),
        )


def _read_sheet(package: Package, tab: Tab, lookups: Lookups) -> SheetCells:
    protected = False
    needed: set[str] = set()
    merged: list[Area] = []

    def outside(element: Element) -> None:
        nonlocal protected
        if element.path in _DRAWINGS:
            needed.add(relation_id(element))
        elif element.path == _PROTECTION:
            protected = element.attributes.get("sheet", "0") in ("1", "true", "on")
        elif element.path == _MERGE:
            package.budget.spend("merged ranges")
            area = area_of(element.attributes.get("ref", ""))
            if area is None:
                raise package.budget.damaged(f'the tab "{one_line(tab.name)}" merges what is no range of cells')
            package.budget.spend("cells in merged ranges", area.size)
            merged.append(area)

    cells, look = read_cells(package, tab.part, lookups, _BESIDE_CELLS, outside)
    relations = package.relations(tab.part)
    if not needed <= relations.keys():
        raise package.budget.damaged(f'the comments or shapes of the tab "{one_line(tab.name)}" are missing')
    package.target(tab.part, "comments")
    comments = comments_of(package, relations.values())
    shapes = shape_texts(package, relations.values())
    look.drawn(package, relations)
    return SheetCells(tab.name, tab.state, cells, comments, protected, shapes, tuple(merged), look)


def _date_styles(package: Package, part: str) -> frozenset[str]:
    """The numbers, as cells write them, of the cell formats that show dates."""
    codes: dict[str, str] = {}
    formats: list[str] = []
    for element in package.elements(part, MAIN):
        if element.path == "styleSheet/numFmts/numFmt":
            codes[element.attributes.get("numFmtId", "")] = element.attributes.get("formatCode", "")
        elif element.path == "styleSheet/cellXfs/xf":
            package.budget.spend("cell formats")
            formats.append(element.attributes.get("numFmtId", "0"))
    shows = {
        number: shows_dates(int(number) if number in _BUILT_IN else 0, codes.get(number)) for number in set(formats)
    }
    return frozenset(str(index) for index, number in enumerate(formats) if shows[number])


def _program(package: Package) -> str:
    """Return the program that saved the workbook, as it names itself, or ""."""
    part = package.target("", "extended-properties", "extendedProperties")
    if part not in package:
        return ""
    texts = (element.text for element in package.elements(part) if element.path == "Properties/Application")
    return one_line(next(texts, "").strip(), 120)


def _left_out(package: Package) -> list[str]:
    notes = []
    for beginning, what, fate in _LEFT_OUT:
        count = sum(name.startswith(beginning) and not name.endswith((".rels", "/")) for name in package.names)
        if count:
            notes.append(f"{what} ({count}): {fate}")
    return notes
