"""Make the workbooks of this folder again: drafted by the program, typed into and saved by other programs.

    python tests/foreign_workbooks/make.py [NAME...]

Needs LibreOffice (soffice), Gnumeric (ssconvert) and Node.js with the package exceljs (npm install exceljs in the
folder that NODE_PATH names); what is missing is left out and said.
"""

import os
import shutil
import subprocess
import sys
import warnings
from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

FOLDER = Path(__file__).resolve().parent
sys.path[:0] = [str(FOLDER.parent), str(FOLDER.parents[1])]

import engines  # noqa: E402
from boxes_by_key import first_boxes  # noqa: E402
from returned_workbooks import (  # noqa: E402
    Engine,
    address_of,
    book_of,
    random_entries,
    small_record,
    with_cells,
    write,
)
from written_file import to_value  # noqa: E402

from estimator.limits.sheet_arithmetic import serial  # noqa: E402
from estimator.records import EntryValue  # noqa: E402

XLSX = "xlsx:Calc MS Excel 2007 XML"
EXCELJS = """
const [, , from, to, typed] = process.argv
const { Workbook } = require('exceljs')
;(async () => {
  const book = new Workbook()
  await book.xlsx.readFile(from)
  for (const [tab, address, value, isDate] of JSON.parse(typed)) {
    book.getWorksheet(tab).getCell(address).value = isDate ? new Date(value) : value
  }
  await book.xlsx.writeFile(to)
})()
"""


def typed() -> dict[str, EntryValue]:
    """What is typed into the boxes: readings, decisions, days and words."""
    import random

    return random_entries(book_of(), first_boxes(small_record()), random.Random(11), share=0.2)


def changes() -> dict[tuple[str, str], EntryValue]:
    """Tab and address -> what is typed there, for the boxes that a fresh workbook holds otherwise."""
    fresh = first_boxes(small_record())
    return {address_of(key): value for key, value in typed().items() if value not in ("", fresh.get(key))}


def by_libreoffice(sound: Path, out: Path) -> None:
    """Opened, worked out and saved."""
    _converted(_typed_into(sound, out), out, XLSX, engines.RECALCULATE_ALWAYS)


def by_libreoffice_as_ods(sound: Path, out: Path) -> None:
    """Saved as an OpenDocument workbook, opened again, saved as xlsx."""
    with TemporaryDirectory() as folder:
        ods = engines._soffice([_typed_into(sound, out)], Path(folder), "ods", engines.RECALCULATE_ALWAYS)[0]
        _converted(ods, out, XLSX, engines.RECALCULATE_NEVER)


def by_openpyxl(sound: Path, out: Path) -> None:
    """Typed into and saved; no value is stored beside a formula."""
    from openpyxl import load_workbook

    book = load_workbook(sound)
    for (tab, address), value in changes().items():
        book[tab][address].value = value
    book.save(out)


def by_pandas(sound: Path, out: Path) -> None:
    """Every tab read as a table of values and written through XlsxWriter: no formula, no format is left."""
    import pandas

    saved = out.with_suffix(".saved.xlsx")
    by_ironcalc(sound, saved)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        tables = pandas.read_excel(saved, sheet_name=None, header=None, keep_default_na=False, engine="openpyxl")
    options = {"options": {"strings_to_formulas": False, "strings_to_urls": False}}
    with pandas.ExcelWriter(out, engine="xlsxwriter", engine_kwargs=options) as book:
        for name, table in tables.items():
            table.to_excel(book, sheet_name=name, header=False, index=False)
    saved.unlink()


def by_ironcalc(sound: Path, out: Path) -> None:
    """Typed into, worked out and saved."""
    engine = Engine(sound)
    for (tab, address), value in changes().items():
        engine.type(tab, address, value.isoformat() if isinstance(value, date) else f"{value}")
    engine.save(out)


def by_exceljs(sound: Path, out: Path) -> None:
    """Typed into and saved; the values beside the formulas are those that were stored before."""
    import json

    if shutil.which("node") is None:
        raise FileNotFoundError("node")
    given = [
        [tab, address, value.isoformat() if isinstance(value, date) else value, isinstance(value, date)]
        for (tab, address), value in changes().items()
    ]
    with TemporaryDirectory() as folder:
        script = Path(folder, "rewrite.js")
        script.write_text(EXCELJS)
        subprocess.run(["node", script, sound, out, json.dumps(given)], check=True, env=os.environ)


def by_gnumeric(sound: Path, out: Path) -> None:
    """Opened, worked out and saved."""
    subprocess.run(["ssconvert", "--recalc", _typed_into(sound, out), out], check=True, capture_output=True)


def _typed_into(sound: Path, out: Path) -> Path:
    """A copy with the entries in its boxes, for programs that are only driven to open and save."""
    edits = {
        place: to_value(float(serial(value)) if isinstance(value, date) else value)
        for place, value in changes().items()
    }
    return with_cells(sound, out.with_suffix(".typed.xlsx"), edits)


def _converted(path: Path, out: Path, to: str, recalculation: int) -> None:
    with TemporaryDirectory() as folder:
        shutil.move(engines._soffice([path], Path(folder), to, recalculation)[0], out)


MAKERS: Mapping[str, Callable[[Path, Path], None]] = {
    "libreoffice": by_libreoffice,
    "libreoffice-ods": by_libreoffice_as_ods,
    "openpyxl": by_openpyxl,
    "pandas": by_pandas,
    "ironcalc": by_ironcalc,
    "exceljs": by_exceljs,
    "gnumeric": by_gnumeric,
}


def main(names: list[str]) -> None:
    with TemporaryDirectory() as folder:
        sound = write(Path(folder, "sound.xlsx"), small_record)
        for name in names or list(MAKERS):
            made = Path(folder, f"{name}.xlsx")
            try:
                MAKERS[name](sound, made)
            except (OSError, subprocess.CalledProcessError) as fault:
                print(f"{name}: left out ({fault})")
                continue
            shutil.copyfile(made, FOLDER / made.name)
            print(f"{name}: {made.stat().st_size:,} bytes")


if __name__ == "__main__":
    main(sys.argv[1:])
