"""Cars for the tests of limits: the demo's two, and variations that hypothesis makes within what records allow."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from pathlib import Path

from hypothesis import assume
from hypothesis import strategies as st

import estimator.demo
from estimator.boxes.entries import Entries
from estimator.intake.car_rules import car_rules
from estimator.intake.labor_tables import packaged_tables
from estimator.intake.load_job import load_job, published_numbers
from estimator.limits.catalog.limit_set import LimitSet, work_out
from estimator.limits.judging.check_rows import check_rows
from estimator.limits.judging.typed_readings import gauge_rows, readings_in_si
from estimator.quantities import Quantity
from estimator.records import Car, EntryValue, JobRecord

DEMO = Path(estimator.demo.__file__).parent / "files"
SOURCES = ("system-1", "system-2")


@functools.cache
def demo(file: str = "job.toml") -> JobRecord:
    """The record of the demo's first car (variant A, glycol), or of `job_mineral.toml` (variant B, mineral)."""
    return load_job(DEMO / file, packaged_tables())


def with_car(record: JobRecord, car: Car) -> JobRecord:
    """The record with another car; a copied car would keep the places that it was asked for before it was changed."""
    fresh = Car.model_construct(**dict(car))
    return record.model_copy(update={"car": fresh, "facts": published_numbers(fresh)})


def changed(record: JobRecord, table: str, index: int | None, **values: object) -> JobRecord:
    """A record whose car has other values in one table, or in one row of it."""
    held = getattr(record.car, table)
    if index is None:
        new = held.model_copy(update=values)
    else:
        new = tuple(item.model_copy(update=values) if at == index else item for at, item in enumerate(held))
    return with_car(record, record.car.model_copy(update={table: new}))


def worked_out(record: JobRecord, entries: Mapping[str, EntryValue] | None = None) -> LimitSet:
    """The limits of a record, as an appraisal works them out."""
    typed = Entries.from_boxes(entries or {})
    rows = check_rows(record.car, record.shop.show)
    return work_out(
        record, rows, readings_in_si(rows, record, gauge_rows(record, typed.visits), typed.readings, typed.stated)
    )


def si(limits: LimitSet, ref: str) -> float:
    """The number in a working row; a failure where it has none."""
    value = limits.workings.si(ref)
    assert isinstance(value, float | int), f"{ref} is {value}"
    return float(value)


# --- variations -------------------------------------------------------------------------------------------------------


def quantity(unit: str, low: float, high: float) -> st.SearchStrategy[Quantity]:
    return st.floats(low, high, allow_nan=False).map(lambda value: Quantity.of(round(value, 6), unit))


def _usual_or_any(unit: str, usual: tuple[float, float], any_: tuple[float, float]) -> st.SearchStrategy[Quantity]:
    return st.one_of(quantity(unit, *usual), quantity(unit, *usual), quantity(unit, *any_))


@st.composite
def cars(draw: st.DrawFn) -> Car:
    """A car that car.toml could describe: other splits, one system, absurd bores, lost precharge, no valve."""
    base = draw(st.sampled_from(["job.toml", "job_mineral.toml"]))
    car = demo(base).car
    names = SOURCES[: draw(st.integers(1, 2))]
    update: dict[str, object] = {
        "systems": tuple(draw(_systems(name, car)) for name in names),
        "brakes": tuple(draw(_brakes(brake, names)) for brake in car.brakes),
        "body": draw(_bodies(car)),
        "limits": draw(st.sampled_from([(), car.limits])),
        "pipes": tuple(pipe for pipe in car.pipes if pipe.source in (*names, "pedal-circuit") and draw(st.booleans())),
        "wear": draw(st.sampled_from([(), car.wear[:1], car.wear])),
    }
    systems = {system.id: system for system in update["systems"]}
    held = [car.accumulators[0]] * draw(st.integers(len(names), 3))
    update["accumulators"] = tuple(
        draw(_accumulators(f"accumulator-{number + 1}", systems[names[number % len(names)]], item))
        for number, item in enumerate(held)
    )
    if draw(st.booleans()):
        update["deceleration_valve"] = None
        update["brakes"] = tuple(brake.model_copy(update={"behind_valve": False}) for brake in update["brakes"])
    elif car.deceleration_valve is not None:
        update["deceleration_valve"] = car.deceleration_valve.model_copy(
            update={
                "ramp_angle": draw(_usual_or_any("°", (12, 25), (0, 60))),
                "tolerance": draw(_usual_or_any("°", (0.5, 2), (0, 60))),
                "share_held_back": draw(_usual_or_any("%", (40, 90), (0, 100))),
            }
        )
    fed = {(brake.wheel, brake.source) for brake in update["brakes"]}
    update["hoses"] = tuple(
        hose.model_copy(update={"length": draw(quantity("mm", 10, 900)), "bore": draw(quantity("mm", 1, 8))})
        for hose in car.hoses
        if (hose.wheel, hose.source) in fed
    )
    update["fluid"] = car.fluid.model_copy(
        update={
            "grade": draw(st.sampled_from(["DOT 3", "DOT 4", "dot5.1", "DOT 5", "no name"])),
            "bulk_modulus": draw(_usual_or_any("bar", (12_000, 20_000), (1_000, 40_000))),
        }
    )
    made = Car.model_validate(car.model_dump() | {key: _plain(value) for key, value in update.items()})
    assume(not list(car_rules(made)))
    return made


def _plain(value: object) -> object:
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    return value.model_dump() if hasattr(value, "model_dump") else value


@st.composite
def _systems(draw: st.DrawFn, name: str, car: Car):
    system = car.systems[0]
    usual = sorted(draw(st.lists(st.floats(60, 180), min_size=3, max_size=3, unique=True)))
    wide = sorted(draw(st.lists(st.floats(0.2, 690), min_size=3, max_size=3, unique=True)))
    pressures = draw(st.sampled_from([usual, usual, wide, [95.0, 125.0, 152.0]]))
    lamp, cut_in, cut_out = (Quantity.of(round(value, 3), "bar") for value in pressures)
    pump = system.pump.model_copy(update={"displacement": draw(_usual_or_any("mL", (0.5, 3), (0.01, 100)))})
    leakage = draw(st.one_of(st.just(Quantity.of(0, "mL/s")), quantity("mL/s", 0, 0.1), quantity("mL/s", 0, 1000)))
    return system.model_copy(
        update={"id": name, "lamp": lamp, "cut_in": cut_in, "cut_out": cut_out, "pump": pump, "leakage": leakage}
    )


@st.composite
def _accumulators(draw: st.DrawFn, name: str, system, item):
    high = min(system.cut_in.si / 1e5 - 0.01, 700)
    assume(high > 0.2)
    return item.model_copy(
        update={
            "id": name,
            "system": system.id,
            "volume": draw(_usual_or_any("mL", (300, 2000), (10, 50_000))),
            "precharge": draw(quantity("bar", 0.1, high)),
            "precharge_temperature": draw(_usual_or_any("°C", (10, 30), (-40, 150))),
            "coldest": draw(_usual_or_any("°C", (-10, 9), (-40, 149))),
            "hottest": draw(_usual_or_any("°C", (50, 110), (-39, 150))),
        }
    )


@st.composite
def _brakes(draw: st.DrawFn, brake, names: tuple[str, ...]):
    source = brake.source if brake.source == "pedal-circuit" else draw(st.sampled_from(names))
    return brake.model_copy(
        update={
            "source": source,
            "bore": draw(_usual_or_any("mm", (25, 50), (1, 200))),
            "travel": draw(_usual_or_any("mm", (0.2, 1), (0.001, 10))),
            "friction": draw(quantity("1", 0.05, 0.9)),
            "pistons": draw(st.sampled_from([1, 2, 4])) if not brake.opposed else draw(st.sampled_from([2, 4, 6])),
        }
    )


@st.composite
def _bodies(draw: st.DrawFn, car: Car):
    return car.body.model_copy(
        update={
            "mass": draw(_usual_or_any("kg", (1200, 2500), (300, 10_000))),
            "center_of_gravity_height": draw(_usual_or_any("m", (0.4, 0.8), (0.1, 2))),
            "wheelbase": draw(_usual_or_any("m", (2.2, 3.5), (1, 6))),
            "front_share": draw(quantity("%", 20, 80)),
        }
    )


def _typed(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high).map(lambda value: round(value, 9))


NUMBERS = st.one_of(
    _typed(-500, 3000), _typed(1500, 2300), _typed(0, 60), _typed(-1e6, 1e6), st.just(0.0), st.just(-1e9)
)


@st.composite
def entries(draw: st.DrawFn, record: JobRecord) -> dict[str, EntryValue]:
    """Numbers, words and gauges in some of the boxes on which derived values rest."""
    gauges = [gauge.id for gauge in record.shop.gauges]
    wanted = ("precharge", "gas-temperature", "hold", "hold-start", "hold-start-temperature", "hold-end-temperature")
    found: dict[str, EntryValue] = {}
    for row in check_rows(record.car, record.shop.show):
        if row.check.id not in (*wanted, "pedal-movement"):
            continue
        for phase in ("before", "after"):
            if draw(st.integers(0, 9)) < 8:
                found[f"reading.{row.ref}.{phase}"] = draw(NUMBERS)
            if draw(st.integers(0, 9)) < 8:
                found[f"reading.{row.ref}.gauge_{phase}"] = draw(st.sampled_from([*gauges, "nobody's"]))
    return found
