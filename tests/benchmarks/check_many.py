"""Reading workbooks back, four ways, over the same files: what the whole check costs beside loading alone.

    python tests/benchmarks/check_many.py [WORKBOOKS]      60 if left out; asserts statuses and counts, prints ratios

`check`: ours, everything read, worked out and compared. `openpyxl twice`: formulas, then values, as a script of one's
own would load them. `pandas`: read_excel of every tab. `calamine`: values alone. Each way runs in a process of its own,
which imports and warms up before it is timed; three rounds, ways in turn, processor time, the median of the rounds.
Then `check` over 10, 100 and 1,000 files in one process: time a workbook, and the most memory.
"""

import json
import statistics
import subprocess
import sys
import warnings
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

TESTS = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(TESTS), str(TESTS.parent)]
ROUNDS = 3


def make(folder: Path, count: int) -> list[Path]:
    """Workbooks that differ: both demo cars, every temper of filling in but junk."""
    from boxes_by_key import appraise_boxes
    from strategies import demo_record, entries_of

    from estimator.workbook.compose import compose
    from estimator.workbook.write import workbook_bytes

    tempers = ("blank", "good", "good twice", "bad", "near")
    made = []
    for number in range(count):
        record = demo_record(("job.toml", "job_mineral.toml")[number % 2])
        entries = entries_of(record, tempers[number % len(tempers)], Random(number))
        made.append(folder / f"{number:04d}.xlsx")
        made[-1].write_bytes(workbook_bytes(compose(appraise_boxes(record, entries))))
    return made


def by_check(path: Path) -> int:
    from estimator.readback.report import report

    found = report(path)
    assert found.state in ("sound", "unsound") and found.exit_status in (0, 1), (path, found.state)
    assert not [item for item in found.findings if item.rule in ("formula-changed", "value-stale", "text-changed")]
    return found.compared


def by_openpyxl(path: Path) -> int:
    import openpyxl

    count = 0
    for values in (False, True):
        book = openpyxl.load_workbook(path, data_only=values)
        count += sum(cell.value is not None for sheet in book for row in sheet.iter_rows() for cell in row)
    return count


def by_pandas(path: Path) -> int:
    import pandas

    return sum(int(tab.notna().sum().sum()) for tab in pandas.read_excel(path, sheet_name=None, header=None).values())


def by_calamine(path: Path) -> int:
    import python_calamine

    book = python_calamine.CalamineWorkbook.from_path(str(path))
    rows = (row for name in book.sheet_names for row in book.get_sheet_by_name(name).to_python())
    return sum(value != "" for row in rows for value in row)


WAYS = {"check": by_check, "openpyxl twice": by_openpyxl, "pandas": by_pandas, "calamine": by_calamine}


def timed(way: str, paths: list[Path]) -> dict[str, float]:
    """In this process: seconds of processor time a workbook, cells in all, the most memory in MB."""
    import resource
    import time

    warnings.simplefilter("ignore")
    WAYS[way](paths[0])
    started = time.process_time()
    cells = sum(map(WAYS[way], paths))
    seconds = (time.process_time() - started) / len(paths)
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return {"seconds": seconds, "cells": cells, "memory": memory}


def apart(way: str, paths: list[Path]) -> dict[str, float]:
    """The same in a process of its own."""
    words = [sys.executable, __file__, "--way", way]
    done = subprocess.run(words, input="\n".join(map(str, paths)), capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


def main(count: int) -> None:
    with TemporaryDirectory() as name:
        paths = make(Path(name), count)
        rounds = [{way: apart(way, paths) for way in WAYS} for _ in range(ROUNDS)]
        ours = statistics.median(found["check"]["seconds"] for found in rounds)
        for way in WAYS:
            seconds = [found[way]["seconds"] for found in rounds]
            cells = {found[way]["cells"] for found in rounds}
            assert len(cells) == 1 and cells.pop() > 20_000 * count
            middle = statistics.median(seconds)
            print(
                f"{way:15} {middle:6.3f} s a workbook ({min(seconds):.3f} to {max(seconds):.3f}), {middle / ours:.2f} × check"
            )
        for many in (10, 100, 1000):
            found = apart("check", (paths * (many // count + 1))[:many])
            print(f"check of {many:4}: {found['seconds']:.3f} s a workbook, {found['memory']:.0f} MB")


if __name__ == "__main__":
    if sys.argv[1:2] == ["--way"]:
        print(json.dumps(timed(sys.argv[2], [Path(line) for line in sys.stdin.read().split("\n")])))
    else:
        main(int(sys.argv[1]) if sys.argv[1:] else 60)
