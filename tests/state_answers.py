"""Rows of each state of the brakes, of heat and of wear, answered again: by other functions from the car's own data."""

from __future__ import annotations

import math
from dataclasses import dataclass

from estimator.hydraulics import states
from estimator.places import PEDAL_CIRCUIT
from tests.brake_answers import Answers, Physics
from tests.second_answers import braking, deceleration, failure_states, published_stops, stopping, wear

SIDES = ("front", "rear")
# Far above any pressure of a brake, and hardly any deceleration: two points tell the slope of a line.
FURTHER_PA = 1e9
SLIGHT_M_S2 = 1e-3


@dataclass(frozen=True)
class InState:
    """A state of a car's brakes. `work` is "-work" at cut-in, nothing at the pressure needed."""

    it: Physics
    state: states.State

    @property
    def systems(self) -> tuple[str, ...]:
        return tuple(source for source in self.state.alive if source != PEDAL_CIRCUIT)

    @property
    def whole(self) -> bool:
        return not self.state.name.endswith(("lost", "alone"))

    @property
    def asked(self) -> float:
        return self.it.fact("service-deceleration" if self.whole else "secondary-deceleration")

    @property
    def mass(self) -> float:
        return self.it.car.body.mass.si

    def gains(self, *sides: str) -> failure_states.Gains:
        brakes = [item for item in self.it.brakes if item.axle.removesuffix("-axle") in (sides or SIDES)]
        radius = self.it.car.body.tire_radius.si
        return failure_states.gains(brakes, self.state.alive, self.mass, radius, self.it.pedal_pressure)

    def free(self, side: str) -> float:
        gain = self.gains(side)
        behind = gain.behind_m_s2_pa if self.state.valve == "stuck open" else 0.0
        return (gain.free_m_s2_pa + behind) * self.mass

    def closing(self) -> float:
        return failure_states.closing_pressure(self.gains(), self.it.valve, self.state.valve)

    def deceleration(self, pressure: float) -> float:
        return failure_states.deceleration_in_state(self.gains(), pressure, self.it.valve, self.state.valve)

    def closed(self) -> float:
        start = self.closing()
        return (self.deceleration(start + FURTHER_PA) - self.deceleration(start)) / FURTHER_PA * self.mass

    def needed(self, asked: float) -> float:
        return failure_states.lowest_system_pressure(asked, self.gains(), self.it.valve, self.state.valve)

    def pressure(self, work: str) -> float:
        if not self.systems:
            return 0.0
        if not work:
            return self.needed(self.asked)
        return min(system.cut_in.si for system in self.it.car.systems if system.id in self.systems)

    def passed(self, work: str) -> float:
        return deceleration.pressure_behind_valve(self.pressure(work), self.closing(), self.it.valve.share_held_back)

    def kept(self) -> float:
        share = self.it.valve.share_held_back
        return deceleration.share_kept_from_rear(self.pressure("-work"), self.closing(), share)

    def forces(self, work: str) -> braking.Axles:
        pressures = dict.fromkeys(self.systems, self.pressure(work))
        if PEDAL_CIRCUIT in self.state.alive:
            pressures[PEDAL_CIRCUIT] = self.it.pedal_pressure
        radius = self.it.car.body.tire_radius.si
        return failure_states.axle_forces(self.it.brakes, pressures, self.mass, radius, self.it.valve, self.state.valve)

    def reached(self) -> float:
        forces = self.forces("")
        return braking.deceleration_of_force(forces.front + forces.rear, self.mass)

    def load(self, side: str) -> float:
        return getattr(braking.axle_loads(*self.it.body, self.reached()), side)

    def adhesion(self, side: str) -> float:
        return braking.adhesion_used(getattr(self.forces(""), side), self.load(side))

    def first(self) -> str:
        front, rear = (round(self.adhesion(side), 9) for side in SIDES)
        return "front axle" if front >= rear else "rear axle"

    def locked(self, side: str) -> float:
        """m a is the force of the other axle and, of the locked one, adhesion times load, itself a line in a."""
        adhesion, forces = self.it.fact("test-road-adhesion"), self.forces("-work")
        if side == "front":
            self.road()  # which refuses an adhesion at which the rear axle would lift
        still, moving = (getattr(braking.axle_loads(*self.it.body, a), side) for a in (0.0, SLIGHT_M_S2))
        slope = adhesion * (moving - still) / SLIGHT_M_S2
        other = forces.rear if side == "front" else forces.front
        return (adhesion * still + other) / (self.mass - slope)

    def road(self) -> float:
        forces = self.forces("-work")
        return braking.deceleration_on_road(
            forces.front, forces.rear, *self.it.body, self.it.fact("test-road-adhesion")
        )

    def stop(self) -> float:
        return stopping.stopping_distance(self.it.fact("test-speed"), self.road())

    def stop_spare(self) -> float:
        return self.it.fact("cold-stop" if self.whole else "failed-circuit-stop") - self.stop()


STATE: Answers = {
    "free-{side}": InState.free,
    "behind-{side}": lambda one, side: one.gains(side).behind_m_s2_pa * one.mass,
    "pedal-{side}": lambda one, side: one.gains(side).pedal_m_s2 * one.mass,
    "open": lambda one: (one.gains().free_m_s2_pa + one.gains().behind_m_s2_pa) * one.mass,
    "pedal": lambda one: one.gains().pedal_m_s2 * one.mass,
    "close": InState.closing,
    "closed": InState.closed,
    "at-closing": lambda one: one.deceleration(one.closing()) * one.mass,
    "required": lambda one: one.asked * one.mass,
    "required-secondary": lambda one: one.it.fact("secondary-deceleration") * one.mass,
    "needed": lambda one: one.needed(one.asked),
    "needed-secondary": lambda one: one.needed(one.it.fact("secondary-deceleration")),
    "work": lambda one: one.pressure("-work"),
    "passed{work}": InState.passed,
    "kept-work": InState.kept,
    "force-{side}{work}": lambda one, side, work: getattr(one.forces(work), side),
    "rear-above": lambda one: braking.rear_locks_above(one.free("front"), one.free("rear"), *one.it.body[1:]),
    "reached": InState.reached,
    "moved": lambda one: one.it.moved(one.reached()),
    "load-{side}": InState.load,
    "adhesion-{side}": InState.adhesion,
    "first": InState.first,
    "brakes": lambda one: one.deceleration(one.pressure("-work")),
    "{side}-locked": InState.locked,
    "road": InState.road,
    "spare": lambda one: one.road() - one.asked,
    "stop": InState.stop,
    "stop-spare": InState.stop_spare,
}


def heat_share(it: Physics, side: str) -> float:
    forces = InState(it, states.states(it.brakes)[0]).forces("")
    return getattr(forces, side) / (forces.front + forces.rear)


def stop_heat(it: Physics) -> float:
    return wear.stop_energy(it.car.body.mass.si, it.fact("test-speed"))


def rotor(it: Physics, side: str) -> float:
    return it.worn(side).rotor_mass.si


def rise(it: Physics, side: str) -> float:
    return wear.rotor_warming(stop_heat(it), heat_share(it, side), 2.0 * rotor(it, side), it.fact("iron-specific-heat"))


HEAT: Answers = {"energy": stop_heat, "rotor-{side}": rotor, "share-{side}": heat_share, "rise-{side}": rise}


def new_and_driven(it: Physics, wheel: str, part: str) -> tuple[float, float]:
    item = it.worn(wheel)
    driven = getattr(item, f"{part}s_driven")
    return getattr(item, f"{part}_new").si, driven.si if driven else math.nan


def rate(it: Physics, wheel: str, part: str, phase: str) -> float:
    new, driven = new_and_driven(it, wheel, part)
    return wear.wear_rate(new, it.reading(f"{part}-thickness", wheel, phase), driven)


def least(it: Physics, wheel: str, part: str) -> float:
    """The lowest thickness for service: the maker's for this wheel, else for every one, else the usual one."""
    given = [item for item in it.car.limits if item.check == f"{part}-thickness" and (wheel in item.at or not item.at)]
    for item in sorted(given, key=lambda item: not item.at)[:1]:
        if item.service_low is not None:
            return item.service_low.si
    return it.fact("pad-service") if part == "pad" else it.worn(wheel).rotor_discard.si


def to_go(it: Physics, wheel: str, part: str, phase: str) -> float:
    thick = it.reading(f"{part}-thickness", wheel, phase)
    return wear.distance_to_discard(thick, least(it, wheel, part), rate(it, wheel, part, phase))


WHEEL: Answers = {
    "{part}-new": lambda it, wheel, part: new_and_driven(it, wheel, part)[0],
    "{part}-driven": lambda it, wheel, part: new_and_driven(it, wheel, part)[1],
    "{part}-lost-{phase}": lambda it, wheel, part, phase: (
        rate(it, wheel, part, phase) * new_and_driven(it, wheel, part)[1]
    ),
    "{part}-to-go-{phase}": to_go,
}
YARDSTICKS: Answers = {
    "road-stop-deceleration": lambda it: published_stops.mean_deceleration(
        it.fact("road-stop-speed"), it.fact("road-stop-distance")
    ),
}
