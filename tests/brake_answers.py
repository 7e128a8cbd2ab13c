"""Rows of brakes, hoses, pedal and valve answered again: by other functions from the car's own data, not from other rows.

Where an answer raises DomainError or divides by zero, the row has to say that its figure isn't known. In the name of a
row, a placeholder such as `{side}` stands for what PLACEHOLDERS allows.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from estimator.errors import DomainError
from estimator.hydraulics import pedal
from estimator.hydraulics.domain import Band
from estimator.places import PEDAL_CIRCUIT, axle_of
from estimator.records import Brake, Car, DecelerationValve, Hose, JobRecord, Pedal, RotorAndPads
from tests.second_answers import braking, circuits, deceleration

Answers = Mapping[str, Callable[..., float | str]]
Loads = tuple[float, float, float, float]
PLACEHOLDERS = {
    "side": "front|rear",
    "phase": "before|after",
    "part": "pad|rotor",
    "work": "|-work",
    "source": r"system-\d|pedal-circuit",
    "axle": "front-axle|rear-axle",
    "behind": "|-behind",
    "setting": "cut-out|cut-in|lamp|secondary",
    "lower": "cut-in|lamp|secondary",
    "count": r"\d+",
    "worn": "|-worn",
    "foretold": "least|most|soonest|latest",
}
# A car so heavy that no braking lifts an axle.
HEAVY_M_S2 = 1e9


@dataclass(frozen=True)
class Physics:
    """A car as hydraulics/ takes it, with the published numbers and readings of its record, in SI."""

    record: JobRecord
    readings: Mapping[str, float | str]

    @property
    def car(self) -> Car:
        return self.record.car

    @property
    def pedal(self) -> Pedal:
        return self.record.car.pedal

    @property
    def body(self) -> Loads:
        """Mass, front share, height of the center of gravity, wheelbase."""
        body = self.car.body
        return body.mass.si, body.front_share.si, body.center_of_gravity_height.si, body.wheelbase.si

    def fact(self, name: str) -> float:
        return self.record.fact(name).si

    def reading(self, check: str, place: str, phase: str) -> float:
        value = self.readings[f"judging.{check}.{place}.si_{phase}"]
        if isinstance(value, str):
            raise DomainError(f"{check} was not read at {place}")
        return value

    def held(self, ref: str, phase: str) -> float:
        """A reading by its gauge, as others are held against it."""
        value = self.readings[f"judging.{ref}.held_{phase}"]
        if isinstance(value, str):
            raise DomainError(f"{ref} was not read by a gauge")
        return value

    def worst(self, ref: str, end: int, given: float) -> float:
        """The reading that counts at the worse end of its U, -1 the low one; as given where there is none."""
        for phase in ("after", "before"):
            value, u = (self.readings[f"judging.{ref}.{name}_{phase}"] for name in ("si", "gauge_u"))
            if not isinstance(value, str) and not isinstance(u, str):
                return value + end * 2.0 * u
        return given

    def worn(self, place: str) -> RotorAndPads | None:
        return next((item for item in self.car.wear if item.axle == axle_of(place)), None)

    @functools.cached_property
    def brakes(self) -> tuple[circuits.Brake, ...]:
        return tuple(clamps(item) for item in self.car.brakes)

    @functools.cached_property
    def valve(self) -> deceleration.Valve | None:
        item = self.car.deceleration_valve
        return None if item is None else deceleration.Valve(closing(item), item.share_held_back.si)

    def moved(self, a: float) -> float:
        """The load that braking moves: all that the front bears where it bears nothing at rest."""
        mass, _, height, base = self.body
        return braking.axle_loads(mass, 0.0, height, base, a, HEAVY_M_S2).front

    def pressed(self, force: float) -> float:
        """The pressure of the pedal circuit at a force on the pad; none without a master cylinder."""
        bore = self.pedal.master_bore
        return 0.0 if bore is None else pedal.pedal_pressure(force, self.pedal.ratio.si, bore.si)

    @functools.cached_property
    def pedal_pressure(self) -> float:
        return self.pressed(self.pedal.test_force.si)

    def pedal_travel(self, ratio: float) -> float:
        return pedal.pedal_travel(application(self, PEDAL_CIRCUIT), self.pedal.master_bore.si, ratio)

    def air(self, phase: str) -> float:
        bore, ratio = self.pedal.master_bore.si, self.pedal.ratio.si
        moved = self.reading("pedal-movement", "car", phase)
        return circuits.trapped_air(moved, self.pedal_travel(ratio), bore, ratio, self.pedal_pressure)

    def group(self, source: str, axle: str, behind: str) -> float:
        """The force of all pistons that a source feeds on an axle, behind the valve or not, at one pascal."""
        wanted = (source, axle, bool(behind))
        brakes = [item for item in self.brakes if (item.source, item.axle, item.behind_valve) == wanted]
        return sum(braking.brake_force(item, 1.0, self.car.body.tire_radius.si) for item in brakes)


def clamps(item: Brake) -> circuits.Brake:
    area = circuits.clamping_area(item.bore.si, item.pistons, item.opposed)
    axle, radius, friction = axle_of(item.wheel), item.effective_radius.si, item.friction.si
    return circuits.Brake(item.wheel, axle, item.source, area, radius, friction, item.behind_valve)


def closing(item: DecelerationValve) -> float:
    return deceleration.closing_deceleration(item.ramp_angle.si)


def band(item: DecelerationValve) -> Band:
    return deceleration.closing_band(item.ramp_angle.si, item.tolerance.si)


def displaced(item: Brake, travel: float) -> float:
    return circuits.piston_displacement(item.bore.si, item.pistons, travel)


def lining(it: Physics, item: Brake) -> float:
    worn = it.worn(item.wheel)
    if worn is None:
        raise DomainError("nothing is said of the pads")
    return worn.pad_new.si


def cavity(it: Physics, item: Brake) -> float:
    """What stands behind the pistons of a brake whose pads are worn out."""
    return displaced(item, lining(it, item))


def swells(hose: Hose) -> float:
    return circuits.hose_swell(hose.length.si, hose.swell.si)


def holds(hose: Hose) -> float:
    return pedal.piston_area(hose.bore.si) * hose.length.si


def pushed(it: Physics, source: str) -> float:
    """What the pistons of a source take."""
    return sum(displaced(item, item.travel.si) for item in it.car.brakes if item.source == source)


def leading(it: Physics, source: str) -> list[Hose]:
    if not it.car.hoses:
        raise DomainError("nothing is said of the hoses")
    return [item for item in it.car.hoses if item.source == source]


def swelling(it: Physics, source: str) -> float:
    """What the hoses of a source take."""
    return sum(swells(item) for item in leading(it, source))


def filled(it: Physics, source: str) -> float:
    """The fluid that pistons and hoses of a source hold."""
    hoses = sum(holds(item) for item in leading(it, source))
    return hoses + sum(cavity(it, item) for item in it.car.brakes if item.source == source)


def application(it: Physics, source: str) -> float:
    pressures = {system.id: system.cut_out.si for system in it.car.systems} | {PEDAL_CIRCUIT: it.pedal_pressure}
    taken = pushed(it, source), swelling(it, source), filled(it, source)
    return circuits.application_volume(*taken, pressures[source], it.car.fluid.bulk_modulus.si)


BODY: Answers = {
    "mass": lambda it: it.car.body.mass.si,
    "wheelbase": lambda it: it.car.body.wheelbase.si,
    "height": lambda it: it.car.body.center_of_gravity_height.si,
    "front-share": lambda it: it.car.body.front_share.si,
    "tire-radius": lambda it: it.car.body.tire_radius.si,
}
BRAKE: Answers = {
    "pistons": lambda it, item: item.pistons,
    "bore": lambda it, item: item.bore.si,
    "travel": lambda it, item: item.travel.si,
    "radius": lambda it, item: item.effective_radius.si,
    "friction": lambda it, item: item.friction.si,
    "lining": lining,
    "piston-area": lambda it, item: pedal.piston_area(item.bore.si),
    "area": lambda it, item: clamps(item).piston_area_m2,
    "gain": lambda it, item: braking.brake_force(clamps(item), 1.0, it.car.body.tire_radius.si),
    "displaced": lambda it, item: displaced(item, item.travel.si),
    "cavity": cavity,
}
HOSE: Answers = {
    "bore": lambda it, item: item.bore.si,
    "length": lambda it, item: item.length.si,
    "swell": lambda it, item: item.swell.si,
    "swells": lambda it, item: swells(item),
    "holds": lambda it, item: holds(item),
}
SOURCE: Answers = {
    "displaced": pushed,
    "swells": swelling,
    "filled": filled,
    "bulk-modulus": lambda it, source: it.car.fluid.bulk_modulus.si,
    "application": application,
}
PEDAL: Answers = {
    "ratio": lambda it: it.pedal.ratio.si,
    "full-travel": lambda it: it.pedal.full_travel.si,
    "force": lambda it: it.pedal.test_force.si,
    "bore": lambda it: it.pedal.master_bore.si,
    "stroke": lambda it: it.pedal.master_stroke.si,
    "most-travel": lambda it: it.fact("pedal-travel-share") * it.pedal.full_travel.si,
    "area": lambda it: pedal.piston_area(it.pedal.master_bore.si),
    "pressure": lambda it: it.pedal_pressure,
    "pressure-integrity": lambda it: it.pressed(it.fact("integrity-pedal-force")),
    "travel": lambda it: it.pedal_travel(it.pedal.ratio.si),
    "rod": lambda it: it.pedal_travel(1.0),
    "stroke-left": lambda it: it.pedal.master_stroke.si - it.pedal_travel(1.0),
    "excess-{phase}": lambda it, phase: pedal.air_compression(it.air(phase), it.pedal_pressure),
    "air-{phase}": Physics.air,
    **{name: lambda it, answer=answer: answer(it, PEDAL_CIRCUIT) for name, answer in SOURCE.items()},
}
VALVE: Answers = {
    "ramp": lambda it, item: item.ramp_angle.si,
    "tolerance": lambda it, item: item.tolerance.si,
    "share": lambda it, item: item.share_held_back.si,
    "closing": lambda it, item: closing(item),
    "closing-low": lambda it, item: band(item).low,
    "closing-high": lambda it, item: band(item).high,
    "tilt-low": lambda it, item: item.ramp_angle.si - item.tolerance.si,
    "tilt-high": lambda it, item: item.ramp_angle.si + item.tolerance.si,
}
BRAKING: Answers = {
    "weight": lambda it: sum(vars(braking.axle_loads(*it.body, 0.0)).values()),
    "ratio": lambda it: it.moved(1.0) / it.car.body.mass.si,
    "{source}-{axle}{behind}": Physics.group,
}
