"""Laws of weighing causes against readings."""

import functools
import itertools
import math
from random import Random

import pytest
from letter_samples import bent

from estimator.appraise import appraise
from estimator.boxes.entries import Entries
from estimator.diagnosis.causes.diagnose import _of_system
from estimator.diagnosis.causes.evidence import Look, Reading
from estimator.diagnosis.causes.hypotheses import At, Hypothesis, Shared, rounded
from estimator.diagnosis.causes.joint import joined
from estimator.diagnosis.causes.result import Diagnosis
from estimator.diagnosis.causes.scenarios import Rows, Scenario, Told
from estimator.diagnosis.causes.setup import Expected
from estimator.diagnosis.causes.weigh import RANGES, SharedReadings, believed, idles, likelihoods
from estimator.diagnosis.causes.words import cause_lines, pointing
from estimator.quantities import UNITS
from tests.faulty_cars.scenarios import SCENARIOS
from tests.faulty_cars.simulated import faulty_readings
from tests.limit_cars import with_car
from tests.never_clear.good_car import READ_ON, fresh_car, record_of

TRIED = ("gas low", "pump weak", "check valve leaks, B", "air in the pedal circuit", "gas gone and pump weak")


@functools.cache
def _read(name):
    scenario, rng = SCENARIOS[name], Random(f"{name} 7")
    return scenario.car, faulty_readings(record_of(scenario.car), scenario.draw(rng), rng)


def visit_of(name):
    car, readings = _read(name)
    visit = fresh_car(car)
    visit.set("visit.before.date", READ_ON)
    for ref, (value, gauge) in readings.items():
        visit.read(ref, value, gauge=gauge)
    return visit


def probabilities(diagnosis):
    """By group, mode and place."""
    return {
        (group.id, cause.mode_id, cause.place, cause.at): cause.probability
        for group in diagnosis.groups
        for cause in group.causes
    }


def of(visit):
    return visit.appraise().appraisal.diagnosis


# --- laws -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", TRIED)
def test_a_reading_that_no_hypothesis_explains_raises_no_claim(name):
    """Far beyond all that is foretold: the same as an empty box."""
    visit = visit_of(name)
    for check, value in (
        ("charge-time.system-1", 9000.0),
        ("applications.system-1", 900.0),
        ("lamp-pressure.system-2", 90000.0),
        ("distribution-output.system-1", 90000.0),
        ("collected-leakage.car", 900000.0),
        ("pedal-movement.car", 90000.0),
    ):
        blank, absurd = visit.copy(), visit.copy()
        blank.unset(f"reading.{check}.before")
        absurd.read(check, value)
        was, now = probabilities(of(blank)), probabilities(of(absurd))
        assert now == pytest.approx(was, abs=1e-12), check


def test_an_empty_box_changes_nothing():
    visit = visit_of("gas low")
    was = of(visit)
    for ref in ("valve-tilt.car", "road-balance.front-axle", "cut-out.system-1.3"):
        visit.unset(f"reading.{ref}.before")
    found = of(visit)
    visit.set("reading.valve-tilt.car.before", "")
    visit.set("reading.cut-out.system-1.3.before", "")
    visit.set("reading.charge-time.system-1.after", "")
    assert probabilities(of(visit)) == probabilities(found)
    assert was.causes[0].mode_id == found.causes[0].mode_id == "gas-low"


@pytest.mark.parametrize("name", TRIED)
def test_the_order_of_systems_does_not_matter(name):
    visit = visit_of(name)
    was = probabilities(of(visit))
    car = visit.record.car
    turned = {"systems": car.systems[::-1], "accumulators": car.accumulators[::-1]}
    visit.record = with_car(visit.record, car.model_copy(update=turned))
    assert probabilities(of(visit)) == pytest.approx(was, rel=1e-9, abs=1e-15)


def test_units_do_not_matter():
    """The same readings in bar, inches and minutes."""
    visit = visit_of("gas low")
    was = probabilities(of(visit))
    show = visit.record.shop.show
    units = {"pressure": "bar", "length": "in"}
    for row in appraise(visit.record, Entries.from_boxes(visit.entries)).judged:
        if row.row.check.quantity in units:
            for phase in ("before",):
                key = f"reading.{row.ref}.{phase}"
                if isinstance(visit.get(key), float):
                    old, new = UNITS[getattr(show, row.row.check.quantity)], UNITS[units[row.row.check.quantity]]
                    visit.set(key, visit.get(key) * old.factor / new.factor)
    shop = visit.record.shop.model_copy(update={"show": show.model_copy(update=units)})
    visit.record = visit.record.model_copy(update={"shop": shop})
    assert probabilities(of(visit)) == pytest.approx(was, rel=1e-9, abs=1e-15)


def test_what_is_foretold_rests_on_no_reading():
    """It is drafted with the workbook: other readings ask for no other table."""
    of(visit_of("gas low"))
    before = _of_system.cache_info().misses
    of(visit_of("pump weak"))
    of(visit_of("gas gone and pump weak"))
    assert _of_system.cache_info().misses == before


@pytest.mark.parametrize("name", TRIED)
def test_probabilities_of_a_group_sum_to_one(name):
    for group in of(visit_of(name)).groups:
        assert math.fsum(item.probability for item in group.hypotheses) == pytest.approx(1, abs=1e-12)
        assert all(item.probability >= 0 for item in group.hypotheses)


# --- which causes there are, and when they are ranked -----------------------------------------------------------------


def modes(diagnosis):
    return {cause.mode_id for group in diagnosis.groups for cause in group.causes}


def test_a_car_has_no_cause_that_it_cannot_have():
    first, second = modes(of(fresh_car("A"))), modes(of(fresh_car("B")))
    assert {"pedal-air", "pedal-cylinder-leaks", "pedal-circuit-leaks"} <= first - second
    assert {"buffer-worn", "other-user-leaks"} <= second - first


def test_without_readings_nothing_is_ranked():
    found = of(fresh_car("A"))
    assert not found.ranked and not found.causes
    assert "charge time, system 1" in found.missing and "hold, pressure after 30 min, system 2" in found.missing
    assert cause_lines(found)[0].startswith("cause: too few readings")


def test_a_system_is_ranked_once_its_three_readings_stand():
    visit = fresh_car("A")
    whole = visit_of("gas gone and pump weak")
    for ref in (
        "precharge.accumulator-2",
        "gas-temperature.accumulator-2",
        "charge-time.system-2",
        "hold-start.system-2",
    ):
        visit.read(ref, whole.get(f"reading.{ref}.before"))
        assert not of(visit).causes
    for ref in ("hold-start-temperature.system-2", "hold-end-temperature.system-2", "hold.system-2"):
        visit.read(ref, whole.get(f"reading.{ref}.before"))
    found = of(visit)
    assert [group.id for group in found.groups if group.ranked] == ["system-2"]
    assert {cause.mode_id for cause in found.causes[:1]} == {"gas-gone"}


def test_old_tables_without_causes_rank_nothing():
    visit = visit_of("gas low")
    tables = visit.record.tables.model_copy(update={"causes": ()})
    visit.record = visit.record.model_copy(update={"tables": tables})
    assert not of(visit).ranked and of(visit).missing == ("labor_tables/causes.csv",)


def test_a_concern_makes_its_causes_likelier():
    visit = visit_of("gas low")
    was = probabilities(of(visit))
    job = visit.record.job.model_copy(update={"complaint": "The pedal SINKS slowly at a light"})
    visit.record = visit.record.model_copy(update={"job": job})
    key = ("pedal", "pedal-cylinder-leaks", "pedal-circuit", "pedal-circuit")
    assert probabilities(of(visit))[key] > 3 * was[key]


def test_a_repaired_cause_is_gone_from_readings_after_work():
    """What a job done voids no longer speaks; the reading after it does."""
    visit = visit_of("gas gone and pump weak")
    assert of(visit).causes[0].mode_id == "gas-gone"
    good = visit_of("gas low")  # low in system 2; here only its other system is taken
    for ref in list(_read("gas low")[1]):
        if ref.endswith("system-1") or "system-1." in ref or ref.endswith("accumulator-1"):
            other = ref.replace("system-1", "system-2").replace("accumulator-1", "accumulator-2")
            visit.read(other, good.get(f"reading.{ref}.before"), phase="after")
    visit.read("integrity.car", "no fault found", phase="after")
    assert not [cause for cause in of(visit).causes if cause.probability > 0.5]


def test_words_never_say_that_it_is_so():
    for name in TRIED:
        for line in (*pointing(of(visit_of(name))), *cause_lines(of(visit_of(name)))):
            assert "point" in line or "cannot tell" in line or "without" in line
            assert "%" not in line and " is " not in line and "safe" not in line
    assert list(pointing(Diagnosis())) == []


# --- the arithmetic, against brute force ------------------------------------------------------------------------------


def test_a_weight_by_hand():
    """One reading 1 σ from what is foretold, one look: prior · (0.98 R φ(1)/σ + 0.02) · q."""
    row = Hypothesis((), 0.3, {"charge-time": rounded(Expected(60.0, 3.0))}, {"sight-glass": 0.2})
    told = {"charge-time": Reading(65.0, 4.0, ())}
    density = 0.98 * RANGES["charge-time"] * math.exp(-0.5) / (5 * math.sqrt(2 * math.pi)) + 0.02
    (weight,) = likelihoods([row], told, {"sight-glass": Look(True, "")})
    assert weight == pytest.approx(0.3 * density * 0.2, rel=1e-4)
    assert believed([row], told) == told and believed([row], {"charge-time": Reading(200.0, 4.0, ())}) == {}


def test_joint_probabilities_by_brute_force():
    """All rows of two systems and of the pedal taken one by one."""
    rng = Random(3)

    def rows(number):
        shared = [Shared(rng.randrange(4), rng.randrange(2), rng.randrange(2)) for _ in range(number)]
        made = [Hypothesis((At("gas-low", "s", "s"),), 1.0, {}, {}, item) for item in shared]
        return Rows(made, [rng.random() for _ in made], Told({}, {}))

    cases = [Scenario("", 0.9, (rows(7), rows(6))), Scenario("slow-idle", 0.1, (rows(3), rows(4)))]
    pedal = rows(3)
    shared = SharedReadings(Reading(90e-6, 1e-6, ()), Look(True, ""), Look(False, ""))
    found = joined(cases, pedal, shared)
    whole, first, of_pedal, of_case = 0.0, [0.0] * 7, [0.0] * 3, [0.0, 0.0]
    for at, case in enumerate(cases):
        one, two = case.systems
        for i, j, k in itertools.product(range(len(one.weights)), range(len(two.weights)), range(3)):
            classes = [one.hypotheses[i].shared, two.hypotheses[j].shared, pedal.hypotheses[k].shared]
            weight = case.prior * one.weights[i] * two.weights[j] * pedal.weights[k] * shared.likelihood(classes)
            whole += weight
            of_case[at] += weight
            of_pedal[k] += weight
            if at == 0:
                first[i] += weight
    assert found.scenarios == pytest.approx([item / whole for item in of_case])
    assert found.pedal == pytest.approx([item / whole for item in of_pedal])
    assert found.systems[0][0] == pytest.approx([item / whole for item in first])


def test_the_pan_tells_worn_spools_from_a_check_valve():
    """Only where what leaks past the spools runs into it."""
    visit = visit_of("check valve leaks, B")
    pedal = visit.record.car.pedal
    was = {}
    for word in ("yes", "no", "not known"):
        car = visit.record.car.model_copy(update={"pedal": pedal.model_copy(update={"spools_leak_into_pan": word})})
        visit.record = with_car(visit.record, car)
        was[word] = probabilities(of(visit))["system-2", "check-valve-leaks", "system-2", "system-2"]
    assert was["yes"] > was["not known"] > was["no"]


SLOW_CHARGE = {"reading.charge-time.system-1.before": 92.0, "reading.charge-time.system-2.before": 175.0}


def idle_and_pumps(rpm):
    """The probabilities of a slow idle and of a weak pump of system 1, of a car that charges slowly in both systems."""
    found = probabilities(bent("before", SLOW_CHARGE | {"reading.idle-speed.car.before": rpm}).diagnosis)
    return found["readings", "slow-idle", "car", "car"], found["system-1", "pump-weak", "system-1", "system-1"]


def test_the_idle_speed_tells_a_slow_idle_from_weak_pumps():
    """680 rpm are stated: at 675 the idle isn't slow, at 520 it is; unread, it stays open."""
    unread, slow, stated = (idle_and_pumps(rpm) for rpm in (None, 520.0, 675.0))
    assert stated[0] < 0.05 < unread[0] < 0.99 < slow[0]
    assert slow[1] < unread[1] < stated[1]


def test_an_idle_speed_that_no_idle_explains_says_nothing():
    assert idle_and_pumps(1500.0) == pytest.approx(idle_and_pumps(None), rel=1e-9)


def test_idle_speeds_foretold_by_hand():
    """As stated ±4 %; slow ones at the middle of 0.65 to 0.86 and of 0.45 to 0.65, their width over √12 beside that."""
    as_stated, slow, slower = idles(10.0)
    assert as_stated == (10.0, pytest.approx(2 * 0.4**2))
    assert slow.mean == pytest.approx(7.55) and slower.mean == pytest.approx(5.5)
    assert slow.spread == pytest.approx(2 * 100 * ((0.21 / math.sqrt(12)) ** 2 + 0.04**2), rel=1e-4)
