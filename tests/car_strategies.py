"""Strategies for cars that intake accepts: both variants, one or two systems, other source maps, other fluids."""

from __future__ import annotations

import functools
from pathlib import Path

from hypothesis import strategies as st

from estimator.facts.checks import check_by_id
from estimator.intake.load_job import load_job
from estimator.places import PEDAL_CIRCUIT, WHEELS, axle_of
from estimator.quantities import Quantity, from_si
from estimator.records import (
    Accumulator,
    Body,
    Brake,
    Car,
    CarIdentity,
    CarLimit,
    DecelerationValve,
    Fluid,
    Hose,
    JobRecord,
    Pedal,
    Pipe,
    Pump,
    RotorAndPads,
    SupplyUser,
    System,
)

ROOT = Path(__file__).resolve().parent.parent
DEMOS = ("job.toml", "job_mineral.toml")
GRADES = {"glycol": ("DOT 3", "DOT 4", "DOT 5.1"), "mineral": ("ISO 7308",), "silicone": ("DOT 5",)}


@functools.cache
def demo_record(name: str = "job.toml") -> JobRecord:
    """The record of a demo job, with the labor tables that come with the program."""
    return load_job(ROOT / "estimator" / "demo" / "files" / name, ROOT / "labor_tables")


def number(low: float, high: float, decimals: int = 2) -> st.SearchStrategy[float]:
    """Numbers as people write them, with a few decimals; simplest at the low end."""
    scale = 10**decimals
    return st.integers(round(low * scale), round(high * scale)).map(lambda n: n / scale)


@st.composite
def amount(draw: st.DrawFn, low: float, high: float, *units: str, decimals: int = 2) -> Quantity:
    """A quantity between two numbers of the first unit, written in one of the units."""
    first = Quantity.of(draw(number(low, high, decimals)), units[0])
    unit = draw(st.sampled_from(units))
    return first if unit == units[0] else Quantity.of(float(f"{from_si(first.si, unit):.6g}"), unit)


@st.composite
def pressures(draw: st.DrawFn, bar: float) -> Quantity:
    unit = draw(st.sampled_from(("bar", "psi", "kPa", "MPa")))
    return Quantity.of(float(f"{from_si(bar * 1e5, unit):.5g}"), unit)


@st.composite
def systems(draw: st.DrawFn, count: int) -> tuple[System, ...]:
    found = []
    for index in range(1, count + 1):
        cut_out = draw(number(110, 165, 0) | st.just(210.0))
        cut_in = cut_out * draw(number(0.75, 0.92))
        pump = Pump(
            displacement=draw(amount(0.8, 2.5, "mL")),
            drive_ratio=draw(amount(0.4, 1.2, "1")),
            volumetric_efficiency=draw(amount(70, 95, "%", decimals=0)),
            idle_speed=draw(amount(550, 900, "rpm", decimals=0)),
        )
        found.append(
            System(
                id=f"system-{index}",
                pump=pump,
                cut_in=draw(pressures(cut_in)),
                cut_out=draw(pressures(cut_out)),
                lamp=draw(pressures(cut_in * draw(number(0.55, 0.85)))),
                leakage=Quantity.of(draw(number(0, 0.03, 3)), "mL/s"),
            )
        )
    return tuple(found)


@st.composite
def accumulators(draw: st.DrawFn, of: tuple[System, ...]) -> tuple[Accumulator, ...]:
    """One to four, each system with at least one."""
    homes = [item.id for item in of]
    homes += draw(st.lists(st.sampled_from(homes), max_size=4 - len(homes)))
    found = []
    for index, home in enumerate(homes, 1):
        cut_in = next(item.cut_in.si for item in of if item.id == home)
        coldest = draw(amount(-10, 10, "°C", "°F", decimals=0))
        found.append(
            Accumulator(
                id=f"accumulator-{index}",
                system=home,
                volume=draw(amount(0.4, 1.2, "L", "mL")),
                precharge=draw(pressures(cut_in / 1e5 * draw(number(0.4, 0.7)))),
                precharge_temperature=draw(amount(15, 25, "°C", "°F", decimals=0)),
                hottest=draw(amount(45, 90, "°C", "°F", decimals=0)),
                coldest=coldest,
                most_age=draw(amount(6, 20, "years", decimals=0)),
            )
        )
    return tuple(found)


@st.composite
def brakes(draw: st.DrawFn, sources: list[str], pedal_circuit: bool, valve: bool) -> tuple[Brake, ...]:
    """Each axle alike on both sides: one caliper fed by one source or by both, or a caliper for each source."""
    layouts = {axle: draw(st.sampled_from(("one", "shared", "apart"))) for axle in ("front-axle", "rear-axle")}
    first = draw(st.sampled_from(sources))
    found: list[Brake] = []
    for axle, layout in layouts.items():
        # What one source alone feeds at the front, the other feeds at the rear.
        fed = sources if layout != "one" else [first if axle == "front-axle" else sources[-1 - sources.index(first)]]
        common = {"effective_radius": draw(amount(105, 140, "mm", "in")), "friction": draw(amount(0.3, 0.45, "1"))}
        behind = valve and axle == "rear-axle"
        for number_, source in enumerate(fed):
            pistons = draw(st.sampled_from((2, 4, 1)))
            form = common | {
                "caliper": f"caliper-{number_ + 1}" if layout == "apart" else "caliper",
                "source": source,
                "pistons": pistons,
                "bore": draw(amount(30, 46, "mm", "in", decimals=1)),
                "opposed": pistons > 1 and draw(st.booleans()),
                "travel": draw(amount(0.3, 0.8, "mm")),
                "behind_valve": behind,
            }
            found += [Brake(wheel=wheel, **form) for wheel in WHEELS if axle_of(wheel) == axle]
    if pedal_circuit:
        axle = draw(st.sampled_from(("rear-axle", "rear-axle", "front-axle")))
        form = {
            "caliper": "pedal-caliper",
            "source": PEDAL_CIRCUIT,
            "pistons": 1,
            "bore": draw(amount(24, 36, "mm", decimals=0)),
            "opposed": False,
            "travel": draw(amount(0.3, 0.8, "mm")),
            "effective_radius": draw(amount(105, 140, "mm")),
            "friction": draw(amount(0.3, 0.45, "1")),
        }
        found += [Brake(wheel=wheel, **form) for wheel in WHEELS if axle_of(wheel) == axle]
    return tuple(found)


@st.composite
def lines(draw: st.DrawFn, of: tuple[Brake, ...]) -> tuple[tuple[Hose, ...], tuple[Pipe, ...]]:
    hose = {
        "bore": draw(amount(2.5, 4, "mm", decimals=1)),
        "length": draw(amount(250, 450, "mm", "in", decimals=0)),
        "swell": draw(amount(0.5, 2.5, "mL/m")),
        "burst": draw(amount(350, 500, "bar", "psi", decimals=0)),
    }
    pipe = {
        "outer_diameter": draw(amount(4.5, 6.5, "mm", "in")),
        "wall": draw(amount(0.6, 0.9, "mm")),
        "tensile_strength": Quantity.of(290, "MPa"),
        "yield_strength": Quantity.of(170, "MPa"),
    }
    pairs = dict.fromkeys((item.wheel, item.source) for item in of)
    hosed = draw(st.sampled_from((pairs, pairs, {})))
    sources = dict.fromkeys(source for _, source in pairs)
    piped = draw(st.sampled_from((sources, sources, {})))
    return (
        tuple(Hose(wheel=wheel, source=source, **hose) for wheel, source in hosed),
        tuple(Pipe(id=f"pipe-{source}", source=source, **pipe) for source in piped),
    )


@st.composite
def limits(draw: st.DrawFn, car: Car) -> tuple[CarLimit, ...]:
    """Some of the data of the demo cars, all sides of one made larger or smaller alike, some without a danger side."""
    pool: dict[str, list[CarLimit]] = {}
    for name in DEMOS:
        for item in demo_record(name).car.limits:
            if check_by_id(item.check).applies_to(car):
                pool.setdefault(item.check, []).append(item)
    missing = draw(st.sets(st.sampled_from(sorted(pool)), max_size=3)) if pool else set()
    found = []
    for check_id, choices in pool.items():
        if check_id in missing:
            continue
        item = draw(st.sampled_from(choices))
        factor = draw(st.sampled_from((1.0, 0.9, 1.2)))
        sides = {"service_low": None, "service_high": None, "danger_low": None, "danger_high": None}
        for side in sides:
            given = getattr(item, side)
            if given is not None and not (side.startswith("danger") and draw(st.booleans())):
                sides[side] = Quantity.of(float(f"{given.value * factor:.6g}"), given.unit)
        if any(sides.values()):
            status = draw(st.sampled_from(("maker", "common-practice")))
            found.append(CarLimit(check=check_id, status=status, source="a manual, invented for the test", **sides))
    return tuple(found)


@st.composite
def cars(draw: st.DrawFn) -> Car:
    """A car that intake accepts."""
    variant = draw(st.sampled_from(("A", "B")))
    family = draw(st.sampled_from(("glycol", "mineral", "silicone")))
    with_valve = draw(st.booleans())
    sys = draw(systems(draw(st.sampled_from((1, 2, 1)))))
    fitted = draw(brakes([item.id for item in sys], variant == "A", with_valve))
    hoses, pipes = draw(lines(fitted))
    user = SupplyUser(id="leveling", system=sys[-1].id, title="rear leveling", isolated_by="=cock closed, @ zero")
    wear = [
        RotorAndPads(
            axle=axle,
            rotor_new=Quantity.of(new, "mm"),
            rotor_discard=Quantity.of(round(new - draw(number(0.8, 2, 1)), 1), "mm"),
            pad_new=draw(amount(8, 14, "mm", "in", decimals=1)),
            rotor_mass=draw(st.none() | amount(1, 20, "kg", "lb")),
            pads_driven=draw(st.none() | amount(10, 90000, "km", "mi")),
            rotors_driven=draw(st.none() | amount(10, 200000, "km", "mi")),
        )
        for axle, new in (("front-axle", 22.0), ("rear-axle", 12.5))
    ]
    bare = Car(
        car=CarIdentity(id="a-car", name="A car made up", year=draw(st.integers(1955, 2015)), variant=variant),
        body=Body(
            mass=draw(amount(1200, 2600, "kg", "lb", decimals=0)),
            wheelbase=draw(amount(2.5, 3.4, "m")),
            center_of_gravity_height=draw(amount(0.5, 0.7, "m")),
            front_share=draw(amount(44, 62, "%", decimals=0)),
            tire_radius=draw(amount(290, 370, "mm", "in", decimals=0)),
        ),
        fluid=Fluid(
            family=family,
            grade=draw(st.sampled_from(GRADES[family])),
            capacity=draw(amount(2, 8, "L")),
            bulk_modulus=draw(amount(12000, 18000, "bar", decimals=0)),
        ),
        systems=sys,
        accumulators=draw(accumulators(sys)),
        supply_users=draw(st.sampled_from(((), (user,)))),
        brakes=fitted,
        pedal=Pedal(
            ratio=draw(amount(3, 6, "1")),
            full_travel=draw(amount(60, 150, "mm", "in", decimals=0)),
            test_force=draw(amount(200, 400, "N", "lbf", decimals=0)),
            master_bore=draw(amount(17, 26, "mm", "in")) if variant == "A" else None,
            master_stroke=draw(amount(20, 36, "mm")) if variant == "A" else None,
        ),
        deceleration_valve=DecelerationValve(
            ramp_angle=draw(amount(10, 25, "°", decimals=0)),
            tolerance=draw(amount(0.5, 2, "°", decimals=1)),
            share_held_back=draw(amount(30, 100, "%", decimals=0)),
        )
        if with_valve
        else None,
        hoses=hoses,
        pipes=pipes,
        wear=tuple(draw(st.sampled_from((wear, wear[:1], [], wear)))),
    )
    return bare.model_copy(update={"limits": draw(limits(bare))})
