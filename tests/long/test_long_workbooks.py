"""More workbooks printed, converted, and held against more versions of the schemas: a minute.

python -m pytest tests/long/test_long_workbooks.py

The default run prints two other workbooks, and holds one file against the oldest and one against the newest schema.
"""

import sys
from pathlib import Path

import pytest
import xlsxwriter

sys.path[:0] = [str(Path(__file__).resolve().parents[1])]

import test_opens_without_repair as opening  # noqa: E402
import test_workbook_pictures as pictures  # noqa: E402
from agreement import drafted  # noqa: E402
from cli_runs import run  # noqa: E402
from engines import compare, needs_gnumeric, recalculate_with_gnumeric, stored_values  # noqa: E402
from letter_samples import appraisal_at  # noqa: E402
from returned_workbooks import small_record, write  # noqa: E402
from side_by_side import long_way  # noqa: E402
from strategies import generated  # noqa: E402
from test_foreign_workbooks import sound_by_libreoffice  # noqa: E402
from test_recalculated_twice import errors, needs_libreoffice, recalculate_hard_twice, survived  # noqa: E402

from estimator.workbook.compose import compose  # noqa: E402

CHECKS = (
    pictures.test_each_document_has_its_pages_and_the_rest_none,
    pictures.test_what_stands_on_a_page_is_on_paper,
)


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> pictures.Printed:
    return pictures.print_out(compose(appraisal_at("road")), tmp_path_factory.mktemp("printed"), "A4")


@pictures.needs_libreoffice
@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__.removeprefix("test_"))
def test_after_the_road_test(check, printed: pictures.Printed) -> None:
    check(printed)


@pictures.needs_libreoffice
def test_a_workbook_saved_by_libreoffice_by_way_of_its_own_format(tmp_path: Path) -> None:
    sound_by_libreoffice("libreoffice-ods", tmp_path)


@pytest.mark.parametrize("version", [opening.NEWEST, opening.FileFormat.OFFICE_2019], ids=lambda version: version.value)
def test_the_schemas_hold_for_what_was_typed(version, tmp_path: Path) -> None:
    assert opening.faults(write(tmp_path / "typed.xlsx", small_record, 4), version) == []


def test_the_oldest_schema_holds_for_a_sample() -> None:
    assert opening.faults(opening.SAMPLES[0], opening.OLDEST) == []


def test_the_demo_gives_the_same_bytes_twice(tmp_path: Path) -> None:
    for folder in ("one", "two"):
        (tmp_path / folder).mkdir()
        done = run("demo", cwd=tmp_path / folder)
        assert done.returncode == 0, done.stderr
    first, second = (
        {path.relative_to(folder): path.read_bytes() for path in folder.rglob("*") if path.is_file()}
        for folder in (tmp_path / "one", tmp_path / "two")
    )
    assert first.keys() == second.keys() and len(first) > 20
    assert [str(name) for name, content in first.items() if content != second[name]] == []


@pytest.fixture(scope="module")
def stages(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    folder = tmp_path_factory.mktemp("stages")
    assert run("demo", cwd=folder).returncode == 0
    return sorted((folder / "demo").glob("*.xlsx"))


@needs_libreoffice
def test_every_stage_of_the_demo_survives_two_hard_recalculations(stages: list[Path], tmp_path: Path) -> None:
    survived(stages, tmp_path)


@needs_libreoffice
def test_generated_cars_survive_two_hard_recalculations(tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    jobs = [job for job in generated(7, 12) if job.temper != "junk"]  # billions of money differ in the last digits
    drafts = [drafted(job, tmp_path / f"{number}.xlsx") for number, job in enumerate(jobs)]
    survived([draft.path for draft in drafts], tmp_path / "out")


@needs_gnumeric
def test_gnumeric_works_every_stage_of_the_demo_out_as_drafted(stages: list[Path]) -> None:
    for path in stages:
        assert compare(stored_values(path), recalculate_with_gnumeric(path)) == []


@needs_libreoffice
def test_the_fault_of_libreoffice_that_far_neighbors_meet(tmp_path: Path) -> None:
    """Where this fails, LibreOffice works such columns out, and the rule that no workbook has them may go."""
    ways = {"HJLBDG": 100, "HJLBDF": 100, "HJLG": 100, "HJLBD": 100, "GJLBDH": 99}
    paths = []
    for columns, rows in ways.items():
        paths.append(tmp_path / f"{columns}.xlsx")
        with xlsxwriter.Workbook(paths[-1]) as book:
            book.add_worksheet("Ahead").write_formula("A1", f"SUM(Way!$J$11:$J${10 + rows})")
            way = book.add_worksheet("Way")
            for address, formula in long_way(columns, rows):
                way.write_formula(address, formula)
    (tmp_path / "out").mkdir()
    wrong = [[cell for _, cell in errors(values)] for values in recalculate_hard_twice(paths, tmp_path / "out")]
    assert wrong == [["B11", "D11", "G11", "L11"], [], [], [], []]
