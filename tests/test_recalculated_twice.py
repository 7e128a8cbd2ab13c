"""Two hard recalculations in LibreOffice change no value: once, 3,117 cells of the mineral car came out as Err:522.

No circle was there: side_by_side.py says which columns LibreOffice takes for one, and good_spreadsheets.py keeps every
workbook from having them.

The packaged mineral car here; all stages of the demo under tests/long/.
"""

from collections.abc import Iterator
from pathlib import Path

from engines import Values, compare, needs_libreoffice, recalculate_hard_twice, stored_values
from plain_writing import write_workbook

from estimator.appraise import appraise
from estimator.intake.labor_tables import packaged_tables
from estimator.intake.load_job import load_job
from estimator.pricing.first_entries import first_entries
from estimator.workbook.compose import compose

FILES = Path(__file__).resolve().parents[1] / "estimator" / "demo" / "files"


def errors(values: Values) -> Iterator[tuple[str, str]]:
    return (cell for cell, value in values.items() if isinstance(value, str) and value.startswith(("#", "Err:")))


def survived(paths: list[Path], out: Path) -> None:
    for path, values in zip(paths, recalculate_hard_twice(paths, out), strict=True):
        stored = stored_values(path)
        assert len(stored) > 1000 and stored.keys() == values.keys()
        assert list(errors(values)) == list(errors(stored)), "but words typed in may look like one"
        # LibreOffice makes U+0001 of a tab within several lines.
        assert [cell for cell in compare(stored, values) if "\t" not in str(cell.stored)] == []


@needs_libreoffice
def test_the_mineral_car_survives_two_hard_recalculations(tmp_path: Path) -> None:
    record = load_job(FILES / "job_mineral.toml", packaged_tables())
    path = tmp_path / "mineral.xlsx"
    write_workbook(compose(appraise(record, first_entries(record))), path)
    survived([path], tmp_path)
