"""The limits of the demo's cars: held to the physics that they rest on, and moving the way that physics says."""

from __future__ import annotations

import itertools
import math
import shutil
from pathlib import Path

import pytest
from boxes_by_key import appraise_boxes, first_boxes

import estimator.demo
from estimator.errors import DomainError, InputError
from estimator.hydraulics import applications, gas, leakage
from estimator.hydraulics.accumulator import fast_usable_volume
from estimator.letters.charts import yardsticks
from estimator.limits.catalog.car_limits import limits_of_car
from estimator.limits.catalog.limit_set import LimitSet
from estimator.limits.constants import HEATING_DOUBT, HOLD_TIME_S, LINEAR_COMPRESSION
from estimator.limits.row_table import CANNOT
from estimator.limits.rows.fluid_limits import class_of
from estimator.quantities import PSI, Quantity
from estimator.records import CarLimit, JobRecord
from tests.limit_cars import changed, demo, si, with_car, worked_out
from tests.second_answers import circuits, lamp, nitrogen, strokes_left

STROKES = 5
FILES = ("job.toml", "job_mineral.toml")
SYSTEMS = ("system-1", "system-2")
NO_LIMITS = tuple(with_car(demo(file), demo(file).car.model_copy(update={"limits": ()})) for file in FILES)


def system_figures(limits: LimitSet, system: str) -> tuple[float, ...]:
    """Volume, precharge cold, pressure of secondary braking, cut-out, application and temperature of a system."""
    names = ("volume", "cold", "secondary-abs", "cut-out-abs", "application", "fast-temperature")
    return tuple(si(limits, f"{system}.{name}") for name in names)


# --- rows against functions that compute the same in one step ----------------------------------------------------------


@pytest.mark.parametrize("file", FILES)
@pytest.mark.parametrize("system", SYSTEMS)
def test_lamp_and_counts_are_those_of_the_physics(file: str, system: str) -> None:
    limits = worked_out(demo(file))
    volume, cold, secondary, top, v, t = system_figures(limits, system)
    hot = si(limits, f"{system}.hot")
    needed = lamp.lamp_pressure(volume, cold, hot, secondary, top, v, STROKES, t) - gas.ATMOSPHERE_PA
    assert si(limits, f"{system}.lamp-needed") == pytest.approx(needed, rel=1e-12)
    to_lamp = nitrogen.number_of_applications(volume, cold, si(limits, f"{system}.lamp-abs"), top, v, t)
    assert si(limits, f"{system}.count-lamp") == to_lamp.low
    assert si(limits, f"{system}.count-slow") == to_lamp.high
    after = applications.pressures_after_applications(volume, cold, top, v, 12, t)
    found = [si(limits, f"{system}-applications.after-{k}") + gas.ATMOSPHERE_PA for k in range(13)]
    assert f"{system}-applications.after-13" not in limits.workings.rows
    assert found == pytest.approx(after, rel=1e-12)


@pytest.mark.parametrize("file", FILES)
@pytest.mark.parametrize("accumulator", ("accumulator-1", "accumulator-2"))
def test_the_lowest_precharge_leaves_just_the_strokes_to_come(file: str, accumulator: str) -> None:
    record = demo(file)
    limits = worked_out(record)
    item = next(one for one in record.car.accumulators if one.id == accumulator)
    volume, _, secondary, top, v, t = system_figures(limits, item.system)
    lowest = si(limits, f"{accumulator}.lowest-reference")
    cold = gas.precharge_at_temperature(lowest, item.precharge_temperature.si, item.coldest.si)
    lamp_setting = si(limits, f"{item.system}.lamp-abs")
    assert at_least(volume, cold, secondary, lamp_setting, top, t) == pytest.approx(STROKES * v, rel=1e-9)
    assert at_least(volume, 0.95 * cold, secondary, lamp_setting, top, t) < STROKES * v
    # Never below half of the maker's, absolute.
    floor = nitrogen.absolute_pressure(item.precharge.si) / 2
    assert si(limits, f"{accumulator}.precharge-lowest") + gas.ATMOSPHERE_PA == pytest.approx(max(lowest, floor))


def at_least(volume: float, precharge: float, secondary: float, lamp_at: float, top: float, t: float) -> float:
    """The lesser of the fluid from cut-out to the lamp, braked down quickly, and of that left when it lights."""
    left = strokes_left.reserve_left(volume, precharge, secondary, lamp_at, top, t)
    return min(left, fast_usable_volume(volume, precharge, lamp_at, top, t))


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("file", FILES)
def test_a_precharge_is_called_too_low_just_where_it_leaves_too_few_strokes(file: str, system: str) -> None:
    """Over lamp settings from where hardly any stroke is left to where many are, on a fine grid of precharges; where no
    limit is given, none of them is enough: below some 850 psi the fluid would run out first."""
    decided = set()
    for lamp_psi in (700, 750, 800, 850, 900, 1000, 1260, 1650, 1900):
        limits = worked_out(changed(demo(file), "systems", SYSTEMS.index(system), lamp=Quantity.of(lamp_psi, "psi")))
        volume, _, secondary, top, v, t = system_figures(limits, system)
        lamp_setting, lowest = si(limits, f"{system}.lamp-abs"), limits.workings.si(f"{system}.lowest")
        if not secondary <= lamp_setting:
            assert lowest == CANNOT
            continue
        steps = [gas.LOST_PRECHARGE_PA + (lamp_setting - gas.LOST_PRECHARGE_PA) * n / 250 for n in range(1, 251)]
        enough = [p for p in steps if at_least(volume, p, secondary, lamp_setting, top, t) >= STROKES * v]
        if lowest == CANNOT:
            assert enough == [], lamp_psi
        else:
            assert enough == [] or lowest <= enough[0] < lowest + 1.001 * (steps[1] - steps[0]), lamp_psi
        decided.add((lowest == CANNOT, bool(enough)))
    assert {(False, True)} <= decided <= {(False, True), (True, False)}


@pytest.mark.parametrize("file", FILES)
def test_the_highest_precharge_leaves_just_the_strokes_to_come_when_hot(file: str) -> None:
    record = demo(file)
    limits = worked_out(record)
    for item in record.car.accumulators:
        volume, _, _, _, v, _ = system_figures(limits, item.system)
        highest = si(limits, f"{item.id}.precharge-highest") + gas.ATMOSPHERE_PA
        hot = nitrogen.hot_precharge(highest, item.precharge_temperature.si, item.hottest.si)
        lights = lamp.lamp_pressure_for_hot_precharge(volume, hot, v, STROKES)
        assert lights == pytest.approx(si(limits, f"{item.system}.lamp-abs"), rel=1e-9)


@pytest.mark.parametrize("record", NO_LIMITS)
@pytest.mark.parametrize("system", SYSTEMS)
def test_the_loss_of_a_hold_takes_30_min(record: JobRecord, system: str) -> None:
    limits = worked_out(record)
    upper = si(limits, f"{system}.cut-out-abs")
    lower = upper - si(limits, f"{system}.hold-loss")
    charge = si(limits, f"{system}.hold-precharge")
    time = leakage.hold_time(si(limits, f"{system}.volume"), charge, lower, upper, si(limits, f"{system}.leakage"))
    assert time == pytest.approx(HOLD_TIME_S, rel=1e-9)
    assert limits.by_ref[f"hold.{system}"].service_high == limits.workings.rows[f"{system}.hold-loss"].label


def test_the_stuck_valve_makes_the_rear_lock_first() -> None:
    limits = worked_out(demo())
    assert limits.workings.si("braking-everything.first") == "front axle"
    assert limits.workings.si("braking-valve-stuck-open.first") == "rear axle"
    assert si(limits, "braking-pedal-circuit-alone.spare") < 0


@pytest.mark.parametrize("file", FILES)
def test_which_axle_locks_first_is_said_by_the_valve_or_by_a_deceleration(file: str) -> None:
    """With a working valve: what it keeps from the rear at cut-in. Without: where the load that the front bears is its
    part of the force, the rear above it: m g (front share + k a/g) is the load, k = height over wheelbase."""
    limits = worked_out(demo(file))
    body, rows = demo(file).car.body, limits.workings.rows
    states_seen = {row.scope for row in rows.values() if row.scope.startswith("braking-") and row.name == "free-rear"}
    for scope in states_seen - {"braking-pedal-circuit-alone"}:
        working = f"{scope}.behind-rear" in rows
        assert (f"{scope}.kept-work" in rows) == working != (f"{scope}.rear-above" in rows)
        assert f"{scope}.kept" not in rows
        if working:
            pressure, passed = demo(file).car.systems[0].cut_in.si, si(limits, f"{scope}.passed-work")
            assert si(limits, f"{scope}.kept-work") == pytest.approx(1 - passed / pressure, rel=1e-9)
        else:
            front, rear = (si(limits, f"{scope}.free-{side}") for side in ("front", "rear"))
            shifted = body.center_of_gravity_height.si / body.wheelbase.si * si(limits, f"{scope}.rear-above") / 9.80665
            assert body.front_share.si + shifted == pytest.approx(front / (front + rear), rel=1e-9)


def test_constants_are_the_bounds_at_which_the_physics_refuses() -> None:
    modulus = 1.5e9
    circuits.application_volume(1e-6, 0.0, 1e-4, LINEAR_COMPRESSION * modulus, modulus)
    with pytest.raises(DomainError):
        circuits.application_volume(1e-6, 0.0, 1e-4, 1.001 * LINEAR_COMPRESSION * modulus, modulus)


# --- the way limits move ----------------------------------------------------------------------------------------------


def with_precharge(record: JobRecord, gauge_psi: float) -> JobRecord:
    return changed(record, "accumulators", 0, precharge=Quantity.of(gauge_psi, "psi"))


def test_a_lower_precharge_gives_fewer_applications_and_needs_a_lower_lamp_when_hot() -> None:
    found = [worked_out(with_precharge(demo(), psi)) for psi in (1000, 800, 600, 400, 200, 15, 5)]
    counts = [si(one, "system-1.count-lamp") for one in found]
    assert counts == sorted(counts, reverse=True) and counts[0] > 20
    assert counts[-1] == 0 and si(found[-1], "system-1.applications") == STROKES
    hot = [si(one, "system-1.lamp-hot") for one in found]
    assert hot == sorted(hot, reverse=True)


def test_lost_gas_leaves_nothing_after_one_application() -> None:
    lost = worked_out(with_precharge(demo(), 5))
    assert si(lost, "system-1-applications.after-0") == pytest.approx(2050 * PSI)
    assert si(lost, "system-1-applications.after-1") == 0.0


def test_a_wider_bore_asks_for_an_earlier_lamp_and_gives_fewer_applications() -> None:
    def with_bore(bore: float) -> LimitSet:
        record = demo()
        wide = tuple(
            brake.model_copy(update={"bore": Quantity.of(bore, "mm")}) if brake.source == "system-1" else brake
            for brake in record.car.brakes
        )
        return worked_out(with_car(record, record.car.model_copy(update={"brakes": wide})))

    found = [with_bore(bore) for bore in (34, 40, 46, 52)]
    for name, rises in (("application", True), ("count-lamp", False), ("lamp-hot", True), ("secondary", False)):
        values = [si(one, f"system-1.{name}") for one in found]
        assert values == sorted(values, reverse=not rises) and len(set(values)) == 4, name
    highest = [si(one, "accumulator-1.precharge-highest") for one in found]
    assert highest == sorted(highest, reverse=True)


def test_a_higher_lamp_setting_widens_the_precharge_that_is_allowed() -> None:
    found = [
        worked_out(changed(demo(), "systems", 0, lamp=Quantity.of(lamp_psi, "psi"))) for lamp_psi in (1200, 1350, 1500)
    ]
    lowest = [si(one, "accumulator-1.precharge-lowest") for one in found]
    highest = [si(one, "accumulator-1.precharge-highest") for one in found]
    assert lowest == sorted(lowest, reverse=True) and highest == sorted(highest)


def test_leakage_lengthens_the_charge_and_the_loss() -> None:
    record = NO_LIMITS[0]
    found = [worked_out(changed(record, "systems", 0, leakage=Quantity.of(q, "mL/s"))) for q in (0.002, 0.005, 0.02)]
    for name in ("charge-time", "hold-loss"):
        values = [si(one, f"system-1.{name}") for one in found]
        assert values == sorted(values) and len(set(values)) == 3


def test_two_accumulators_give_twice_what_one_gives() -> None:
    record = demo()
    one = worked_out(record)
    twin = record.car.accumulators[0].model_copy(update={"id": "accumulator-3"})
    both = worked_out(
        with_car(record, record.car.model_copy(update={"accumulators": (*record.car.accumulators, twin)}))
    )
    assert si(both, "system-1.fast-lamp") == pytest.approx(2 * si(one, "system-1.fast-lamp"))
    assert si(both, "system-1.charge-time") == pytest.approx(2 * si(one, "system-1.charge-time"))
    assert si(both, "accumulator-1.lowest-reference") < si(one, "accumulator-1.lowest-reference")


def test_secondary_braking_falls_back_on_both_systems_where_one_alone_cant() -> None:
    record = demo()
    car = record.car
    rear = tuple(
        brake.model_copy(update={"source": "system-1" if brake.wheel.startswith("rear") else "system-2"})
        if brake.source != "pedal-circuit"
        else brake.model_copy(update={"bore": Quantity.of(5, "mm")})
        for brake in car.brakes
    )
    rear = tuple(
        brake.model_copy(update={"bore": Quantity.of(14, "mm")}) if brake.source == "system-1" else brake
        for brake in rear
    )
    limits = worked_out(with_car(record, car.model_copy(update={"brakes": rear, "hoses": ()})))
    alone = si(limits, "braking-system-2-lost.needed")
    assert alone > si(limits, "system-1.cut-out")
    assert si(limits, "system-1.secondary") == si(limits, "braking-everything.needed-secondary")
    assert si(limits, "system-2.secondary") == si(limits, "braking-system-1-lost.needed")


# --- whose limit it is, and why there is none -------------------------------------------------------------------------


def test_the_stricter_of_the_makers_and_the_computed_limit_decides() -> None:
    """The maker lets the lamp light at 1,200 psi; the strokes to come need more: both are shown, and it is told."""
    limits = worked_out(demo())
    lamp_limit = limits.by_ref["lamp-pressure.system-1"]
    needed, maker = si(limits, "system-1.lamp-needed"), si(limits, "car.lamp-pressure-danger-low")
    assert maker < needed < si(limits, "car.lamp-pressure-service-low")
    by_label = {row.label: row for row in limits.workings.rows.values()}
    assert by_label[lamp_limit.danger_low].si == needed
    assert by_label[lamp_limit.service_low].si == si(limits, "car.lamp-pressure-service-low")
    assert lamp_limit.status == "computed; maker" and not lamp_limit.danger_high
    (conflict,) = lamp_limit.conflicts
    assert (conflict.side, conflict.stricter) == ("danger_low", "p lamp needed, system 1")
    # What is only foretold of a sound car gives way to the maker's figure.
    assert limits.by_ref["hold.system-1"].service_high == "service limit, high: hold, pressure after 30 min, car"
    bare = worked_out(NO_LIMITS[0]).by_ref["lamp-pressure.system-1"]
    assert bare.service_low == bare.danger_low == "p lamp needed, system 1"
    assert bare.status == "computed" and "UN Regulation No. 13" in bare.source


@pytest.mark.parametrize("record", NO_LIMITS)
def test_every_number_has_limits_with_source_and_status_or_a_reason(record: JobRecord) -> None:
    for item in worked_out(record).limits:
        kind = item.ref.split(".")[0]
        sides = (item.service_low, item.service_high)
        if any(sides):
            assert item.source and item.status, item.ref
        else:
            assert item.reason or kind.startswith(("hold-", "gas-", "idle-", "first-")), item.ref


@pytest.mark.parametrize("record", NO_LIMITS)
def test_every_computed_row_says_where_it_comes_from(record: JobRecord) -> None:
    limits = worked_out(record)
    used = {
        label for item in limits.limits for label in (item.service_low, item.service_high, item.danger_low) if label
    }
    for row in limits.workings.rows.values():
        assert row.title and row.status and row.unit, row.ref
        if row.label in used:
            assert row.source, row.ref


def test_a_limit_that_cant_be_computed_says_why() -> None:
    weak = changed(NO_LIMITS[0], "systems", 0, lamp=Quantity.of(300, "psi"))
    limits = worked_out(weak)
    assert limits.workings.si("system-1.lowest") == CANNOT
    for name in ("low", "lowest", "high", "highest"):
        assert limits.workings.si(f"accumulator-1.precharge-{name}") == CANNOT
    assert (
        "the lamp comes on below the pressure of secondary braking" in limits.by_ref["precharge.accumulator-1"].reason
    )
    assert limits.by_ref["precharge.accumulator-2"].reason == ""
    slow = changed(NO_LIMITS[0], "systems", 0, leakage=Quantity.of(50, "mL/s"))
    assert "no more than the car file says leaks" in worked_out(slow).by_ref["charge-time.system-1"].reason
    tight = changed(NO_LIMITS[0], "systems", 0, leakage=Quantity.of(0, "mL/s"))
    assert worked_out(tight).by_ref["hold.system-1"].reason == "needs [[systems]] leakage (system 1)"
    empty = changed(NO_LIMITS[0], "accumulators", 0, precharge=Quantity.of(5, "psi"))
    assert "would be empty of fluid within the check" in worked_out(empty).by_ref["hold.system-1"].reason
    huge = changed(NO_LIMITS[0], "brakes", 0, bore=Quantity.of(200, "mm"), travel=Quantity.of(10, "mm"))
    assert (
        "no lamp pressure leaves the applications to come" in worked_out(huge).by_ref["lamp-pressure.system-1"].reason
    )
    unworn = with_car(NO_LIMITS[0], NO_LIMITS[0].car.model_copy(update={"wear": ()}))
    assert worked_out(unworn).by_ref["rotor-thickness.front-left"].reason == "needs [[wear]] rotor_discard (front axle)"
    assert worked_out(NO_LIMITS[1]).by_ref["pedal-movement.car"].reason == 'needs [[limits]] check = "pedal-movement"'


def test_fluid_is_judged_by_its_class() -> None:
    grades = ("DOT 4", "dot5.1", "Dot-3", "DOT 5", "DOT 4 plus", "DOT 54", "DOT 3 or DOT 4")
    assert [class_of(text) for text in grades] == ["dot-4", "dot-5.1", "dot-3", "dot-5", "dot-4", "", ""]
    limits = worked_out(demo())
    wet, service = si(limits, "fluid.wet") - 273.15, si(limits, "fluid.service") - 273.15
    assert (wet, service) == (pytest.approx(155), pytest.approx(192.5))
    unknown = changed(demo(), "fluid", None, grade="house brand")
    assert 'grade "house brand"' in worked_out(unknown).by_ref["fluid-boiling-point.car"].reason


def test_a_hose_of_exactly_an_eighth_of_an_inch_is_a_small_one() -> None:
    """49 CFR 571.106 S5.3.2: 7,000 psi to a bore of 1/8 in (3.175 mm), 5,000 psi above it."""
    for bore, asked in (("3.175 mm", 7000), ("0.125 in", 7000), ("3.18 mm", 5000)):
        number, unit = bore.split()
        limits = worked_out(changed(demo(), "hoses", 0, bore=Quantity.of(float(number), unit)))
        assert si(limits, "hose-front-left-system-1.burst-asked") == pytest.approx(asked * PSI)


def test_the_longest_charge_and_the_greatest_leakage_to_drive_with() -> None:
    """By hand. A full application every 10 s: V taken over v is how many of them one charge makes up for. Half of the
    car's fluid in 2 h: an eighth of it in 30 min. Both ours, no source."""
    limits = worked_out(demo())
    per_charge = si(limits, "system-1.taken") / si(limits, "system-1.application")
    assert si(limits, "system-1.charge-longest") == pytest.approx(10 * per_charge)
    assert limits.by_ref["charge-time.system-1"].danger_high == "t charge longest, system 1"
    capacity = demo().car.fluid.capacity.si
    assert si(limits, "fluid.leakage-longest") == pytest.approx(capacity / 8)


def test_what_is_believed_of_a_reading() -> None:
    """By hand: 20 mph are 8.94 m/s, and 8.94²/(2 · 1.2 · 9.80665) m are 11.1 ft; a settled pressure a fifth from cut-out;
    230 °C and 30 K for DOT 4; half a millimeter over a new pad or rotor. All tolerances ours, no source."""
    limits = worked_out(demo())
    car = demo().car
    assert si(limits, "yardsticks.shortest-stop") / 0.3048 == pytest.approx(11.14, abs=0.01)
    assert si(limits, "system-1.hold-start-lowest") == pytest.approx(0.8 * car.systems[0].cut_out.si)
    assert si(limits, "fluid.dry-believed") - 273.15 == pytest.approx(260)
    assert si(limits, "front-left.pad-believed") == pytest.approx(car.wear[0].pad_new.si + 0.5e-3)
    assert si(limits, "rear-left.rotor-believed") == pytest.approx(car.wear[1].rotor_new.si + 0.5e-3)
    assert si(limits, "system-1.hold-rise") == pytest.approx(-0.03 * car.systems[0].cut_out.si)


def test_road_and_bench_limits_are_the_printed_ones() -> None:
    limits = worked_out(demo())
    assert si(limits, "yardsticks.road-stop-distance") == pytest.approx(25 * 0.3048)
    assert si(limits, "yardsticks.road-stop-deceleration") / 9.80665 == pytest.approx(0.53, abs=0.006)
    assert limits.by_ref["road-stop.car"].danger_high == limits.by_ref["road-stop.car"].service_high != ""
    assert si(limits, "yardsticks.brake-force-imbalance") == pytest.approx(0.2)
    assert math.degrees(si(limits, "valve.tilt-low")) == pytest.approx(15)
    assert math.degrees(si(limits, "valve.tilt-high")) == pytest.approx(17)
    assert si(limits, "valve.closing") / 9.80665 == pytest.approx(0.2867, abs=5e-4)


def test_pads_without_a_makers_datum_have_the_stricter_of_two_rules() -> None:
    limits = worked_out(NO_LIMITS[0])
    assert si(limits, "pads.danger") == pytest.approx(1.5e-3)
    assert si(limits, "pads.service") == pytest.approx(3e-3)
    assert limits.by_ref["pad-thickness.rear-left"].danger_low == "pad least, pads"


def test_wear_is_projected_to_the_thickness_of_renewal() -> None:
    """By hand: 9.5 mm new, 6.1 mm left after 19,400 miles, renewed at 3 mm; 21 mm, 20.6 mm, 57,100 miles, 19.5 mm."""
    read = {
        "reading.pad-thickness.rear-left.before": 6.1,
        "reading.rotor-thickness.front-left.after": 20.6,
        "reading.pad-thickness.rear-right.before": 9.5,
        "reading.pad-thickness.front-left.before": 2.0,
        "reading.pad-thickness.front-right.before": 12.0,
    }
    limits = worked_out(demo(), read)
    assert si(limits, "rear-left.pad-to-go-before") / 1609.344 == pytest.approx(3.1 * 19400 / 3.4)
    assert si(limits, "front-left.rotor-to-go-after") / 1609.344 == pytest.approx(1.1 * 57100 / 0.4)
    assert si(limits, "front-left.pad-to-go-before") == 0.0
    for unknown in ("rear-right.pad-to-go-before", "front-right.pad-to-go-before", "rear-left.pad-to-go-after"):
        assert limits.workings.si(unknown) == "not known"  # nothing worn yet; thicker than new; not read
    assert "rear-left.rotor-to-go-before" not in limits.workings.rows


def test_the_makers_thickness_is_the_one_that_wear_is_projected_to() -> None:
    record = demo()
    given = CarLimit(
        check="pad-thickness", at=("rear-left",), service_low=Quantity.of(4.0, "mm"), source="a manual of the test"
    )
    others = tuple(item for item in record.car.limits if item.check != "pad-thickness")
    read = {"reading.pad-thickness.rear-left.before": 6.1, "reading.pad-thickness.rear-right.before": 6.1}
    limits = worked_out(with_car(record, record.car.model_copy(update={"limits": (*others, given)})), read)
    assert si(limits, "rear-left.pad-to-go-before") / 1609.344 == pytest.approx(2.1 * 19400 / 3.4)
    assert si(limits, "rear-right.pad-to-go-before") / 1609.344 == pytest.approx(3.1 * 19400 / 3.4)


def test_the_heat_of_a_stop_warms_the_rotors_by_their_share() -> None:
    """By hand: the car's m v²/2 from 100 km/h; its part of the braking force into two rotors of 450 J/(kg·K)."""
    record = demo()
    limits = worked_out(record)
    energy = record.car.body.mass.si * (100 / 3.6) ** 2 / 2
    assert si(limits, "heat.energy") == pytest.approx(energy)
    assert si(limits, "heat.share-front") + si(limits, "heat.share-rear") == pytest.approx(1)
    assert si(limits, "heat.share-front") > si(limits, "heat.share-rear")
    for side, rotor in (("front", 6.9), ("rear", 3.8)):
        share = si(limits, f"heat.share-{side}")
        assert si(limits, f"heat.rise-{side}") == pytest.approx(share * energy / (2 * rotor * 450))
    bare = worked_out(changed(record, "wear", 0, rotor_mass=None))
    assert "heat.rise-front" not in bare.workings.rows and "heat.rise-rear" in bare.workings.rows


def test_the_pipe_of_the_demo_holds_burst_over_four() -> None:
    limits = worked_out(demo())
    burst_new = 2 * 290e6 * 0.028 / 0.1875
    assert si(limits, "pipe-system-1.burst") == pytest.approx(burst_new * 2 / 3)
    assert si(limits, "pipe-system-1.factor") == pytest.approx(burst_new * 2 / 3 / (2050 * PSI))
    assert si(limits, "pipe-system-1.thick") < si(limits, "pipe-system-1.thin") < si(limits, "pipe-system-1.thin-worn")
    assert si(limits, "hose-front-left-system-1.burst-spare") == pytest.approx(2000 * PSI, abs=1)


def test_the_limits_of_a_car_alone_are_those_of_its_job(tmp_path) -> None:
    """As a job works them out with no reading; shown as the shop beside the car, or the one named, shows them."""
    files = Path(estimator.demo.__file__).parent / "files"
    shutil.copy(files / "car.toml", tmp_path)
    shop = (files / "shop.toml").read_text(encoding="utf-8")
    assert 'pressure = "psi"' in shop
    in_bar = shop.replace('pressure = "psi"', 'pressure = "bar"')
    (tmp_path / "elsewhere.toml").write_text(in_bar, encoding="utf-8")
    of_job = worked_out(demo()).workings

    def shown(shop_toml=None) -> dict[str, str]:
        record, found = limits_of_car(tmp_path / "car.toml", shop_toml)
        assert {ref: row.si for ref, row in found.workings.rows.items()} == {
            ref: row.si for ref, row in of_job.rows.items()
        }
        return {record.shop.show.pressure, found.workings.rows["system-1.cut-out"].unit}

    assert shown() == {"psi"}
    assert shown(tmp_path / "elsewhere.toml") == {"bar"}
    (tmp_path / "shop.toml").write_text(in_bar, encoding="utf-8")
    assert shown() == {"bar"}
    assert shown(files / "shop.toml") == {"psi"}
    text = (tmp_path / "car.toml").read_text(encoding="utf-8")
    (tmp_path / "car.toml").write_text(text.replace('source = "system-1"', 'source = "system-3"', 1), encoding="utf-8")
    with pytest.raises(InputError, match="system-3"):
        shown()


# --- verdicts that rest on computed limits ----------------------------------------------------------------------------


def verdicts(record: JobRecord, readings: dict[str, tuple[float, str]]) -> dict[str, tuple[str, str]]:
    entries = {f"reading.{ref}.before": float(value) for ref, (value, _) in readings.items()}
    entries |= {f"reading.{ref}.gauge_before": gauge for ref, (_, gauge) in readings.items()}
    found = appraise_boxes(record, entries)
    return {item.ref: (item.phases["before"].verdict, item.phases["before"].drive) for item in found.judged}


def test_a_precharge_is_judged_at_its_reference_temperature() -> None:
    def judged(pressure: float, temperature: float | None = 20.0) -> tuple[str, str]:
        readings = {"precharge.accumulator-1": (pressure, "precharge-1500")}
        if temperature is not None:
            readings["gas-temperature.accumulator-1"] = (temperature, "thermometer")
        return verdicts(demo(), readings)["precharge.accumulator-1"]

    assert judged(1000) == ("within limits", "within limits")
    assert judged(745) == ("too close to limit", "within limits")
    assert judged(745, 0.0) == ("within limits", "within limits")
    assert judged(60) == ("out of limits", "out of limits")
    assert judged(0) == ("out of limits", "out of limits")
    assert judged(1250) == ("out of limits", "out of limits")
    assert judged(1000, None) == ("not measured", "not measured")


def test_applications_below_the_yardstick_keep_the_car_off_the_road() -> None:
    found = {n: verdicts(demo(), {"applications.system-2": (n, "")})["applications.system-2"] for n in (2, 5, 7, 8, 15)}
    assert found == {
        2: ("out of limits", "out of limits"),
        5: ("out of limits", "out of limits"),
        7: ("out of limits", "too close to limit"),
        8: ("out of limits", "within limits"),
        15: ("within limits", "within limits"),
    }


# --- real nitrogen ----------------------------------------------------------------------------------------------------


def test_what_is_said_of_gas_below_freezing_and_of_heat_is_measured() -> None:
    from CoolProp.CoolProp import PropsSI

    def property_(out: str, **given: float) -> float:
        (first, a), (second, b) = given.items()
        return PropsSI(out, first, a, second, b, "Nitrogen")

    promised = []
    for celsius, p0, low, high in itertools.product((-20.0, -40.0), (300, 800, 1400), (700, 1300, 1900), (2000, 2400)):
        precharge, lower, upper = (value * PSI + gas.ATMOSPHERE_PA for value in (p0, low, high))
        t = celsius + 273.15
        amount = property_("D", P=precharge, T=293.15)
        if property_("P", D=amount, T=t) > 0.98 * lower:
            continue
        held = amount / property_("D", P=upper, T=t)
        expanded = amount / property_("D", P=lower, S=property_("S", P=upper, T=t))
        figured = fast_usable_volume(1.0, precharge * t / 293.15, lower, upper, t)
        promised.append(figured / (min(1.0, expanded) - held) - 1.0)
    assert len(promised) > 20 and min(promised) > -0.1 and max(promised) <= 0.007
    for p, t, change in itertools.product((1100, 1700, 2400), (273.15, 303.15, 343.15), (-30.0, -10.0, 10.0, 30.0)):
        if not gas.COLDEST_K <= t + change <= gas.HOTTEST_K:
            continue
        pressure = p * PSI
        real = property_("P", D=property_("D", P=pressure, T=t), T=t + change) - pressure
        said = gas.pressure_by_temperature_alone(pressure, t, t + change) - pressure
        assert abs(said - real) <= HEATING_DOUBT * abs(said)


@pytest.mark.parametrize(("year", "words"), [(1966, "not one of 1966"), (2004, "; binds cars from model year 2001)")])
def test_the_letter_says_how_far_what_is_required_binds_the_car(year: int, words: str) -> None:
    record = changed(demo(), "car", None, year=year)
    note = " ".join(yardsticks(appraise_boxes(record, first_boxes(record))))
    assert words in note and ("reference value; binds" in note) == (year == 1966)
