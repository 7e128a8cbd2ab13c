"""An xlsx file taken apart without the program's own reader: cells, validations, protection, parts; and edits of it.

Every edit keeps the stored values of all other cells, as they stand in the file.
"""

from __future__ import annotations

import posixpath
import re
import zipfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

from lxml import etree
from openpyxl.formula.translate import Translator

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
RELATION_ID = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
FORMULA, VALUE = MAIN + "f", MAIN + "v"
SPACE = "{http://www.w3.org/XML/1998/namespace}space"
_ADDRESS = re.compile(r"([A-Z]{1,3})([0-9]+)")


class FileCell(NamedTuple):
    """A cell as the file has it. `text`: a constant text; `stored`: a number or what a formula cell stores."""

    kind: str
    style: int
    formula: str | None
    stored: str | None
    text: str | None


@dataclass(frozen=True)
class Validation:
    kind: str
    source: str
    titles: tuple[str, str]
    messages: tuple[str, str]
    shown: bool


@dataclass
class FileSheet:
    name: str
    cells: dict[str, FileCell] = field(default_factory=dict)
    validations: dict[str, list[Validation]] = field(default_factory=dict)
    protection: dict[str, str] = field(default_factory=dict)
    merged: tuple[str, ...] = ()


class Style(NamedTuple):
    """What a cell's style says: colors as RRGGBB, "" where it says nothing."""

    unlocked: bool
    ink: str
    fill: str


@dataclass(frozen=True)
class WrittenFile:
    """`styles` by the number that cells give; `emphases` are those that conditions put on top."""

    sheets: dict[str, FileSheet]
    styles: tuple[Style, ...]
    emphases: tuple[Style, ...]
    parts: tuple[str, ...]
    external: tuple[str, ...]
    names: dict[str, str]


def sheet_parts(book: zipfile.ZipFile) -> dict[str, str]:
    """Sheet name -> name of its part."""
    relations = etree.fromstring(book.read("xl/_rels/workbook.xml.rels"))
    targets = {r.get("Id"): posixpath.normpath(posixpath.join("/xl", r.get("Target"))).lstrip("/") for r in relations}
    sheets = etree.fromstring(book.read("xl/workbook.xml")).iter(MAIN + "sheet")
    return {s.get("name"): targets[s.get(RELATION_ID)] for s in sheets}


def read_file(path: Path) -> WrittenFile:
    with zipfile.ZipFile(path) as book:
        shared = [_text(item) for item in etree.fromstring(book.read("xl/sharedStrings.xml"))]
        sheets = {name: _sheet(name, book.read(part), shared) for name, part in sheet_parts(book).items()}
        styles = etree.fromstring(book.read("xl/styles.xml"))
        root = etree.fromstring(book.read("xl/workbook.xml"))
        names = {item.get("name"): item.text or "" for item in root.iter(MAIN + "definedName")}
        external = tuple(_external(book))
        dxfs = styles.find(MAIN + "dxfs")
        emphases = tuple(
            Style(False, _color(dxf, "font"), _color(dxf, "fill")) for dxf in (() if dxfs is None else dxfs)
        )
        return WrittenFile(sheets, tuple(_styles(styles)), emphases, tuple(book.namelist()), external, names)


def _external(book: zipfile.ZipFile) -> Iterator[str]:
    for part in book.namelist():
        if part.endswith(".rels"):
            for relation in etree.fromstring(book.read(part)):
                if relation.get("TargetMode") == "External":
                    yield f"{part}: {relation.get('Target')}"


def _is_unlocked(xf: etree._Element) -> bool:
    protection = xf.find(MAIN + "protection")
    return protection is not None and protection.get("locked") == "0"


def _styles(root: etree._Element) -> Iterator[Style]:
    fonts, fills = root.find(MAIN + "fonts"), root.find(MAIN + "fills")
    for xf in root.find(MAIN + "cellXfs"):
        font, fill = fonts[int(xf.get("fontId", "0"))], fills[int(xf.get("fillId", "0"))]
        yield Style(_is_unlocked(xf), _color(font), _color(fill))


def _color(item: etree._Element, part: str = "") -> str:
    """The color of a font or of a pattern's ground, or of such a part of an item; "" for none or the theme's."""
    item = item if not part else item.find(MAIN + part)
    if item is None:
        return ""
    found = next((color for name in ("color", "fgColor", "bgColor") for color in item.iter(MAIN + name)), None)
    return "" if found is None else found.get("rgb", "")[-6:]


def _text(item: etree._Element) -> str:
    text = "".join(t.text or "" for t in item.iter(MAIN + "t"))
    return re.sub(r"_x([0-9A-Fa-f]{4})_", lambda match: chr(int(match[1], 16)), text)


def unshared(root: etree._Element) -> etree._Element:
    """A sheet whose cells each hold their own formula, by openpyxl's translator."""
    first: dict[str, Translator] = {}
    for formula in root.iter(FORMULA):
        if formula.get("t") == "shared":
            address, number = formula.getparent().get("r"), formula.get("si")
            if formula.text:
                first[number] = Translator("=" + formula.text, address)
            else:
                formula.text = first[number].translate_formula(address).removeprefix("=")
            formula.attrib.clear()
    return root


def _sheet(name: str, xml: bytes, shared: list[str]) -> FileSheet:
    root = unshared(etree.fromstring(xml))
    found = FileSheet(name)
    for row in root.find(MAIN + "sheetData"):
        for cell in row:
            kind, formula, value = cell.get("t", "n"), None, None
            for child in cell:
                if child.tag == FORMULA:
                    formula = child.text
                elif child.tag == VALUE:
                    value = child.text
            text = shared[int(value)] if kind == "s" else _text(cell) if kind == "inlineStr" else None
            stored = None if kind in ("s", "inlineStr") else value
            found.cells[cell.get("r")] = FileCell(kind, int(cell.get("s", "0")), formula, stored, text)
    for item in root.iter(MAIN + "dataValidation"):
        said = Validation(
            item.get("type", "none"),
            item.findtext(MAIN + "formula1") or "",
            (item.get("promptTitle", ""), item.get("errorTitle", "")),
            (item.get("prompt", ""), item.get("error", "")),
            item.get("showInputMessage") == "1" and item.get("showErrorMessage") == "1",
        )
        for place in item.get("sqref", "").split():
            found.validations.setdefault(place, []).append(said)
    found.merged = tuple(item.get("ref", "") for item in root.iter(MAIN + "mergeCell"))
    protection = root.find(MAIN + "sheetProtection")
    found.protection = {} if protection is None else dict(protection.attrib)
    return found


# --- edits ------------------------------------------------------------------------------------------------------------

Edit = Callable[[etree._Element], None]


def edited(path: Path, out: Path, sheet: str, address: str, edit: Edit) -> Path:
    """A copy with one cell changed. `edit` is given the cell's element, made if it wasn't there."""
    return with_markup(path, out, {sheet: lambda root: edit(_cell(root.find(MAIN + "sheetData"), address))})


def with_markup(path: Path, out: Path, changes: Mapping[str, Edit]) -> Path:
    """A copy in which the root element of some sheets, or of other parts by their names, was changed. Raises KeyError."""
    with zipfile.ZipFile(path) as book:
        parts = {name: name for name in book.namelist()} | sheet_parts(book)

    def markup(edit: Edit) -> Callable[[bytes], bytes]:
        def changed_markup(xml: bytes) -> bytes:
            root = etree.fromstring(xml)
            edit(root)
            return etree.tostring(root, xml_declaration=True, encoding="UTF-8", standalone=True)

        return changed_markup

    return changed(path, out, {parts[name]: markup(edit) for name, edit in changes.items()})


def changed(
    path: Path, out: Path, changes: dict[str, Callable[[bytes], bytes]], added: dict[str, bytes] | None = None
) -> Path:
    """A copy with some of its parts changed, those of tabs with a formula in each cell, and others added."""
    with zipfile.ZipFile(path) as book, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as copy:
        for name in book.namelist():
            content = book.read(name)
            if name in changes and b't="shared"' in content:
                content = etree.tostring(unshared(etree.fromstring(content)))
            copy.writestr(name, changes[name](content) if name in changes else content)
        for name, content in (added or {}).items():
            copy.writestr(name, content)
    return out


def _cell(data: etree._Element, address: str) -> etree._Element:
    row_number = int(_ADDRESS.fullmatch(address)[2])
    row = next((row for row in data if int(row.get("r")) == row_number), None)
    if row is None:
        row = etree.Element(MAIN + "row", r=str(row_number))
        later = [other for other in data if int(other.get("r")) > row_number]
        (later[0].addprevious if later else data.append)(row)
    for cell in row:
        if cell.get("r") == address:
            return cell
    cell = etree.Element(MAIN + "c", r=address)
    later = [other for other in row if _order(other.get("r")) > _order(address)]
    (later[0].addprevious if later else row.append)(cell)
    return cell


def _order(address: str) -> tuple[int, str]:
    letters = _ADDRESS.fullmatch(address)[1]
    return len(letters), letters


def to_formula(formula: str) -> Edit:
    """Another formula, without "="; the stored value stays."""

    def edit(cell: etree._Element) -> None:
        old = cell.find(FORMULA)
        if old is None:
            if cell.get("t") in ("s", "inlineStr"):
                to_value("")(cell)
            old = etree.Element(FORMULA)
            cell.insert(0, old)
        old.text = formula

    return edit


def of_formula(change: Callable[[str], str]) -> Edit:
    """The formula changed; asserts that it was."""

    def edit(cell: etree._Element) -> None:
        old = cell.find(FORMULA)
        text = change(old.text)
        assert text != old.text, f"{old.text} stayed as it was"
        old.text = text

    return edit


def without_formula(cell: etree._Element) -> None:
    """The stored value alone, as if it were typed."""
    cell.remove(cell.find(FORMULA))


def to_value(value: float | str) -> Edit:
    """A constant."""

    def edit(cell: etree._Element) -> None:
        for child in list(cell):
            cell.remove(child)
        if isinstance(value, str):
            cell.set("t", "inlineStr")
            text = etree.SubElement(etree.SubElement(cell, MAIN + "is"), MAIN + "t")
            text.text = value
            text.set(SPACE, "preserve")
        else:
            cell.attrib.pop("t", None)
            etree.SubElement(cell, VALUE).text = repr(value)

    return edit


def to_stored(value: float | str) -> Edit:
    """Another stored value beside the same formula."""

    def edit(cell: etree._Element) -> None:
        stored = cell.find(VALUE)
        if stored is None:
            stored = etree.SubElement(cell, VALUE)
        if isinstance(value, str):
            cell.set("t", "str")
        else:
            cell.attrib.pop("t", None)
        stored.text = str(value)

    return edit


def emptied(cell: etree._Element) -> None:
    for child in list(cell):
        cell.remove(child)
    cell.attrib.pop("t", None)
