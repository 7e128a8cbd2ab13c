"""Laws: the last visit's readings never count as made, and nothing that they say improves what may be done with the car."""

import datetime as dt

import pytest

from estimator.car_history.series import trimmed
from estimator.car_history.visit import visit_of
from tests.never_clear.good_car import good_car, record_of
from tests.never_clear.test_laws import CARS, drawn

SAID_BEFORE = dt.date(2025, 11, 25)


def with_last_visit(visit, kind="A"):
    """The same workbook, drafted with a last visit on which all was measured and good."""
    past = good_car(kind)
    past.set("visit.before.date", SAID_BEFORE)
    last = visit_of(past.appraise().appraisal).model_copy(update={"document": "LY-7"})
    carried = visit.copy()
    carried.record = visit.record.model_copy(update={"visits": trimmed(visit.record.car, [last])})
    assert carried.record.last_visit == last
    return carried


@pytest.mark.parametrize("kind", ["A", "B"])
def test_a_car_whose_last_visit_was_wholly_good_is_not_measured(kind):
    visit = good_car(kind)
    for key in [key for key in visit.entries if key.startswith(("reading.", "visit."))]:
        visit.unset(key)
    found = with_last_visit(visit, kind).appraise()
    assert found.state == "not-measured" and found.appraisal.driving.made == 0


@pytest.mark.parametrize("seed", range(CARS))
def test_a_last_visit_changes_no_verdict_no_state_and_no_count(seed):
    car = drawn(seed)
    kind = "A" if car.visit.record.job.document == record_of("A").job.document else "B"
    found = with_last_visit(car.visit, kind).appraise()
    assert (found.state, found.grounding) == (car.found.state, car.found.grounding)
    assert found.appraisal.driving == car.found.appraisal.driving
    assert found.standings == car.found.standings
    assert found.appraisal.judged == car.found.appraisal.judged


@pytest.mark.parametrize("ref", ["precharge.accumulator-1", "pad-thickness.front-left", "fluid-level.system-1"])
def test_a_reading_taken_away_is_missing_though_the_last_visit_has_it(ref):
    visit = good_car("A")
    visit.unset(f"reading.{ref}.before")
    carried = with_last_visit(visit)
    assert ref in carried.record.last_visit.latest
    assert carried.appraise().state == "do-not-drive"
