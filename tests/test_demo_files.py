"""The invented scenario: the cars that the job asks for, gauges that tell a story, files that explain themselves."""

from itertools import takewhile
from pathlib import Path

import pytest

import estimator
from estimator.facts.checks import checks
from estimator.intake.labor_tables import packaged_tables
from estimator.intake.load_job import load_job

DEMO = Path(estimator.__file__).parent / "demo" / "files"


@pytest.fixture(scope="module")
def record():
    return load_job(DEMO / "job.toml", packaged_tables())


@pytest.fixture(scope="module")
def mineral():
    return load_job(DEMO / "job_mineral.toml", packaged_tables())


def test_the_invented_car_is_the_one_asked_for(record):
    car = record.car
    fed = {(brake.wheel, brake.caliper, brake.source): (brake.pistons, brake.behind_valve) for brake in car.brakes}
    for side in ("left", "right"):
        assert fed[f"front-{side}", "caliper", "system-1"] == (2, False)
        assert fed[f"front-{side}", "caliper", "system-2"] == (2, False)
        assert fed[f"rear-{side}", "main-caliper", "system-2"] == (2, True)
        assert fed[f"rear-{side}", "pedal-caliper", "pedal-circuit"] == (1, False)
    assert len(fed) == 8 and car.car.variant == "A" and len(car.accumulators) == 2


def test_the_second_car_differs_where_it_should(mineral):
    car = mineral.car
    assert (car.car.variant, car.fluid.family, car.deceleration_valve) == ("B", "mineral", None)
    assert not car.places.pedal_circuit
    assert [user.system for user in car.supply_users] == ["system-2"]


@pytest.mark.parametrize("name", ["record", "mineral"])
def test_every_check_that_needs_the_makers_datum_has_it(name, request):
    car = request.getfixturevalue(name).car
    limited = {limit.check for limit in car.limits}
    needed = {check.id for check in checks() if check.limit == "maker" and check.applies_to(car)}
    assert needed <= limited
    assert all("invented for the demo" in limit.source for limit in car.limits)


def test_the_gauges_tell_the_story(record):
    gauges, on = record.shop.gauges, record.job.date
    assert [gauge.id for gauge in gauges if gauge.due < on] == ["pressure-3000-b"]
    assert {str(gauge.accuracy_class) for gauge in gauges if gauge.measures == "pressure"} >= {"1", "2.5"}
    usual = [gauge.measures for gauge in gauges if gauge.usual]
    assert sorted(usual) == sorted({gauge.measures for gauge in gauges})


@pytest.mark.parametrize("name", ["shop.toml", "car.toml", "job.toml"])
def test_each_table_is_explained_where_it_first_stands(name):
    """By a comment in it or right above it: `estimator start` hands these files to people."""
    text = (DEMO / name).read_text(encoding="utf-8")
    assert text.startswith("#") and "invented for the demo" in text
    lines, explained = text.split("\n"), {}
    for index, line in enumerate(lines):
        if line.startswith("["):
            body = takewhile(str.strip, lines[index:])
            explained.setdefault(line, lines[index - 1].startswith("#") or any("#" in inside for inside in body))
    assert [header for header, said in explained.items() if not said] == []
