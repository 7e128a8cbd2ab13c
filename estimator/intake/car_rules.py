"""What must hold within car.toml: ids that name something, sources that feed pistons, orders of pressures."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import pairwise

from estimator.intake.input_errors import Wrong, at, doubled, unknown
from estimator.places import ALL, AXLES, PEDAL_CIRCUIT, WHEELS
from estimator.quantities import Quantity
from estimator.records import Accumulator, Car, System

# Grades that name a family of fluid: 49 CFR 571.116 S4 (DOT 5 is silicone, 5.1 is not), ISO 4925, ISO 7308.
_GRADES = (
    (re.compile(r"dot\s*(3|4|5\.1)\b|iso\s*4925", re.IGNORECASE), "glycol"),
    (re.compile(r"dot\s*5(?!\.1)\b", re.IGNORECASE), "silicone"),
    (re.compile(r"iso\s*7308", re.IGNORECASE), "mineral"),
)


# Bounds of what is believed, wide of any car: common practice, no source.
MOST_COMPRESSION, LEAST_BAND = 10, 0.02


def car_rules(car: Car) -> Iterator[Wrong]:
    """Everything of a car but its limits."""
    yield from _ids(car)
    yield from _sources(car)
    yield from _variant(car)
    for index, system in enumerate(car.systems):
        yield from _system(car, index, system)
    for index, accumulator in enumerate(car.accumulators):
        yield from _accumulator(car, index, accumulator)
    yield from _brakes(car)
    yield from _fluid(car)
    yield from _lines_and_wear(car)
    yield from _intervals(car)


def _ids(car: Car) -> Iterator[Wrong]:
    taken = {
        "car": "the car",
        ALL: "all places together",
        PEDAL_CIRCUIT: "the pedal circuit",
        **dict.fromkeys(AXLES, "an axle"),
    }
    taken |= dict.fromkeys(WHEELS, "a wheel") | {brake.caliper_place: "a caliper" for brake in car.brakes}
    for table in ("systems", "accumulators"):
        ids = [item.id for item in getattr(car, table)]
        yield from doubled(table, "id", ids)
        for index, name in enumerate(ids):
            if name in taken:
                allowed = "each place of the car has an id of its own"
                yield Wrong(
                    at(table, index, "id"), f'"{name}" is the id of {taken[name]}', allowed, "choose another id"
                )
        taken |= dict.fromkeys(ids, f"one of [[{table}]]")
    yield from doubled("supply_users", "id", (user.id for user in car.supply_users))
    yield from doubled("pipes", "id", (pipe.id for pipe in car.pipes))
    yield from doubled("wear", "axle", (item.axle for item in car.wear))


def _sources(car: Car) -> Iterator[Wrong]:
    systems = [system.id for system in car.systems]
    sources = [*systems, PEDAL_CIRCUIT] if car.car.variant == "A" else systems
    for table, key, known in (
        ("accumulators", "system", systems),
        ("supply_users", "system", systems),
        ("brakes", "source", sources),
        ("hoses", "source", sources),
        ("pipes", "source", sources),
    ):
        what = "the systems" if known is systems else "the sources of this car"
        for index, item in enumerate(getattr(car, table)):
            name = getattr(item, key)
            if name == PEDAL_CIRCUIT and car.car.variant == "B":
                allowed = "a car of variant B has no pedal circuit"
                yield Wrong(at(table, index, key), f'"{name}"', allowed, "correct the source or the variant")
            elif name not in known:
                yield unknown(at(table, index, key), name, known, what)
    fed = {(brake.wheel, brake.source) for brake in car.brakes}
    for index, hose in enumerate(car.hoses):
        if fed and hose.source in sources and (hose.wheel, hose.source) not in fed:
            found = f'no piston at the {hose.wheel.replace("-", " ")} wheel is fed by "{hose.source}"'
            yield Wrong(
                at("hoses", index, "wheel"), found, "a hose leads to a caliper", "correct the wheel or the source"
            )


def _variant(car: Car) -> Iterator[Wrong]:
    variant_a = car.car.variant == "A"
    for key in ("master_bore", "master_stroke"):
        given = getattr(car.pedal, key) is not None
        if given and not variant_a:
            allowed = "variant B has an elastomer buffer and no master cylinder"
            yield Wrong(f'[pedal], key "{key}"', "it is given", allowed, "take it out, or correct the variant")
    if variant_a and car.brakes and not any(brake.source == PEDAL_CIRCUIT for brake in car.brakes):
        found = f'no source = "{PEDAL_CIRCUIT}"'
        yield Wrong(
            "[[brakes]]", found, "variant A has pistons on the pedal circuit", "add them, or correct the variant"
        )


def _system(car: Car, index: int, system: System) -> Iterator[Wrong]:
    rising = [("lamp", system.lamp), ("cut_in", system.cut_in), ("cut_out", system.cut_out)]
    given = [(key, quantity) for key, quantity in rising if quantity is not None]
    for (low_key, low), (high_key, high) in pairwise(given):
        if low.si >= high.si:
            found = f"{low_key} {low}, {high_key} {high}"
            yield Wrong(
                at("systems", index, low_key), found, f"{low_key} must be below {high_key}", "correct one of them"
            )
    below, above = system.cut_in, system.cut_out
    if below is not None and above is not None and 0 < above.si - below.si < LEAST_BAND * above.si:
        found = f"cut_in {system.cut_in}, cut_out {system.cut_out}"
        allowed = f"cut-in must be below cut-out by at least {LEAST_BAND:.0%} of it (common practice, no source)"
        yield Wrong(at("systems", index, "cut_in"), found, allowed, "correct one of them")
    if car.brakes and not any(brake.source == system.id for brake in car.brakes):
        found = f'"{system.id}" feeds no piston'
        yield Wrong(at("systems", index), found, "a system feeds pistons in [[brakes]]", "add them, or take it out")
    if not any(accumulator.system == system.id for accumulator in car.accumulators):
        found = f'"{system.id}" has no accumulator'
        yield Wrong(at("systems", index), found, "each system stores pressure", "add it to [[accumulators]]")


def _accumulator(car: Car, index: int, accumulator: Accumulator) -> Iterator[Wrong]:
    system = next((system for system in car.systems if system.id == accumulator.system), None)
    if system is not None and _reaches(accumulator.precharge, system.cut_in):
        found = f"precharge {accumulator.precharge}, cut_in {system.cut_in}"
        allowed = "an accumulator stores nothing below its precharge: precharge must be below cut-in"
        yield Wrong(at("accumulators", index, "precharge"), found, allowed, "correct one of them")
    cut_out, precharge = system.cut_out if system else None, accumulator.precharge
    if cut_out is not None and precharge is not None and precharge.si < cut_out.si / MOST_COMPRESSION:
        found = f"precharge {precharge}, cut_out {cut_out}"
        allowed = f"precharge is at least 1/{MOST_COMPRESSION} of cut-out (common practice, no source)"
        fix = "enter the manufacturer's figure, not a reading from a worn accumulator"
        yield Wrong(at("accumulators", index, "precharge"), found, allowed, fix)
    if _reaches(accumulator.coldest, accumulator.hottest):
        found = f"hottest {accumulator.hottest}, coldest {accumulator.coldest}"
        yield Wrong(at("accumulators", index, "hottest"), found, "hottest must be above coldest", "correct one of them")
    if accumulator.most_age is not None and not accumulator.most_age.si:
        yield Wrong(at("accumulators", index, "most_age"), "0", "enter more than 0", 'write years, such as "12 years"')


def _equal(table: str, items: Sequence[object], fix: str) -> Iterator[Wrong]:
    """Each block of a list of tables that stood there before, word for word: one pasted twice makes limits unsafe."""
    for index, item in enumerate(items):
        if (earlier := items.index(item)) < index:
            found = f"it equals number {earlier + 1} in every key"
            yield Wrong(at(table, index), found, "no two blocks are equal", f"take one out, or correct it; {fix}")


def _reaches(low: Quantity | None, high: Quantity | None) -> bool:
    """Whether what lies below another reaches it; not where either is missing."""
    return low is not None and high is not None and low.si >= high.si


def _brakes(car: Car) -> Iterator[Wrong]:
    yield from _equal("brakes", car.brakes, "write equal pistons of one caliper as one block, counted in pistons")
    yield from _equal("hoses", car.hoses, "write two equal hoses of one wheel as one block, with their lengths added")
    braked = {brake.wheel for brake in car.brakes}
    for wheel in WHEELS:
        if braked and wheel not in braked:
            found = f'no wheel = "{wheel}"'
            yield Wrong("[[brakes]]", found, "each of the four wheels has a brake", "add its pistons")
    for index, brake in enumerate(car.brakes):
        if brake.opposed and brake.pistons is not None and brake.pistons % 2:
            found = f"{brake.pistons} opposed pistons"
            allowed = "opposed pistons come in pairs; a sliding caliper has opposed = false"
            yield Wrong(at("brakes", index, "pistons"), found, allowed, "correct pistons or opposed")
        if brake.behind_valve and car.deceleration_valve is None:
            allowed = "the car has no [deceleration_valve]"
            yield Wrong(at("brakes", index, "behind_valve"), "true", allowed, "add the table, or take the key out")
        if brake.behind_valve and brake.source == PEDAL_CIRCUIT:
            allowed = "the deceleration valve must be in a full-power system"
            yield Wrong(at("brakes", index, "behind_valve"), "true", allowed, "take the key out or correct the source")
    if car.brakes and car.deceleration_valve is not None and not any(brake.behind_valve for brake in car.brakes):
        allowed = "some pistons in [[brakes]] have behind_valve = true"
        yield Wrong("[deceleration_valve]", "no piston is behind it", allowed, "add it there, or take the table out")


def _fluid(car: Car) -> Iterator[Wrong]:
    for pattern, family in _GRADES:
        if pattern.search(car.fluid.grade) and family != car.fluid.family:
            found = f'"{car.fluid.grade}" is a {family} fluid, and family = "{car.fluid.family}"'
            allowed = "families are never mixed"
            yield Wrong('[fluid], key "grade"', found, allowed, "correct the grade or the family, by the car's label")


def _lines_and_wear(car: Car) -> Iterator[Wrong]:
    for index, pipe in enumerate(car.pipes):
        wall, outer = pipe.wall, pipe.outer_diameter
        if wall is not None and outer is not None and 2 * wall.si >= outer.si:
            found = f"a wall of {pipe.wall} in a line of {pipe.outer_diameter}"
            yield Wrong(
                at("pipes", index, "wall"), found, "twice the wall is less than the diameter", "correct one of them"
            )
        tears, yields = pipe.tensile_strength, pipe.yield_strength
        if tears is not None and yields is not None and yields.si > tears.si:
            found = f"yield {pipe.yield_strength}, tensile {pipe.tensile_strength}"
            yield Wrong(
                at("pipes", index, "yield_strength"), found, "steel yields before it tears", "correct one of them"
            )
    for index, item in enumerate(car.wear):
        if _reaches(item.rotor_discard, item.rotor_new):
            found = f"discard {item.rotor_discard}, new {item.rotor_new}"
            yield Wrong(
                at("wear", index, "rotor_discard"), found, "a worn rotor is thinner than a new one", "correct it"
            )


def _intervals(car: Car) -> Iterator[Wrong]:
    """An interval is longer than nothing, and at places of the car."""
    known = [place.id for place in car.places.all()]
    for index, interval in enumerate(car.intervals):
        if interval.every.si <= 0:
            allowed = "longer than zero"
            yield Wrong(
                at("intervals", index, "every"), f'"{interval.every}"', allowed, "give the manufacturer's interval"
            )
        for place in interval.at:
            if place not in known:
                yield unknown(at("intervals", index, "at"), place, known, "the places of this car")
