"""Each folder of bad_inputs/ is one mistake: the files of base/ with one of them broken.

expected.csv says in which file and at which place each is found, and the words that its message must hold. Wording may
improve; places and facts stay.
"""

import csv
import shutil
from pathlib import Path

import pytest

from estimator.errors import EXIT_MISSING, EXIT_NOT_UNDERSTOOD, InputError
from estimator.intake.load_job import load_job

HERE = Path(__file__).parent / "bad_inputs"
MISSING = {"shop_file_missing", "price_list_missing", "table_missing"}


def expected():
    """mistake: [(file, place, words), ...]"""
    found = {}
    with (HERE / "expected.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            found.setdefault(row["mistake"], []).append((row["file"], row["place"], row["words"].split(" | ")))
    return found


MISTAKES = expected()


def written(tmp_path, mistake=None):
    """The files of a job with one mistake, and the job among them."""
    folder = tmp_path / "job"
    shutil.copytree(HERE / "base", folder)
    if mistake:
        shutil.copytree(HERE / mistake, folder, dirs_exist_ok=True)
        for mark in folder.rglob("*.missing"):
            mark.with_suffix("").unlink()
    return folder / "job.toml"


def test_the_files_without_a_mistake_make_a_record(tmp_path):
    record = load_job(written(tmp_path))
    assert record.car.car.id == "vardowe-two"
    assert record.tables.jobs[0].job_id == "complete-fluid-renewal"


def test_each_folder_is_a_mistake_of_the_table():
    assert {path.name for path in HERE.iterdir() if path.is_dir()} == {"base", *MISTAKES}
    assert len(MISTAKES) >= 100


@pytest.mark.parametrize("mistake", MISTAKES)
def test_mistake_is_refused_in_words(tmp_path, mistake):
    with pytest.raises(InputError) as refused:
        load_job(written(tmp_path, mistake))
    problems = refused.value.problems
    folder = tmp_path / "job"
    found = [(str(Path(problem.file).relative_to(folder)), problem.place) for problem in problems]
    assert found == [(file, place) for file, place, _ in MISTAKES[mistake]]
    for problem, (_, _, words) in zip(problems, MISTAKES[mistake], strict=True):
        line = problem.line()
        assert all(words) and [word for word in words if word.casefold() not in line.casefold()] == []
        assert line.isprintable() and problem.found and problem.allowed
    assert refused.value.exit_status == (EXIT_MISSING if mistake in MISSING else EXIT_NOT_UNDERSTOOD)


def test_all_mistakes_of_all_files_are_told_at_once(tmp_path):
    job = written(tmp_path)
    for file, right, wrong in (
        ("shop.toml", 'per_hour = "118.00"', 'per_hour = "118,00"'),
        ("shop.toml", "usual = true", 'usual = "yes"'),
        ("car.toml", 'cut_in = "124 bar"', 'cut_in = "124 mm"'),
        ("car.toml", 'volume = "0.75 L"', 'volume = "-0.75 L"'),
        ("car.toml", 'lamp = "93 bar"', 'lamp = "93 bar"\nlmap = "93 bar"'),
        ("labor_tables/steps.csv", "0.10,0.20,0.30", "0.40,0.20,0.30"),
    ):
        text = (job.parent / file).read_text(encoding="utf-8")
        assert text.count(right) == 1
        (job.parent / file).write_text(text.replace(right, wrong), encoding="utf-8")
    with pytest.raises(InputError) as refused:
        load_job(job)
    assert [(Path(problem.file).name, problem.place) for problem in refused.value.problems] == [
        ("shop.toml", '[[labor.rates]] number 1, key "per_hour"'),
        ("shop.toml", '[[gauges]] number 1, key "usual"'),
        ("car.toml", '[[systems]] number 1, key "cut_in"'),
        ("car.toml", '[[systems]] number 1, key "lmap"'),
        ("car.toml", '[[accumulators]] number 1, key "volume"'),
        ("steps.csv", 'line 2, column "hours_low"'),
    ]
