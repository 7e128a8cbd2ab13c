"""Input that reads well and can't be true, or that posting would refuse: refused where the workbook is drafted."""

import os
import shutil
import threading

import pytest
from test_bad_inputs import HERE

from estimator.errors import InputError
from estimator.intake.entries_csv import load_entries
from estimator.intake.load_job import load_job
from estimator.intake.toml_files import LARGEST_BYTES

TAX, VAT = "[tax]", 'kind = "vat"'
# The file, what is altered in it, the place that is named, words of the message.
DOUBTS = {
    "a brake pasted twice": (
        "car.toml",
        '{ wheel = "front-left", source = "system-1", pistons',
        None,
        "[[brakes]] number 2",
        "it equals number 1 in every key",
    ),
    "a hose pasted twice": (
        "car.toml",
        '{ wheel = "front-left", source = "system-1", bore',
        None,
        "[[hoses]] number 2",
        "it equals number 1 in every key",
    ),
    "precharge 2 psi": (
        "car.toml",
        'precharge = "69 bar"',
        'precharge = "2 psi"',
        'key "precharge"',
        "at least 1/10 of cut-out",
    ),
    "cut-in one below cut-out": (
        "car.toml",
        'cut_in = "124 bar"',
        'cut_in = "151 bar"',
        'key "cut_in"',
        "at least 2% of it",
    ),
    "year 9999": ("job.toml", "date = 2026-11-25", "date = 9999-12-31", 'key "date"', "years 1900 to 2100"),
    "a unit of no invoice": (
        "labor_tables/parts.csv",
        ",L,",
        ",bucket,",
        'column "unit"',
        "Write one of these",
    ),
    "VAT without a number": ("shop.toml", TAX, f"{TAX}\n{VAT}", 'key "tax_id"', "BR-S-02"),
    "VAT line by line": ("shop.toml", TAX, f'{TAX}\n{VAT}\nscope = "line"', 'key "scope"', "BR-CO-17"),
}


def copied(tmp_path):
    folder = tmp_path / "job"
    shutil.copytree(HERE / "base", folder)
    return folder


@pytest.mark.parametrize("doubt", DOUBTS)
def test_doubtful_input_is_refused_where_it_is_drafted(doubt, tmp_path):
    folder = copied(tmp_path)
    name, was, now, place, words = DOUBTS[doubt]
    path = folder / name
    text = path.read_text(encoding="utf-8")
    assert was in text
    if now is None:  # the inline table once more
        end = text.index("}", text.index(was)) + 1
        text = f"{text[:end]}, {text[text.index(was) : end]}{text[end:]}"
    else:
        text = text.replace(was, now, 1)
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as refused:
        load_job(folder / "job.toml")
    said = [problem.line() for problem in refused.value.problems]
    assert any(str(path) in line and place in line and words in line for line in said), said


@pytest.mark.parametrize("name", ["job.toml", "car.toml", "labor_tables/jobs.csv", "entries.csv"])
@pytest.mark.parametrize("kind", ["pipe", "folder", "long"])
def test_only_regular_files_of_a_size_are_read(name, kind, tmp_path):
    """A pipe that nobody writes to would be waited for for ever; /dev/zero never ends."""
    folder = copied(tmp_path)
    path = folder / name
    path.unlink(missing_ok=True)
    if kind == "pipe":
        os.mkfifo(path)
    elif kind == "folder":
        path.mkdir()
    else:
        with path.open("wb") as file:
            file.truncate(LARGEST_BYTES + 1)
    refused = []

    def read():
        try:
            load_entries(path) if name == "entries.csv" else load_job(folder / "job.toml")
        except InputError as error:
            refused.append(str(error))

    reading = threading.Thread(target=read, daemon=True)
    reading.start()
    reading.join(20)
    words = "larger than 2 MB" if kind == "long" else "not a regular file"
    assert refused and words in refused[0] and path.name in refused[0]
