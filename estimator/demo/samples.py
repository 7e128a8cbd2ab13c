"""Keeps `output_samples/` what the demo produces: compares by meaning, rewrites on `--accept`.

python -m estimator.demo.samples            says what differs, exit status 1 if anything does
python -m estimator.demo.samples --accept   writes what the demo produces now
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path

from estimator.demo.scenario import run_demo
from estimator.files import write_whole
from estimator.readback.carried import carried
from estimator.readback.cells import ReadCell, WorkbookCells, read_workbook
from estimator.readback.locate import cell_name
from estimator.readback.same import same_value
from estimator.workbook.layout import Layout
from estimator.workbook.manifest import drafted_book

ACCEPT = "python -m estimator.demo.samples --accept"
FOLDER = Path(__file__).resolve().parent.parent.parent / "output_samples"
TOUR = "tour.txt"
MOST_SHOWN = 5
# What the demo writes and samples leave out: copies of files that lie elsewhere in the project; the register, whose
# bytes depend on the version of SQLite.
_LEFT_OUT = (".toml", ".sqlite", ".md")
_NOT_OURS = ("README.md", ".png")


def made_by_demo(folder: Path) -> dict[str, Path]:
    """The files of a demo folder that are samples, by their name in `output_samples/`."""
    found = {}
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        copied = name.startswith("labor_tables/") or ("/" not in name and path.suffix == ".csv")
        if path.is_file() and path.suffix not in _LEFT_OUT and not copied:
            found[name] = path
    return found


def committed(folder: Path = FOLDER) -> dict[str, Path]:
    """The samples as they are, by name; pictures and the page about them aside."""
    files = (path for path in sorted(folder.rglob("*")) if path.is_file())
    return {path.relative_to(folder).as_posix(): path for path in files if not path.name.endswith(_NOT_OURS)}


def differences(old: Mapping[str, Path], new: Mapping[str, Path]) -> Iterator[str]:
    """Each difference of meaning in words: the file, the key of the cell or the line, both values."""
    for name in sorted({*old, *new}):
        if name not in new or name not in old:
            yield f"{name}: {'is a sample, and the demo makes none' if name in old else 'is new'}"
        elif name.endswith(".xlsx"):
            yield from (f"{name}: {words}" for words in _cells_that_differ(old[name], new[name]))
        elif old[name].read_bytes() != new[name].read_bytes():
            yield from (f"{name}: {words}" for words in _lines_that_differ(old[name], new[name]))


def _lines_that_differ(old: Path, new: Path) -> Iterator[str]:
    lines = [path.read_text(encoding="utf-8").split("\n") for path in (old, new)]
    for number in range(max(map(len, lines))):
        was, now = (side[number] if number < len(side) else "" for side in lines)
        if was != now:
            yield f'line {number + 1}: was "{was}", is "{now}"'


def _cells_that_differ(old: Path, new: Path) -> Iterator[str]:
    (was, record), (now, present) = _by_key(read_workbook(old)), _by_key(read_workbook(new))
    if record != present:
        yield "the record that it carries differs"
    for key in dict.fromkeys((*now, *was)):
        before, after = was.get(key), now.get(key)
        if not _same(before, after):
            yield f"{key}: was {_shown(before)}, is {_shown(after)}"


def _same(before: ReadCell | None, after: ReadCell | None) -> bool:
    if before is None or after is None:
        return before is after
    return before.formula == after.formula and same_value(before.value, after.value, "")


def _shown(cell: ReadCell | None) -> str:
    if cell is None:
        return "nothing"
    return f"{cell.value!r} by {cell.formula}" if cell.formula else repr(cell.value)


def _by_key(workbook: WorkbookCells) -> tuple[dict[str, ReadCell], object]:
    """All cells but those of the Record tab by their keys (by place where they have none), and the record unpacked."""
    keys: dict[tuple[str, int, int], str] = {}
    found, _ = carried(workbook)
    if found is not None:
        layout = Layout(drafted_book(found.manifest, found.record.job.document, found.record.job.revision))
        for place in layout.placed.values():
            for row, column, cell, _ in layout.formulas(place):
                keys[place.tab.name, row, column] = cell.key
    named = {}
    for sheet in workbook.sheets.values():
        for (row, column), cell in sheet.cells.items():
            if sheet.name != "Record" or found is None:
                named[keys.get((sheet.name, row, column), f"{sheet.name}!{cell_name(row, column)}")] = cell
    return named, None if found is None else (found.record, found.manifest, found.program)


def tour(folder: Path) -> str:
    """Run the demo into a folder. Returns its tour as lines, files named from that folder."""
    lines = []
    for stop in run_demo(folder):
        name = stop.path.relative_to(folder).as_posix()
        lines += [name, f"  {stop.what}", f"  for: {stop.who}", f"  look at: {stop.look}"]
        lines += [f"    {change.difference:+}  {change.title}: {change.why}" for change in stop.changes]
    return "\n".join(lines) + "\n"


def main(words: list[str]) -> int:
    """Compare, or accept. Returns the exit status."""
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary) / "demo"
        text = tour(folder)
        write_whole(folder / TOUR, text.encode("utf-8"))
        new, old = made_by_demo(folder), committed()
        if words == ["--accept"]:
            for name, path in old.items():
                if name not in new:
                    path.unlink()
            for name, path in new.items():
                write_whole(FOLDER / name, path.read_bytes())
            print(f"{len(new)} samples written to {FOLDER}")
            return 0
        found = list(differences(old, new))
    for words_of_one in found[:MOST_SHOWN]:
        print(words_of_one)
    if found:
        print(f"{len(found)} differences; if they are meant: {ACCEPT}")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
