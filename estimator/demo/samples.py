"""What the demo produces, kept in `output_samples/`: compared with what it produces now, and accepted.

    python -m estimator.demo.samples             compare; exit status 1 where something differs
    python -m estimator.demo.samples --accept    take what the demo produces now

Workbooks are compared by meaning: every cell by its key, numbers to 1e-9 of their size, since libraries of another
version may pack a file in another way. CSV and JSON are compared byte by byte.
"""

from __future__ import annotations

import json
import math
import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import estimator
from estimator.demo.scenario import run_demo
from estimator.readback.cells import ReadCell, SheetCells, WorkbookCells, read_workbook
from estimator.readback.embedded_record import carried
from estimator.readback.locate import cell_name
from estimator.workbook.layout import Layout
from estimator.workbook.manifest import Manifest, drafted_book

SAMPLES = Path(estimator.__file__).parents[1] / "output_samples"
WORKBOOKS = ("LY-311-A-r1.xlsx", "LY-311-A-r1-before.xlsx", "LY-311-A-r1-road.xlsx")
TEXTS = ("books/journal-000001.csv", "books/summary-000001.csv", "books/datapackage-000001.json")
ACCEPT = "python -m estimator.demo.samples --accept"
TOLERANCE = 1e-9
_SHOWN = 5
_LONGEST = 100


def differences(kept: Path, made: Path) -> list[str]:
    """How the files of two folders differ, a line each: the first five cells of a workbook, the first line of a text."""
    found: list[str] = []
    for name in (*WORKBOOKS, *TEXTS):
        if not (kept / name).is_file():
            found.append(f"{name}: it isn't in {kept}")
        elif (kept / name).read_bytes() == (made / name).read_bytes():
            continue
        elif name in WORKBOOKS:
            found += workbook_differences(kept / name, made / name)
        else:
            found.append(f"{name}: {_first_line(kept / name, made / name)}")
    return found


def workbook_differences(kept: Path, made: Path) -> list[str]:
    """The first cells, by key, in which two workbooks differ in meaning, and how many more there are."""
    try:
        different = list(_different(read_workbook(kept), read_workbook(made)))
    except ValueError as fault:
        different = [f"can't be compared: {fault}"]
    lines = [f"{kept.name}: {line}" for line in different[:_SHOWN]]
    more = len(different) - len(lines)
    return [*lines, f"{kept.name}: and {more} more"] if more else lines


def _different(old: WorkbookCells, new: WorkbookCells) -> Iterator[str]:
    if list(old.sheets) != list(new.sheets):
        yield f"tabs {', '.join(old.sheets)} → {', '.join(new.sheets)}"
    before, after = _keyed(old), _keyed(new)
    for key in dict.fromkeys((*before, *after)):
        was, now = before.get(key), after.get(key)
        if not same(was, now):
            yield f"{key}: {_shown(was)} → {_shown(now)}"
    if old.defined_names != new.defined_names:
        yield "defined names"


def _keyed(workbook: WorkbookCells) -> dict[str, Any]:
    """Everything that a workbook says, by key; by place what has none. The packed rows of Record are unpacked."""
    found, _ = carried(workbook)
    if found is None:
        raise ValueError(f"{workbook.path} doesn't carry its record")
    layout = Layout(drafted_book(found.manifest, found.record.job.document, found.record.job.revision))
    keys = _keys(layout)
    cells: dict[str, Any] = {}
    for sheet in workbook.sheets.values():
        if sheet.name != "Record":
            cells |= {keys.get((sheet.name, *at), f"{sheet.name}!{cell_name(*at)}"): cell for at, cell in _said(sheet)}
        cells[f"{sheet.name}: state"] = (sheet.state, sheet.protected, *sheet.shapes)
    cells["Record: record"] = json.loads(found.record.model_dump_json())
    return cells | _manifest_parts(found.manifest) | {"Record: program": [found.program, found.packed.schema]}


def _said(sheet: SheetCells) -> Iterator[tuple[tuple[int, int], tuple[ReadCell | None, str]]]:
    for at in sorted(sheet.cells.keys() | sheet.comments.keys()):
        yield at, (sheet.cells.get(at), sheet.comments.get(at, ""))


def _keys(layout: Layout) -> dict[tuple[str, int, int], str]:
    keys = {(tab.name, text.row, text.column): text.key for tab in layout.book.tabs for text in layout.texts(tab)}
    for place in layout.placed.values():
        keys |= {(place.tab.name, row, column): cell.key for row, column, cell, _ in layout.formulas(place)}
    return keys


def _manifest_parts(manifest: Manifest) -> dict[str, Any]:
    parts = {
        f"Record: manifest of {tab['name']}, {part['name']}": part for tab in manifest["tabs"] for part in tab["blocks"]
    }
    return parts | {"Record: manifest of boxes": manifest["boxes"]}


def same(was: Any, now: Any) -> bool:
    """Whether two values mean the same: numbers to 1e-9 of their size, everything else exactly.

    >>> same([1.0, "a"], [1.0 + 1e-12, "a"]), same(1, 1.001), same("1", 1), same(True, 1)
    (True, False, False, False)
    """
    if isinstance(was, bool) or isinstance(now, bool):
        return was is now
    if isinstance(was, int | float) and isinstance(now, int | float):
        return was == now or math.isclose(was, now, rel_tol=TOLERANCE)
    if isinstance(was, list | tuple) and isinstance(now, list | tuple):
        return len(was) == len(now) and all(map(same, was, now))
    if isinstance(was, dict) and isinstance(now, dict):
        return was.keys() == now.keys() and all(same(item, now[key]) for key, item in was.items())
    return type(was) is type(now) and was == now


def _shown(said: Any) -> str:
    if said is None:
        return "nothing"
    if isinstance(said, tuple) and said and isinstance(said[0], ReadCell):
        cell, comment = said
        said = " ".join(str(part) for part in (cell.value, cell.formula, comment) if part not in (None, ""))
    text = str(said)
    return text if len(text) <= _LONGEST else f"{text[:_LONGEST]}…"


def _first_line(kept: Path, made: Path) -> str:
    old, new = (path.read_bytes().split(b"\n") for path in (kept, made))
    number = next(
        (n for n, pair in enumerate(zip(old, new, strict=False)) if pair[0] != pair[1]), min(len(old), len(new))
    )
    was, now = (lines[number].decode() if number < len(lines) else None for lines in (old, new))
    return f"line {number + 1}: {_shown(was)} → {_shown(now)}"


def accept(made: Path, kept: Path = SAMPLES) -> None:
    """Take what the demo produced into the folder of samples."""
    for name in (*WORKBOOKS, *TEXTS):
        (kept / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(made / name, kept / name)


def main(argv: list[str]) -> int:
    """Run the demo in a folder for the moment and compare, or accept. Returns 0, 1 where something differs, 2."""
    if argv not in ([], ["--accept"]):
        print(f"usage: {ACCEPT.replace('--accept', '[--accept]')}", file=sys.stderr)
        return 2
    with tempfile.TemporaryDirectory() as folder:
        for _ in run_demo(Path(folder)):
            pass
        found = differences(SAMPLES, Path(folder))
        for line in found:
            print(line)
        if argv:
            accept(Path(folder))
            print(f"accepted: {SAMPLES}", file=sys.stderr)
            return 0
    print(f"if this is as it should be: {ACCEPT}" if found else "as kept", file=sys.stderr)
    return int(bool(found))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
