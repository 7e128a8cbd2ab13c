"""Each row that hydraulics/ has an answer for gives what it gives for the same car, or says that it isn't known."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterator, Mapping

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from estimator.errors import DomainError
from estimator.hydraulics.states import states
from estimator.limits.row_table import CANNOT
from estimator.limits.rows.brake_rows import brakes, hoses
from estimator.limits.rows.state_rows import scope_of
from estimator.limits.working import Si
from estimator.places import PEDAL_CIRCUIT, WHEELS
from estimator.quantities import Quantity
from estimator.records import EntryValue, JobRecord
from tests import brake_answers, car_strategies, gas_answers, limit_cars, state_answers
from tests.brake_answers import Answers, Physics
from tests.gas_answers import Charged
from tests.limit_cars import changed, demo, with_car, worked_out
from tests.state_answers import InState

TABLES: Mapping[str, Answers] = {
    "body": brake_answers.BODY,
    "brake": brake_answers.BRAKE,
    "hose": {**brake_answers.HOSE, **gas_answers.BURST},
    "source": brake_answers.SOURCE,
    "system": gas_answers.SYSTEM,
    "accumulator": gas_answers.ACCUMULATOR,
    "applications": gas_answers.APPLICATIONS,
    "pipe": gas_answers.PIPE,
    "pedal": brake_answers.PEDAL,
    "braking": brake_answers.BRAKING,
    "valve": brake_answers.VALVE,
    "state": state_answers.STATE,
    "heat": state_answers.HEAT,
    "wheel": state_answers.WHEEL,
    "yardsticks": state_answers.YARDSTICKS,
}
# Scopes with rows that are a step on the way, or the car's own datum: no function has an answer for those.
SHARED = ("hose", "source", "wheel", "yardsticks", "system", "accumulator", "applications", "pipe")
FILES = ("job.toml", "job_mineral.toml")
READ = {
    f"reading.{ref}.{phase}": value
    for phase in ("before", "after")
    for ref, value in {
        "pedal-movement.car": 34.0,
        "pad-thickness.front-left": 6.1,
        "pad-thickness.rear-right": 40.0,
        "rotor-thickness.front-left": 21.6,
        "rotor-thickness.rear-left": 10.0,
        "precharge.accumulator-1": 980.0,
        "gas-temperature.accumulator-1": 23.0,
        "hold-start.system-1": 2150.0,
        "hold.system-1": 2040.0,
        "hold-start-temperature.system-1": 31.0,
        "hold-end-temperature.system-1": 27.5,
        "cut-out.system-1.1": 2160.0,
        "cut-out.system-1.3": 2240.0,
        "lamp-pressure.system-1": 1310.0,
    }.items()
}
# Without a gauge nothing is held against other readings, nor does a reading tighten anything.
GAUGES = {
    f"reading.{ref}.gauge_{phase}": gauge
    for phase in ("before", "after")
    for ref, gauge in {
        "precharge.accumulator-1": "precharge-1500",
        "gas-temperature.accumulator-1": "thermometer",
        "cut-out.system-1.1": "pressure-3000-a",
        "cut-out.system-1.3": "pressure-3000-b",
        "lamp-pressure.system-1": "pressure-3000-a",
    }.items()
}


@functools.cache
def patterns(kind: str) -> Mapping[str, re.Pattern[str]]:
    """The keys of a table, each as what it stands for."""

    def choices(match: re.Match[str]) -> str:
        return f"({brake_answers.PLACEHOLDERS[match[1]]})"

    return {key: re.compile(re.sub(r"\{(\w+)\}", choices, key)) for key in TABLES[kind]}


def subjects(it: Physics) -> Iterator[tuple[str, str, tuple[object, ...]]]:
    """Each scope of a car's rows, the table that answers them, and what its answers are asked about."""
    for kind in ("body", "pedal", "braking", "heat", "yardsticks"):
        yield kind, kind, (it,)
    yield "valve", "valve", (it, it.car.deceleration_valve)
    yield from ((brake.scope, "brake", (it, brake.item)) for brake in brakes(it.car))
    yield from ((hose.scope, "hose", (it, hose.item)) for hose in hoses(it.car))
    yield from ((system.id, "source", (it, system.id)) for system in it.car.systems)
    charged = [Charged(it, system) for system in it.car.systems]
    yield from ((one.system.id, "system", (one,)) for one in charged)
    yield from ((f"{one.system.id}-applications", "applications", (one,)) for one in charged)
    yield from ((gas.item.id, "accumulator", (gas,)) for one in charged for gas in one.each)
    yield from (
        (pipe.id if pipe.id.startswith("pipe") else f"pipe-{pipe.id}", "pipe", (it, pipe)) for pipe in it.car.pipes
    )
    yield from ((wheel, "wheel", (it, wheel)) for wheel in WHEELS)
    yield from ((scope_of(state), "state", (InState(it, state),)) for state in states(it.brakes))


def compared(record: JobRecord, entries: Mapping[str, EntryValue]) -> tuple[dict[str, tuple[Si, Si]], set[str]]:
    """The rows that differ from their second answer, with both; and which entries of the tables gave a number."""
    workings = worked_out(record, entries).workings
    wrong: dict[str, tuple[Si, Si]] = {}
    answered: set[str] = set()
    for scope, kind, about in subjects(Physics(record, workings.readings)):
        for row in workings.rows.values():
            if row.scope != scope:
                continue
            hits = [(key, match) for key, one in patterns(kind).items() if (match := one.fullmatch(row.name))]
            if not hits and (kind in SHARED or row.bare.startswith("{fact.")):
                continue
            if len(hits) != 1:
                wrong[row.ref] = (row.si, f"{len(hits)} entries answer it")
                continue
            ((key, match),) = hits
            try:
                answer: Si = TABLES[kind][key](*about, *match.groups())
                answered.add(f"{kind}.{key}")
            except (DomainError, ZeroDivisionError):
                answer = CANNOT
            same = row.si == answer if isinstance(answer, str) else row.si == pytest.approx(answer, rel=1e-9, abs=1e-18)
            if not same:
                wrong[row.ref] = (row.si, answer)
    return wrong, answered


@pytest.mark.parametrize("file", FILES)
def test_the_rows_of_the_demo_are_those_of_the_physics(file: str) -> None:
    for entries in ({}, READ, READ | GAUGES):
        assert compared(demo(file), entries)[0] == {}


def test_every_entry_of_the_tables_answers_a_row() -> None:
    answered = {key for file in FILES for key in compared(demo(file), READ | GAUGES)[1]}
    assert answered == {f"{kind}.{key}" for kind, table in TABLES.items() for key in table}


@pytest.mark.parametrize("psi", [500, 800, 1500])
def test_the_rows_of_other_settings_are_those_of_the_physics(psi: int) -> None:
    lower = {"cut_in": Quantity.of(psi + 50, "psi"), "lamp": Quantity.of(psi, "psi")}
    assert compared(changed(demo(), "systems", 0, **lower), READ)[0] == {}


def past(table: str, index: int | None = None, **values: Quantity | bool) -> JobRecord:
    return changed(demo(), table, index, **values)


def of(value: float, unit: str) -> Quantity:
    return Quantity.of(value, unit)


@pytest.mark.parametrize(
    ("record", "unknown"),
    [
        (past("fluid", bulk_modulus=of(1000, "bar")), "system-1.application"),
        (past("deceleration_valve", ramp_angle=of(1, "°"), tolerance=of(2, "°")), "valve.closing-low"),
        (past("deceleration_valve", ramp_angle=of(59, "°"), tolerance=of(2, "°")), "valve.closing-high"),
        (past("body", center_of_gravity_height=of(2, "m"), wheelbase=of(2, "m")), "braking-everything.load-rear"),
        (past("body", center_of_gravity_height=of(2, "m"), wheelbase=of(2, "m")), "braking-everything.front-locked"),
        (demo(), "pedal.excess-before"),
        (demo(), "front-left.pad-lost-before"),
        (demo(), "rear-right.pad-to-go-after"),
    ],
)
def test_past_a_bound_the_rows_and_the_physics_alike_know_no_figure(record: JobRecord, unknown: str) -> None:
    below = dict.fromkeys(("reading.pedal-movement.car.before", "reading.pad-thickness.front-left.before"), -1.0)
    entries = READ | below
    assert worked_out(record, entries).workings.si(unknown) == CANNOT
    assert compared(record, entries)[0] == {}


@pytest.mark.parametrize("ref", ["cut-out.system-1.1", "cut-out.system-1.3", "lamp-pressure.system-1"])
@pytest.mark.parametrize("psi", [-15.0, -1e9, 0.0])
def test_what_a_pressure_below_nothing_foretells_is_not_known(ref: str, psi: float) -> None:
    """-15 psi by the gauge is no pressure: the atmosphere is 14.7."""
    entries = READ | GAUGES | {f"reading.{ref}.{phase}": psi for phase in ("before", "after")}
    assert compared(demo(), entries)[0] == {}
    if ref.startswith("lamp"):
        foretold = worked_out(demo(), entries).workings.si("accumulator-1.said-most-before")
        assert (foretold == CANNOT) is (psi < 0)


@pytest.mark.parametrize("index", [n for n, brake in enumerate(demo().car.brakes) if brake.source != PEDAL_CIRCUIT])
def test_the_rows_of_a_car_with_one_brake_moved_past_the_valve_are_those_of_the_physics(index: int) -> None:
    """A brake behind the valve is put before it, one before it behind: its axle then has both."""
    brake = demo().car.brakes[index]
    assert compared(past("brakes", index, behind_valve=not brake.behind_valve), READ)[0] == {}


QUIET = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])


@settings(QUIET, max_examples=40)
@given(st.data())
def test_the_rows_of_odd_cars_are_those_of_the_physics(data: st.DataObject) -> None:
    record = with_car(demo(), data.draw(limit_cars.cars()))
    read = data.draw(st.dictionaries(st.sampled_from(sorted(READ)), limit_cars.NUMBERS))
    assert compared(record, read | GAUGES)[0] == {}


@settings(QUIET, max_examples=25)
@given(st.data())
def test_the_rows_of_usual_cars_are_those_of_the_physics(data: st.DataObject) -> None:
    record = with_car(demo(), data.draw(car_strategies.cars()))
    read = data.draw(st.dictionaries(st.sampled_from(sorted(READ)), limit_cars.NUMBERS))
    assert compared(record, read | GAUGES)[0] == {}
