"""The band and the next step on the demo's car: prices against the estimate's own, order of advice, what is never offered."""

import itertools
from decimal import Decimal

import pytest
from letter_samples import appraisal_at, bent

from estimator.diagnosis.advice.advice import advise
from estimator.diagnosis.advice.advise import LET_BE, Adviser
from estimator.diagnosis.advice.band import base_lines, price_band
from estimator.diagnosis.advice.costs import Costs
from estimator.diagnosis.advice.visit_price import VisitPrice


@pytest.mark.parametrize("stage", ["drafted", "before", "decisions"])
def test_the_lines_of_the_estimate_come_to_its_total(stage):
    """To half a cent a line: the estimate rounds each line's share, the band all labor once."""
    appraisal = appraisal_at(stage)
    lines = {item.line.ref for item in appraisal.decisions.decided if item.proposed}
    assert abs(VisitPrice(appraisal).of(lines) - appraisal.proposed["total"]) <= Decimal("0.01") * len(lines)


def test_more_hours_and_more_lines_cost_more():
    appraisal = appraisal_at("before")
    price, base = VisitPrice(appraisal), base_lines(appraisal)
    assert price.of(base, "low") < price.of(base) < price.of(base, "high")
    assert price.of(base) < price.of(base | {"pump-exchange.system-1"})


def test_a_line_that_another_includes_costs_nothing():
    price = VisitPrice(appraisal_at("before"))
    assert price.of({"front-rotors.front-axle", "front-pads.front-axle"}) == price.of({"front-rotors.front-axle"})


def test_costs_by_hand():
    """Hours and rates of the tables: reseal the pump 4.60 h without what the pressure test had, at 118; kit and fluid beside."""
    appraisal = appraisal_at("drafted")
    costs = Costs(appraisal.record, appraisal.plan)
    watch = costs.line("charging-watch.system-1")
    assert costs.of_test(watch) == Decimal("70.40")  # (0.15 + 0.25 + 0.15) h at 128.00
    pump = costs.line("pump-reseal.system-1")
    hours = [0.20, 0.30, 0.25, 0.90, 0.15, 0.25, 0.25, 0.15, 0.55, 0.95, 0.50, 1.60, 0.15]
    parts = sum(part.amount for part in appraisal.parts if part.planned.line.ref == pump.ref)
    assert costs.of_repair(pump) == Decimal(str(round(sum(hours) * 118, 2))) + parts


def test_the_demo_is_told_to_replace_the_shell_that_lost_its_gas():
    advice = advise(appraisal_at("before"))
    assert (advice.next.kind, advice.next.id, advice.next.place) == ("repair", "accumulator-exchange", "accumulator-2")
    assert Decimal(0) < advice.band.low < advice.band.high


def test_with_nothing_read_nothing_is_advised_and_there_is_a_band():
    advice = advise(appraisal_at("drafted"))
    assert advice.next is None
    assert advice.band.low < advice.band.high


def test_readings_narrow_the_band():
    drafted, before = (advise(appraisal_at(stage)).band for stage in ("drafted", "before"))
    assert before.high - before.low < drafted.high - drafted.low


def test_letting_be_is_never_offered_while_anything_grounds_the_car():
    for stage in ("drafted", "before", "decisions"):
        advice = advise(appraisal_at(stage))
        assert [item.step.kind for item in advice.groups if item.step and item.step.kind == LET_BE] == []


def test_the_band_is_that_of_all_ways_together():
    """By enumerating every case of every group, none left out, with the least price whose chance reaches a tenth."""
    appraisal = appraisal_at("before")
    adviser = Adviser(appraisal)
    groups = [adviser.of_group(group) for group in appraisal.diagnosis.groups]
    band = price_band(appraisal, adviser, groups)
    told = [item for item in groups if item.step]
    assert [item.group.id for item in told] == ["system-2"]
    price, base = VisitPrice(appraisal), base_lines(appraisal)
    order = told[0].order
    ways = []
    for case in told[0].cases:
        last = max((order.index(ref) for ref in case.needs), default=0)
        lines = base | set(itertools.islice(order, last + 1))
        ways.append((price.of(lines, "low"), price.of(lines, "high"), case.probability))
    low = min(p for p, _, _ in ways if sum(w for q, _, w in ways if q <= p) >= 0.1)
    high = min(p for _, p, _ in ways if sum(w for _, q, w in ways if q <= p) >= 0.9)
    assert band.low <= low < band.low + 10
    assert band.high - 10 < high <= band.high


def test_a_pump_that_charges_slowly_is_looked_at_through_the_sight_glass_first():
    slow = {"reading.charge-time.system-1.before": 160.0, "reading.cycle-interval.system-1.before": 600.0}
    slow["reading.sight-glass.system-1.before"] = None
    advice = advise(bent("before", slow))
    mine = next(item for item in advice.groups if item.group.id == "system-1")
    assert mine.group.causes[0].mode_id in ("pump-weak", "feed-blocked")
    assert (mine.step.kind, mine.step.id) == ("test", "charging-watch")
    assert advice.next == mine.step  # a test before a repair
    seen = slow | {"reading.sight-glass.system-1.before": "fault found"}
    step = next(item.step for item in advise(bent("before", seen)).groups if item.group.id == "system-1")
    assert (step.kind, step.id) == ("repair", "low-pressure-hoses")
