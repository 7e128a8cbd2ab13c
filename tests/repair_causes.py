"""What makes a spreadsheet program offer to repair a file, beyond what the schemas say: read from the file's markup.

Limits are those of ECMA-376 part 1 (18.3.1.4 c, 18.3.1.73 row, 18.3.1.55 mergeCell, 18.8.45 xf) and of part 2 (content
types, relationships), and the specifications and limits that spreadsheet programs publish: 32,767 characters in a cell,
8,192 in a formula.
"""

from __future__ import annotations

import posixpath
import re
import zipfile
from collections.abc import Iterator
from itertools import combinations, pairwise
from pathlib import Path

from lxml import etree
from written_file import FORMULA, MAIN, VALUE, _text, sheet_parts

from estimator.workbook.placed_cells import column_letter

MOST_TEXT, MOST_FORMULA = 32_767, 8_192
_TYPES = "{http://schemas.openxmlformats.org/package/2006/content-types}"
_CORNER = re.compile(r"\$?([A-Z]{1,3})\$?([0-9]+)")


def causes(path: Path) -> list[str]:
    """Every cause found, each with its part."""
    with zipfile.ZipFile(path) as book:
        if found := list(_parts(book)):
            return found  # the sheets can't be looked up
        found = list(_names(book))
        styles = len(etree.fromstring(book.read("xl/styles.xml")).find(MAIN + "cellXfs"))
        texts = [_text(item) for item in etree.fromstring(book.read("xl/sharedStrings.xml"))]
        found += [f"text {n}: {len(text)} characters" for n, text in enumerate(texts) if len(text) > MOST_TEXT]
        for name, part in sheet_parts(book).items():
            root = etree.fromstring(book.read(part))
            found += [f"{name}: {line}" for line in (*_rows(root, styles, len(texts)), *_ranges(root))]
    return found


def _parts(book: zipfile.ZipFile) -> Iterator[str]:
    """Each part stands once and has a content type; what relationships name inside the package is there."""
    names = book.namelist()
    yield from (f"{name} stands twice" for name in set(names) if names.count(name) > 1)
    types = etree.fromstring(book.read("[Content_Types].xml"))
    by_ending = {item.get("Extension").lower() for item in types.iter(_TYPES + "Default")}
    by_name = {item.get("PartName") for item in types.iter(_TYPES + "Override")}
    for name in names:
        if f"/{name}" not in by_name and name.rpartition(".")[2].lower() not in by_ending:
            yield f"{name} has no content type"
    yield from (f"{name} has a content type and isn't there" for name in by_name if name.lstrip("/") not in names)
    for name in names:
        if name.endswith(".rels"):
            folder = posixpath.dirname(posixpath.dirname(name))
            for item in etree.fromstring(book.read(name)):
                target = posixpath.normpath(posixpath.join("/", folder, item.get("Target"))).lstrip("/")
                if item.get("TargetMode") != "External" and target not in names:
                    yield f"{name} names {target}, which isn't there"


def _names(book: zipfile.ZipFile) -> Iterator[str]:
    """Defined names lead to sheets that are there, and each stands once for its sheet."""
    root = etree.fromstring(book.read("xl/workbook.xml"))
    sheets = [item.get("name") for item in root.iter(MAIN + "sheet")]
    seen = set()
    for item in root.iter(MAIN + "definedName"):
        own = (item.get("name").casefold(), item.get("localSheetId"))
        if own in seen:
            yield f"the name {own} stands twice"
        seen.add(own)
        for quoted, plain in re.findall(r"(?:'((?:[^']|'')+)'|([A-Za-z0-9_.]+))!", item.text or ""):
            if (quoted.replace("''", "'") or plain) not in sheets:
                yield f"the name {own} leads to {quoted or plain}"


def _rows(root: etree._Element, styles: int, texts: int) -> Iterator[str]:
    """Rows and cells stand in order and once; styles and texts that they name are there; nothing is too long."""
    rows = root.find(MAIN + "sheetData")
    for one, other in pairwise(int(row.get("r")) for row in rows):
        if one >= other:
            yield f"row {other} after row {one}"
    for row in rows:
        places = [_place(cell.get("r")) for cell in row]
        yield from (f"{a} before {b} in row {row.get('r')}" for a, b in pairwise(places) if a[1] >= b[1])
        yield from (f"{place} in row {row.get('r')}" for place in places if place[0] != int(row.get("r")))
        for cell in row:
            if int(cell.get("s", "0")) >= styles:
                yield f"{cell.get('r')}: style {cell.get('s')} of {styles}"
            value = cell.findtext(VALUE) or ""
            if cell.get("t") == "s" and int(value) >= texts:
                yield f"{cell.get('r')}: text {value} of {texts}"
            if len(cell.findtext(FORMULA) or "") > MOST_FORMULA or len(value) > MOST_TEXT:
                yield f"{cell.get('r')}: too long"


def _ranges(root: etree._Element) -> Iterator[str]:
    """Merged ranges don't overlap, no cell is validated twice, breaks stand in order."""
    merged = [item.get("ref") for item in root.iter(MAIN + "mergeCell")]
    yield from (f"{a} and {b} are merged over each other" for a, b in combinations(merged, 2) if _meet(a, b))
    validated = [place for item in root.iter(MAIN + "dataValidation") for place in item.get("sqref").split()]
    yield from (f"{place} is validated twice" for place in set(validated) if validated.count(place) > 1)
    for breaks in root.iter(MAIN + "rowBreaks"):
        numbers = [int(item.get("id")) for item in breaks]
        if numbers != sorted(set(numbers)):
            yield f"page breaks {numbers}"


def _place(address: str) -> tuple[int, int]:
    letters, row = _CORNER.fullmatch(address).groups()
    return int(row), next(n for n in range(1, 16_385) if column_letter(n) == letters)


def _meet(one: str, other: str) -> bool:
    (top, left), (bottom, right) = (_place(corner) for corner in one.split(":"))
    (above, west), (below, east) = (_place(corner) for corner in other.split(":"))
    return top <= below and above <= bottom and left <= east and west <= right
