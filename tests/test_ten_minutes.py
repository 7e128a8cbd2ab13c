"""The first ten minutes, without a gauge: what they rank alone, what they never do, and what is foretold of them by hand."""

import math

import pytest

from estimator.diagnosis.advice.advice import advise
from estimator.diagnosis.advice.advise import TEST
from estimator.diagnosis.causes.foretell import State, foretold
from estimator.diagnosis.causes.setup import PSI, Shell, SystemSetup
from tests.engines import recalculate_with_ironcalc, stored_values
from tests.faulty_cars.measured import visit_of_car
from tests.never_clear.good_car import good_car
from tests.test_causes_sheet import differing, written_of

NEEDED = ("first-presses", "first-braking", "cycle-interval")


def ten_minutes(name="gas gone", seed=1):
    return visit_of_car(name, seed, "ten minutes")


def of(visit):
    return visit.appraise().appraisal


def group(visit, ident="system-2"):
    return next(item for item in of(visit).diagnosis.groups if item.id == ident)


def test_lost_gas_is_named_before_any_gauge_and_the_diagnosis_is_next():
    appraisal = of(ten_minutes())
    cause = appraisal.diagnosis.causes[0]
    assert (cause.mode_id, cause.place) == ("gas-gone", "system-2") and cause.probability > 0.8
    step = advise(appraisal).next
    assert (step.kind, step.id) == (TEST, "pressure-test-diagnostic") and step.cost > 0
    assert not any(call.active and call.caller for call in appraisal.calls)  # no repair on this alone


@pytest.mark.parametrize("check", NEEDED)
def test_without_one_of_them_nothing_is_ranked(check):
    visit = ten_minutes()
    visit.unset(f"reading.{check}.system-2.before")
    found = group(visit)
    assert not found.ranked and any(
        check in words or "until lamp" in words or "start" in words for words in found.missing
    )
    assert group(visit, "system-1").ranked and not group(visit, "system-1").gauged


def test_a_lamp_that_is_dark_at_key_on_proves_nothing_good():
    visit = ten_minutes("sound")
    assert group(visit).ranked
    visit.read("first-lamps.car", "fault found")
    assert not group(visit).ranked
    visit.read("applications.system-2", 15.0)
    assert group(visit).ranked


@pytest.mark.parametrize("word", ["no fault found", "fault found"])
def test_they_neither_fill_a_check_nor_change_the_state(word):
    """On a car on which all is good, and on one of which nothing else was read."""
    visit = good_car()
    was = of(visit).driving
    for row in of(visit).plan.checks:
        if row.check.unasked:
            visit.read(row.ref, 0.0 if row.check.kind == "recorded" else word)
    now = of(visit).driving
    assert (now.state, now.concerns, now.road_open) == (was.state, was.concerns, was.road_open)
    alone = ten_minutes("sound")
    kept = [item.ref for item in of(alone).standings if item.concern]
    for key in [key for key in alone.entries if key.startswith("reading.first-")]:
        alone.unset(key)
    assert kept == [item.ref for item in of(alone).standings if item.concern]


def test_what_was_read_better_takes_their_place():
    visit = visit_of_car("gas low", 1, "all")
    was = of(visit).diagnosis.causes
    for system in ("system-1", "system-2"):
        visit.unset(f"reading.first-presses.{system}.before")
        visit.unset(f"reading.first-braking.{system}.before")
    assert of(visit).diagnosis.causes == was


@pytest.mark.parametrize(
    ("name", "kind"), [("gas gone", "ten minutes"), ("outside leak", "ten minutes"), ("slow idle", "all")]
)
def test_ironcalc_and_python_agree(name, kind, tmp_path):
    _, path = written_of(tmp_path, of(visit_of_car(name, 1, kind)))
    assert differing(stored_values(path), recalculate_with_ironcalc(path)) == {}


# --- by hand ------------------------------------------------------------------------------------------------------------

SETUP = SystemSetup(
    id="system-1",
    shells=(Shell("accumulator-1", 0.7e-3, 1000 * PSI, 0.9, 1.1),),
    cut_out=2200 * PSI,
    cut_in=1800 * PSI,
    lamp=1400 * PSI,
    cut_out_sd=20 * PSI,
    cut_in_sd=20 * PSI,
    output=None,
    flow=5e-6,
    leakage=0.0,
    application=5e-6,
    other_users=False,
    spools_into_pan="no",
)


def read(check, **state):
    return foretold(SETUP, State(gas=(1.0,), **state))[check]


def given(start, end, n):
    """What the gas gives between two pressures, psi, by Boyle (n = 1) or without heat (n = 1.75: real nitrogen, CoolProp) [m³]."""
    return 0.7e-3 * 1000 / start * ((start / end) ** (1 / n) - 1)


def test_presses_by_hand():
    """5.6 mL a press, from 1,800 or 2,200 psi to the lamp at 1,400, between slow and fast, and half a press."""
    mean = sum(math.sqrt(given(start, 1400, 1.0) * given(start, 1400, 1.75)) / 5.6e-6 for start in (1800, 2200)) / 2
    found = read("first-presses")
    assert found.mean == pytest.approx(mean + 0.5, rel=0.03)
    start = (given(2200, 1400, 1.3) - given(1800, 1400, 1.3)) / 5.6e-6
    assert found.sd > start / math.sqrt(12)  # where the pressure stood is not known


def test_a_low_switch_is_stopped_at_twice_the_count():
    assert read("first-presses", lamp=-700 * PSI).mean == math.ceil(2 * read("first-presses").mean)
    assert read("first-presses", lamp=-100 * PSI).mean < 2 * read("first-presses").mean


def test_pump_starts_while_braking_by_hand():
    """1.12 mL/s pressed out; 38 mL between the settings, two parts of three as without heat: 36 s out, 10 s in, 2 s."""
    fluid = (2 * given(2200, 1800, 1.75) + given(2200, 1800, 1.0)) / 3
    seconds = fluid / 1.12e-6 + fluid / (5e-6 - 1.12e-6) + 2
    assert read("first-braking").mean == pytest.approx(seconds, rel=0.03)
    assert read("first-braking", delivery=0.5).mean > seconds
    assert read("first-braking", delivery=0.2).mean == 300  # less than the presses take: it never stops
