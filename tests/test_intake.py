"""Files that people write become one record, and come back equal from what a workbook carries."""

import copy
import datetime as dt
import doctest
import importlib
import json
import re
import shutil
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

import estimator
from estimator.demo.start_files import write_start_files
from estimator.errors import InputError
from estimator.intake.labor_tables import packaged_tables
from estimator.intake.load_job import load_job, load_job_and_prices
from estimator.intake.toml_files import load_toml, read_toml, validated
from estimator.records import Car, Job, JobRecord, Shop

DEMO = Path(estimator.__file__).parent / "demo" / "files"
BASE = Path(__file__).parent / "bad_inputs" / "base"
JARGON = re.compile(r"pydantic|input should|validation|type=|decimal_|NoneType|Traceback|errors\.|extra inputs", re.I)


@pytest.fixture(scope="module")
def record():
    return load_job(DEMO / "job.toml", packaged_tables())


@pytest.fixture(scope="module")
def mineral():
    return load_job(DEMO / "job_mineral.toml", packaged_tables())


# --- records ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("job", ["job.toml", "job_mineral.toml"])
def test_a_record_comes_back_equal_from_json(job):
    record = load_job(DEMO / job, packaged_tables())
    carried = json.loads(json.dumps(record.model_dump(mode="json"), ensure_ascii=False))
    assert JobRecord.model_validate(carried) == record
    assert carried["shop"]["labor"]["rates"][0]["per_hour"] == "118.00"
    assert set(carried["shop"]["gauges"][0]["span"]) == {"value", "unit", "factor", "offset"}
    assert carried["job"]["date"] == "2026-11-25"


def test_a_carried_quantity_with_another_way_to_si_is_refused(record):
    carried = record.car.model_dump(mode="json")
    carried["systems"][0]["cut_in"]["factor"] = 6895.0
    with pytest.raises(ValueError, match="is not the one used here"):
        Car.model_validate(carried)
    carried = record.car.model_dump(mode="json")
    carried["systems"][0]["cut_in"] = carried["accumulators"][0]["volume"]
    with pytest.raises(ValueError, match="is not a quantity of the kind"):
        Car.model_validate(carried)


def test_units_are_kept_as_written_and_lead_to_si(record, mineral):
    assert str(record.car.systems[0].cut_out) == "2050 psi"
    assert str(mineral.car.systems[0].cut_out) == "142 bar"
    assert record.car.systems[0].cut_out.si == pytest.approx(14.134e6, rel=1e-4)
    assert mineral.car.systems[0].cut_out.si == 14.2e6
    assert record.shop.gauges[0].span_si == pytest.approx(20.684e6, rel=1e-4)
    thermometer = next(gauge for gauge in record.shop.gauges if gauge.id == "thermometer")
    assert (thermometer.span_si, thermometer.resolution_si) == (200, 0.1)  # differences


# --- which labor tables -----------------------------------------------------------------------------------------------


def job_with_tables(folder, marks):
    """A copy of the base job, with a folder of labor tables for each mark."""
    shutil.copytree(BASE, folder)
    for mark in marks:
        if mark != "labor_tables":
            shutil.copytree(BASE / "labor_tables", folder / mark)
        jobs = folder / mark / "jobs.csv"
        jobs.write_text(jobs.read_text().replace("Bleed one system", f"From {mark}"))
    return folder / "job.toml"


def title(record):
    return next(row.title for row in record.tables.jobs if row.job_id == "bleed-system")


def test_tables_given_come_before_those_named_before_those_beside(tmp_path):
    job = job_with_tables(tmp_path / "job", ["labor_tables", "named", "given"])
    assert title(load_job(job)) == "From labor_tables"
    job.write_text(job.read_text().replace('shop = "shop.toml"', 'shop = "shop.toml"\ntables = "named"'))
    record = load_job(job)
    assert title(record) == "From named" and record.tables_name == "named"
    assert title(load_job(job, job.parent / "given")) == "From given"


def test_without_any_tables_the_invented_ones_of_the_program_are_not_taken(tmp_path):
    shutil.copytree(DEMO, tmp_path / "job")
    with pytest.raises(InputError, match=r"labor_tables.*not found.*--tables") as refused:
        load_job(tmp_path / "job" / "job.toml")
    assert refused.value.exit_status == 66


# --- what is tolerated, and what junk does ----------------------------------------------------------------------------


def test_byte_order_mark_and_other_line_ends_are_tolerated(tmp_path):
    shutil.copytree(BASE, tmp_path / "job")
    for path in (tmp_path / "job").rglob("*.*"):
        text = path.read_text(encoding="utf-8")
        path.write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    assert load_job(tmp_path / "job" / "job.toml") == load_job(BASE / "job.toml")


def leaves(data, path=()):
    if isinstance(data, dict | list):
        yield from ((path, key) for key in (data if isinstance(data, dict) else range(len(data))))
        for key, value in data.items() if isinstance(data, dict) else enumerate(data):
            yield from leaves(value, (*path, key))


FILES = {"shop.toml": Shop, "car.toml": Car, "car_mineral.toml": Car}
DATA = {name: read_toml(DEMO / name) for name in FILES}
SPOTS = [(name, path, key) for name, data in DATA.items() for path, key in leaves(data)]
JUNK = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(min_value=-(10**20), max_value=10**20),
    st.decimals(),
    st.text(max_size=20),
    st.sampled_from(["-1 bar", "1e400 psi", "5 °C", "3 ft", "x" * 3000, "a\nb", "\x1b[31m 5 psi", "NaN", "infinity"]),
    st.dates(),
    st.datetimes(),
    st.lists(st.integers(), max_size=2),
    st.just({}),
    st.just({"value": 1, "unit": "psi", "factor": "x"}),
)


@settings(max_examples=200, deadline=None)
@given(st.sampled_from(SPOTS), JUNK, st.sampled_from(["replace", "remove", "add"]))
@example(("shop.toml", ("gauges", 0), "accuracy_class"), "x" * 3000, "replace")
def test_junk_anywhere_is_taken_or_refused_in_plain_words(spot, junk, how):
    name, path, key = spot
    data = copy.deepcopy(DATA[name])
    table = data
    for step in path:
        table = table[step]
    if how == "remove":
        del table[key]
    elif how == "replace" or isinstance(table, list):
        table[key] = junk
    else:
        table["further_key"] = junk
    try:
        taken = validated(data, FILES[name], Path(name))
    except InputError as refused:
        for problem in refused.problems:
            assert problem.line().isprintable() and len(problem.line()) < 1000
            assert problem.found and problem.allowed and problem.place
            assert not JARGON.search(problem.line())
    else:
        assert FILES[name].model_validate(taken.model_dump(mode="json")) == taken


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=200) | st.text(max_size=200).map(str.encode))
def test_any_bytes_are_refused_in_plain_words(tmp_path_factory, content):
    path = tmp_path_factory.mktemp("bytes") / "job.toml"
    path.write_bytes(content)
    with pytest.raises(InputError) as refused:
        load_toml(path, Job)
    assert all(problem.line().isprintable() and not JARGON.search(problem.line()) for problem in refused.value.problems)


def test_a_price_list_of_the_job_is_laid_over_its_tables():
    record, report = load_job_and_prices(DEMO / "job_mineral.toml", packaged_tables())
    price = {part.part_id: (part.unit_cost, part.priced_on) for part in record.tables.parts}
    assert price["elastomer-buffer"] == (Decimal("88.00"), dt.date(2026, 11, 2))
    assert {change.part_id for change in report.changes} >= {"brake-fluid-mineral", "elastomer-buffer"}
    assert [row.part_id for row in report.not_placed] == ["rear-pads-set", "sight-glass"]
    assert load_job_and_prices(DEMO / "job.toml", packaged_tables())[1] is None


@pytest.mark.parametrize(
    "name",
    [
        "quantities",
        "written_quantities",
        "places",
        "errors",
        "intake.model_errors",
        "intake.input_errors",
        "intake.toml_files",
    ],
)
def test_examples_in_the_text_hold(name):
    found = doctest.testmod(importlib.import_module(f"estimator.{name}"))
    assert found.failed == 0 and found.attempted > 0


def test_notes_of_an_older_job_file_stay_with_the_shop(tmp_path):
    """They were printed for the customer whoever they were written for."""
    write_start_files(tmp_path)
    path = tmp_path / "job.toml"
    text = path.read_text(encoding="utf-8")
    assert text.count("shop_notes = [") == 1
    path.write_text(text.replace("shop_notes = [", "notes = ["), encoding="utf-8")
    job = load_job(path).job
    assert (
        job.shop_notes == ("Customer asks to be called before any work beyond the diagnosis.",)
        and job.customer_notes == ()
    )
