"""Two spreadsheet engines as a second opinion on the values that a workbook stores beside its formulas.

Each engine gets a poisoned copy: every stored value false, and a canary formula on each sheet. Values that come back
are handed on only when every canary was worked out and no poison is left. Pictures of the tabs come from here too.
"""

import math
import os
import posixpath
import re
import shutil
import subprocess
import zipfile
from collections.abc import Callable, Sequence
from numbers import Number
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import NamedTuple

import ironcalc
import pytest
from lxml import etree

Value = float | str | bool | None
Cell = tuple[str, str]
Values = dict[Cell, Value]

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
RELATION_ID = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
ROW, CELL, FORMULA, VALUE = MAIN + "row", MAIN + "c", MAIN + "f", MAIN + "v"

POISON_NUMBER, POISON_TEXT = 987654321.125, "poison"
CANARY_FORMULA, CANARY_ANSWER = "6*7", 42.0
CANARY_COLUMN = "XFD"  # the last one: no range of a real sheet reaches it

# Functions seen to give the same in both engines; tests/test_engines.py has a case for each. With care:
#   TEXT       of a rounded number only: ironcalc writes the half of 2.5 as 2
#   SUMPRODUCT of comparisons, not of ISNUMBER over a range (ironcalc: 0); COUNT does that
#   MMULT      never inside a function of one number, such as SIGN: of a file ironcalc then takes its first cell alone
#   SUMIF      of a range of criteria inside SUMPRODUCT: yes
#   COUNTIFS   and its kin: no range of criteria (ironcalc: 0), no "<>word" (ironcalc leaves blank cells out)
#   NORMSDIST  ironcalc is off by up to 6e-11
#   none       that yields TRUE or FALSE into a cell with a number format: LibreOffice saves 1 or 0
# Left out because they differ: MOD of fractions, names newer than 2007 (IFNA, MAXIFS, XOR, DAYS), accents in < and >,
# which error it is (LN(0), SQRT(-1), LARGE past the end), 0^0.
# fmt: off
ALLOWED_FUNCTIONS = frozenset((
    "ABS", "AND", "AVERAGE", "CEILING", "CHAR",
    "CHOOSE", "COUNT", "COUNTA", "COUNTBLANK", "COUNTIF", "COUNTIFS", "DATE", "DAY",
    "EXACT", "EXP", "FIND", "FIXED", "FLOOR", "HYPERLINK", "IF", "IFERROR", "INDEX", "INT", "ISBLANK", "ISERROR", "ISNUMBER",
    "ISTEXT", "LARGE",
    "LEFT", "LEN", "LN", "LOG10", "LOWER", "MATCH", "MAX", "MEDIAN", "MID", "MIN", "MMULT", "MONTH", "NORMSDIST", "NOT", "OR", "PI",
    "POWER", "RANK", "RIGHT", "ROUND", "ROUNDDOWN", "ROUNDUP", "ROWS", "SIGN", "SMALL", "SQRT", "SUBSTITUTE", "SUM", "SUMIF",
    "SUMIFS", "SUMPRODUCT", "SUMSQ", "TAN", "TEXT", "TRIM", "TRUNC", "UPPER", "VLOOKUP", "YEAR",
))
# fmt: on

needs_gnumeric = pytest.mark.skipif(shutil.which("ssconvert") is None, reason="Gnumeric (ssconvert) is not installed")
WHY_SKIPPED = "LibreOffice (soffice) is not installed; .ci/run installs it"
needs_libreoffice = pytest.mark.skipif(shutil.which("soffice") is None, reason=WHY_SKIPPED)
RECALCULATE_ALWAYS, RECALCULATE_NEVER = 0, 1


class NotRecalculated(AssertionError):
    """An engine handed back what it was given."""


class Poisoned(NamedTuple):
    """The formula cells with the values that they stored, and the canaries."""

    stored: Values
    canaries: list[Cell]


class Difference(NamedTuple):
    sheet: str
    cell: str
    stored: object
    recalculated: object


def _sheet_parts(book: zipfile.ZipFile) -> dict[str, str]:
    """Part name of each sheet -> its name, in the order of the tabs."""
    relations = etree.fromstring(book.read("xl/_rels/workbook.xml.rels"))
    targets = {r.get("Id"): posixpath.normpath(posixpath.join("/xl", r.get("Target"))).lstrip("/") for r in relations}
    sheets = etree.fromstring(book.read("xl/workbook.xml")).iter(MAIN + "sheet")
    return {targets[s.get(RELATION_ID)]: s.get("name") for s in sheets}


def _value_of(cell: etree._Element, shared: Sequence[str] = ()) -> Value:
    kind, value = cell.get("t", "n"), cell.find(VALUE)
    if value is None:
        return None
    text = value.text or ""
    if kind in ("str", "e") or not text:  # XlsxWriter stores an empty text as an empty number
        # ECMA-376 part 1, 22.9.2.19: a character of a text may be escaped.
        return re.sub(r"_x([0-9A-Fa-f]{4})_", lambda match: chr(int(match[1], 16)), text) if kind == "str" else text
    if kind == "b":
        return text == "1"
    if kind == "s":  # as Gnumeric stores what a formula yields
        return shared[int(text)]
    if kind == "n":
        return float(text)
    raise ValueError(f"{cell.get('r')}: a formula cell of the type {kind!r}")


def stored_values(path: Path) -> Values:
    """The stored value of each formula cell; None where a cell stores none."""
    values: Values = {}
    with zipfile.ZipFile(path) as book:
        shared = _shared_texts(book)
        for part, sheet in _sheet_parts(book).items():
            for formula in etree.fromstring(book.read(part)).iter(FORMULA):
                cell = formula.getparent()
                values[sheet, cell.get("r")] = _value_of(cell, shared)
    return values


def _shared_texts(book: zipfile.ZipFile) -> list[str]:
    if "xl/sharedStrings.xml" not in book.namelist():
        return []
    items = etree.fromstring(book.read("xl/sharedStrings.xml")).iter(MAIN + "si")
    return ["".join(text.text or "" for text in item.iter(MAIN + "t")) for item in items]


def _poison_cell(cell: etree._Element) -> None:
    number = cell.get("t", "n") == "n"
    cell.set("t", "n" if number else "str")
    for old in cell.findall(VALUE):
        cell.remove(old)
    etree.SubElement(cell, VALUE).text = str(POISON_NUMBER) if number else POISON_TEXT


def _poison_sheet(xml: bytes) -> tuple[bytes, dict[str, Value], str]:
    root = etree.fromstring(xml)
    stored: dict[str, Value] = {}
    for cell in [formula.getparent() for formula in root.iter(FORMULA)]:
        stored[cell.get("r")] = _value_of(cell)
        _poison_cell(cell)
    data = root.find(MAIN + "sheetData")
    number = max((int(row.get("r")) for row in data.iter(ROW)), default=0) + 1
    canary = etree.SubElement(etree.SubElement(data, ROW, r=str(number)), CELL, r=f"{CANARY_COLUMN}{number}")
    etree.SubElement(canary, FORMULA).text = CANARY_FORMULA
    etree.SubElement(canary, VALUE).text = str(POISON_NUMBER)
    return etree.tostring(root, xml_declaration=True, encoding="UTF-8"), stored, canary.get("r")


def poison(path: Path, out: Path) -> Poisoned:
    """Write a copy whose formula cells all store a false value, with a canary formula on each sheet."""
    stored: Values = {}
    canaries: list[Cell] = []
    with zipfile.ZipFile(path) as book, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as copy:
        sheets = _sheet_parts(book)
        for part in book.namelist():
            content = book.read(part)
            if part in sheets:
                content, cells, canary = _poison_sheet(content)
                stored |= {(sheets[part], cell): value for cell, value in cells.items()}
                canaries.append((sheets[part], canary))
            copy.writestr(part, content)
    return Poisoned(stored, canaries)


def proved(values: Values, poisoned: Poisoned, engine: str) -> Values:
    """The values of the workbook's own formula cells, once it is sure that the engine worked them out."""
    for canary in poisoned.canaries:
        if values.get(canary) != CANARY_ANSWER:
            raise NotRecalculated(f"{engine}: canary {canary} gave {values.get(canary)!r}, not {CANARY_ANSWER}")
    left = [cell for cell in poisoned.stored if values.get(cell) in (POISON_NUMBER, POISON_TEXT)]
    if left:
        raise NotRecalculated(f"{engine}: {len(left)} formula cells kept their false value, the first are {left[:5]}")
    return {cell: values.get(cell) for cell in poisoned.stored}


def recalculate_with_ironcalc(path: Path) -> Values:
    """Every formula cell as ironcalc works it out."""
    return Ironcalc(path).values()


class Ironcalc:
    """A workbook open in ironcalc: what its formula cells stored, what they are worked out to be, cells to type in."""

    def __init__(self, path: Path) -> None:
        with TemporaryDirectory() as directory:
            copy = Path(directory) / "copy.xlsx"
            self._poisoned = poison(path, copy)
            self._model = ironcalc.load_from_xlsx(str(copy), "en", "UTC", "en")
        sheets = self._model.get_worksheets_properties()
        self._index = {sheet["name"]: number for number, sheet in enumerate(sheets)}

    @property
    def stored(self) -> Values:
        return self._poisoned.stored

    def type(self, cell: Cell, value: float | str | None) -> None:
        """Type a number or a text, never a formula; None empties the cell."""
        place = self._place(cell)
        if value is None:
            self._model.clear_cell_contents(*place)
        elif isinstance(value, str):
            self._model.update_cell_with_text(*place, value)
        else:
            self._model.update_cell_with_number(*place, float(value))

    def values(self) -> Values:
        self._model.evaluate()
        cells = [*self._poisoned.stored, *self._poisoned.canaries]
        return proved(
            {cell: self._model.get_cell_value(*self._place(cell)) for cell in cells}, self._poisoned, "ironcalc"
        )

    def _place(self, cell: Cell) -> tuple[int, int, int]:
        sheet, address = cell
        letters = address.rstrip("0123456789")
        return self._index[sheet], int(address[len(letters) :]), ironcalc.column_number_from_name(letters)


PROFILE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode" oor:op="fuse">
<value>{recalculation}</value></prop></item>
<item oor:path="/org.openoffice.Setup/L10N"><prop oor:name="ooSetupSystemLocale" oor:op="fuse">
<value>en-US</value></prop></item>
</oor:items>
"""


def _run(*command: str, seconds: float = 120) -> str:
    done = subprocess.run(command, capture_output=True, text=True, timeout=seconds)
    assert done.returncode == 0, f"{command[0]} failed: {done.stderr or done.stdout}"
    return done.stdout


def _soffice(paths: list[Path], out: Path, to: str, recalculation: int = RECALCULATE_ALWAYS) -> list[Path]:
    """Convert all files in one run, in its own profile, so that runs side by side don't meet."""
    if shutil.which("soffice") is None:
        pytest.skip(WHY_SKIPPED)
    with TemporaryDirectory() as directory:
        profile = Path(directory, "user")
        profile.mkdir()
        profile.joinpath("registrymodifications.xcu").write_text(PROFILE.format(recalculation=recalculation))
        options = [f"-env:UserInstallation={Path(directory).as_uri()}", "--headless", "--norestore"]
        arguments = ["--convert-to", to, "--outdir", str(out), *(str(path) for path in paths)]
        said = _run("soffice", *options, *arguments, seconds=120 + 30 * len(paths))
    made = [out / f"{path.stem}.{to.partition(':')[0]}" for path in paths]
    missing = [path.name for path in made if not path.exists()]
    assert not missing, f"soffice made no {missing}; it said: {said}"
    return made


def recalculate_with_libreoffice(paths: list[Path], recalculation: int = RECALCULATE_ALWAYS) -> list[Values]:
    """Every formula cell of each workbook as LibreOffice works it out; one run for all of them."""
    with TemporaryDirectory() as directory:
        saved = Path(directory, "saved")
        saved.mkdir()
        copies = [Path(directory, f"{number}.xlsx") for number in range(len(paths))]
        poisoned = [poison(path, copy) for path, copy in zip(paths, copies, strict=True)]
        made = _soffice(copies, saved, "xlsx:Calc MS Excel 2007 XML", recalculation)
        return [proved(stored_values(path), p, "LibreOffice") for path, p in zip(made, poisoned, strict=True)]


def recalculate_with_gnumeric(path: Path) -> Values:
    """Every formula cell as Gnumeric works it out."""
    with TemporaryDirectory() as directory:
        copy, saved = Path(directory, "copy.xlsx"), Path(directory, "saved.xlsx")
        poisoned = poison(path, copy)
        _run("ssconvert", "--recalc", str(copy), str(saved))
        return proved(stored_values(saved), poisoned, "Gnumeric")


RECALCULATE_HARD = """<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE script:module PUBLIC "-//OpenOffice.org//DTD OfficeDocument 1.0//EN" "module.dtd">
<script:module xmlns:script="http://openoffice.org/2000/script" script:name="Module1" script:language="StarBasic">
Sub Twice()
  On Error Goto Ended
  Dim hidden(0) As New com.sun.star.beans.PropertyValue
  hidden(0).Name = "Hidden" : hidden(0).Value = True
  Dim how(0) As New com.sun.star.beans.PropertyValue
  how(0).Name = "FilterName" : how(0).Value = "Calc MS Excel 2007 XML"
  document = StarDesktop.loadComponentFromURL(Environ("RECALCULATED"), "_blank", 0, hidden())
  document.calculateAll()
  document.calculateAll()
  document.storeToURL(Environ("SAVED"), how())
  document.close(True)
Ended:
  StarDesktop.terminate()
End Sub
</script:module>
"""


def recalculate_hard_twice(paths: list[Path], out: Path) -> list[Values]:
    """Every formula cell of each workbook after two hard recalculations (Ctrl+Shift+F9 twice) in LibreOffice.

    By a macro in a profile of its own, which a first start has to make: it would put an empty module over ours.
    """
    if shutil.which("soffice") is None:
        pytest.skip(WHY_SKIPPED)
    found = []
    with TemporaryDirectory() as directory:
        profile = Path(directory, "user")
        profile.mkdir()
        profile.joinpath("registrymodifications.xcu").write_text(PROFILE.format(recalculation=RECALCULATE_NEVER))
        command = ["soffice", f"-env:UserInstallation={Path(directory).as_uri()}", "--headless", "--norestore"]
        _run(*command, "--terminate_after_init")
        profile.joinpath("basic", "Standard", "Module1.xba").write_text(RECALCULATE_HARD)
        for path in paths:
            saved = out / f"twice-{path.name}"
            given = {**os.environ, "RECALCULATED": path.resolve().as_uri(), "SAVED": saved.resolve().as_uri()}
            call = [*command, "macro:///Standard.Module1.Twice()"]
            subprocess.run(call, env=given, capture_output=True, timeout=300, check=True)
            assert saved.exists(), f"the macro made no {saved}"
            found.append(stored_values(saved))
    return found


def _same(stored: object, recalculated: object, absolute: float) -> bool:
    numbers = [isinstance(value, Number) and not isinstance(value, bool) for value in (stored, recalculated)]
    if all(numbers):
        return math.isclose(stored, recalculated, rel_tol=1e-9, abs_tol=absolute)
    return type(stored) is type(recalculated) and stored == recalculated and stored is not None


def compare(
    stored: Values, recalculated: Values, tolerance: float | Callable[[Cell], float] = 1e-9
) -> list[Difference]:
    """Cells that differ: numbers by more than 1e-9 of their size and the tolerance, words and truth values at all.

    The tolerance is absolute, for numbers near zero; a function gives one for each cell. A cell that only one side has,
    and one that stores no value, differ.
    """
    absolute = tolerance if callable(tolerance) else lambda cell: tolerance
    cells = [*stored, *(cell for cell in recalculated if cell not in stored)]
    pairs = [(cell, stored.get(cell), recalculated.get(cell)) for cell in cells]
    return [Difference(*cell, old, new) for cell, old, new in pairs if not _same(old, new, absolute(cell))]


def render_pdf(path: Path, directory: Path, page_a_sheet: bool = False) -> Path:
    """The workbook as it prints, or with each sheet on one page of its own size."""
    whole = ':calc_pdf_Export:{"SinglePageSheets":{"type":"boolean","value":"true"}}' if page_a_sheet else ""
    return _soffice([path], directory, "pdf" + whole)[0]


def pages_as_png(pdf: Path, directory: Path, dpi: int = 80, last: int = 9999) -> list[Path]:
    for old in directory.glob(f"{pdf.stem}-*.png"):
        old.unlink()
    _run("pdftoppm", "-png", "-r", str(dpi), "-l", str(last), str(pdf), str(directory / pdf.stem))
    return sorted(directory.glob(f"{pdf.stem}-*.png"))


def pdf_text(pdf: Path) -> str:
    return _run("pdftotext", "-layout", str(pdf), "-")
