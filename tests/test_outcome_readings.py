"""The checks in which tests are written, and the first ten minutes: their limits, and that they neither clear nor fill anything."""

import pytest

from estimator.facts.checks import checks
from estimator.facts.stages import stages
from estimator.limits.judging.driving import NO_FINDING
from estimator.pricing.plan import plan
from tests.never_clear.good_car import fresh_car, good_car

FIRST = stages()[0]


def judged(ref, value):
    visit = good_car()
    visit.read(ref, value)
    item = next(item for item in visit.appraise().appraisal.judged if item.ref == ref)
    return item.phases["before"].verdict


@pytest.mark.parametrize(
    ("ref", "value", "verdict"),
    [
        # By hand: 0.7 L (1 - 944.7/2064.7 psi) at 5.41 - 0.004 mL/s is 70.2 s; at least half of it.
        ("charge-time.system-1", 3, "out of limits"),
        ("charge-time.system-1", 34, "out of limits"),
        ("charge-time.system-1", 37, "within limits"),
        # 8 min, to 2 s.
        ("cycle-interval.system-1", 470, "out of limits"),
        ("cycle-interval.system-1", 481, "too close to limit"),
        ("cycle-interval.system-1", 600, "within limits"),
    ],
)
def test_limits_by_hand(ref, value, verdict):
    assert judged(ref, value) == verdict


OUTCOMES = [check for check in checks() if check.asked in ("on demand", "once entered") and not check.safety]


@pytest.mark.parametrize("check", [check.id for check in OUTCOMES if check.kind == "look"])
def test_the_outcome_of_a_test_grounds_nothing_by_itself(check):
    visit = good_car()
    for row in visit.appraise().appraisal.plan.checks:
        if row.check.id == check:
            visit.read(row.ref, "fault found")
    assert visit.appraise().appraisal.driving.state == NO_FINDING


def test_the_first_ten_minutes_come_first_and_hold_nothing_of_the_state():
    first = [check for check in checks() if any(check.id in band.checks for band in FIRST.band)]
    assert len(first) >= 7
    assert not any(check.safety for check in first)
    own = [check for check in first if check.id.startswith("first-")]
    assert len(own) == 8 and all(check.unasked for check in own)


def test_the_first_ten_minutes_clear_nothing():
    visit = fresh_car()
    before = visit.appraise().appraisal.driving
    for row in plan(visit.record).checks:
        if row.check.unasked and row.check.kind != "recorded":
            visit.read(row.ref, "no fault found")
    for system in ("system-1", "system-2"):
        visit.read(f"first-presses.{system}", 30.0)
        visit.read(f"first-braking.{system}", 60.0)
    after = visit.appraise().appraisal.driving
    assert (after.concerns, after.road_open) == (before.concerns, before.road_open)
    assert after.state == "DO NOT DRIVE"  # something was entered, and nothing is good


def test_what_a_pump_delivers_at_no_pressure_by_hand():
    """1.05 mL · 0.5 · 680/60 /s · 0.91 · 15 s = 81.2 mL, of which 85 % at least."""
    rows = good_car().appraise().appraisal.workings.rows
    assert float(rows["system-1.free-flow"].si) == pytest.approx(0.85 * 1.05e-6 * 0.5 * 680 / 60 * 0.91 * 15)


def test_a_look_that_doubts_the_fluid_is_cleared_by_no_sample_of_the_other_family():
    visit = good_car()
    visit.read("fluid-family-tested.car", "mineral")
    assert visit.appraise().grounding == ["fluid-family-tested.car"]
