"""Ten visits of a car that loses gas at a known rate: the band holds the true crossing. A sample; tests/long/ has 500."""

import datetime as dt

import pytest
from gas_history import REF, past
from never_clear.good_car import good_car
from never_ground.honest_gauges import Gauges

from estimator.car_history.visit import visit_of
from tests.gas_history import reading, reference
from tests.never_ground.grounded import most

SAMPLE, SHARE = 60, 0.8
WAYS = [{}, {"same_gauge": True}, {"proportional": True}, {"visits": 4}]


def missed(draws, **way):
    return [seed for seed in range(draws) if not past(seed, **way).held]


@pytest.mark.parametrize("way", WAYS, ids=["recalibrated", "one-gauge", "proportional", "four-visits"])
def test_the_band_holds_the_true_crossing(way):
    """In at least 80 %: binomial, of 60 more than 22 misses come less than once in a thousand."""
    assert most(SAMPLE, 1 - SHARE) == 22
    found = missed(SAMPLE, **way)
    assert len(found) <= most(SAMPLE, 1 - SHARE), found


def test_a_band_is_no_excuse():
    """Half of the bands of ten visits end, and are less wide than ten years; the earliest day isn't the next one."""
    ends = [past(seed).trend.crossing("service", past(seed).level) for seed in range(20)]
    wide = [(item.latest - item.earliest).days / 365.25 for item in ends if item and item.latest]
    assert len(wide) > 10 and sorted(wide)[len(wide) // 2] < 10
    assert sum(item.earliest > past(seed).visits[-1].after for seed, item in enumerate(ends) if item) > 10


def test_a_visit_keeps_what_the_rows_give():
    """The reading and its uncertainty as an appraised workbook hands them on are those of this simulator."""
    record, item = reference()
    visit = good_car("A")
    visit.read("precharge.accumulator-1", 905.0, gauge="precharge-1500")
    visit.read("gas-temperature.accumulator-1", 11.5, gauge="thermometer")
    kept = visit_of(visit.appraise().appraisal).latest[REF]
    gauges = Gauges(record)
    si, u = reading(gauges, 905.0 * 6894.757293168, 273.15 + 11.5, item.precharge_temperature.si)
    assert kept.si == pytest.approx(si, rel=1e-9) and kept.u == pytest.approx(u, rel=1e-9)
    assert (kept.value, kept.unit) == (f"{si / 6894.757293168:.0f}", "psi") and kept.value != "905"


def test_what_is_not_believed_or_contradicts_is_no_point():
    visit = good_car("A")
    visit.read("precharge.accumulator-1", 1600.0)
    kept = visit_of(visit.appraise().appraisal).latest[REF]
    assert kept.value and kept.si is None


def test_the_days_are_those_of_the_readings():
    visit = good_car("A")
    visit.set("visit.before.date", dt.date(2026, 11, 3))
    found = visit_of(visit.appraise().appraisal)
    assert found.before == dt.date(2026, 11, 3) and found.document == visit.record.job.document
    visit.set("visit.before.date", 1e12)
    assert visit_of(visit.appraise().appraisal).before == visit.record.job.date
