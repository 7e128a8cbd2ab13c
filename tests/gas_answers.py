"""Rows of accumulators, systems, applications, lines and fluid answered again: by other functions from the car's own data.

Several accumulators of a system count as one: volumes added, precharges weighed by volume.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from dataclasses import dataclass

from estimator.errors import DomainError
from estimator.hydraulics import accumulator, applications, charge, gas, leakage, states
from estimator.places import PEDAL_CIRCUIT
from estimator.records import Accumulator, Hose, Pipe, System
from tests.brake_answers import Answers, Physics, application
from tests.second_answers import lamp, lines, nitrogen
from tests.state_answers import InState

HOLD_S = 1800.0  # the hold check lasts 30 min


@dataclass(frozen=True)
class Charged:
    """A system of a car, its accumulators as one. Pressures are absolute."""

    it: Physics
    system: System

    @property
    def accumulators(self) -> tuple[Accumulator, ...]:
        return tuple(item for item in self.it.car.accumulators if item.system == self.system.id)

    @property
    def each(self) -> tuple[Gas, ...]:
        return tuple(Gas(self, item) for item in self.accumulators)

    @property
    def coldest(self) -> float:
        return min(item.coldest.si for item in self.accumulators)

    @property
    def hottest(self) -> float:
        return max(item.hottest.si for item in self.accumulators)

    @property
    def volume(self) -> float:
        return sum(item.volume.si for item in self.accumulators)

    def weighed(self, precharges: Mapping[str, float]) -> float:
        return sum(precharges[item.id] * item.volume.si for item in self.accumulators) / self.volume

    @functools.cached_property
    def cold(self) -> float:
        return self.weighed({one.item.id: one.cold for one in self.each})

    @functools.cached_property
    def hot(self) -> float:
        return self.weighed({one.item.id: one.hot for one in self.each})

    @property
    def application(self) -> float:
        return application(self.it, self.system.id)

    def absolute(self, name: str) -> float:
        if name == "secondary":
            return self.secondary
        quantity = {"cut-out": self.system.cut_out, "cut-in": self.system.cut_in, "lamp": self.system.lamp}[name]
        return nitrogen.absolute_pressure(quantity.si)

    @functools.cached_property
    def secondary(self) -> float:
        """By this system with the other lost, where it can below cut-out; else by all."""
        asked = self.it.fact("secondary-deceleration")
        known = {state.name: InState(self.it, state) for state in states.states(self.it.brakes)}
        fed = [one.id for one in self.it.car.systems if one.id in {brake.source for brake in self.it.car.brakes}]
        if self.system.id not in fed:
            raise DomainError("it feeds no brake")
        for other in fed:
            if other == self.system.id:
                continue
            try:
                alone = known[f"{other} lost"].needed(asked)
            except DomainError:
                break
            if alone < self.system.cut_out.si:
                return nitrogen.absolute_pressure(alone)
            break
        return nitrogen.absolute_pressure(known["everything"].needed(asked))

    def exponent(self, lower: str, upper: str = "cut-out") -> float:
        return gas.fast_exponent(self.absolute(lower), self.absolute(upper), self.coldest)

    def fast(self, lower: str) -> float:
        return sum(one.fast(lower) for one in self.each)

    def slow(self, lower: str) -> float:
        return sum(one.slow(lower) for one in self.each)

    @property
    def strokes(self) -> int:
        return round(self.it.fact("warning-strokes")) + 1

    def lamp_for_strokes(self) -> float:
        """As lamp.lamp_pressure_for_strokes has it for one accumulator; each of several gives what it has."""
        to_floor = self.fast("secondary")
        drawn = to_floor - self.strokes * self.application
        if drawn <= 0:
            raise DomainError("no lamp pressure is high enough")
        top = self.absolute("cut-out")
        if len(self.each) == 1:
            v, secondary = self.application, self.secondary
            return lamp.lamp_pressure_for_strokes(self.volume, self.cold, secondary, top, v, self.strokes, self.coldest)
        held = self.volume * self.cold / top
        return _expanded(self, held, held + drawn, self.secondary)

    def lamp_for_hot(self) -> float:
        return lamp.lamp_pressure_for_hot_precharge(self.volume, self.hot, self.application, self.strokes)

    @property
    def flow(self) -> float:
        pump = self.system.pump
        return charge.pump_flow(
            pump.displacement.si, pump.idle_speed.si, pump.drive_ratio.si, pump.volumetric_efficiency.si
        )

    @property
    def taken(self) -> float:
        return sum(one.taken for one in self.each)

    def time(self, volume: float) -> float:
        return charge.charge_time(volume, self.flow, self.system.leakage.si)

    def hold_loss(self) -> float:
        """What is lost in the time after which leakage.hold_time ends."""
        precharge = self.weighed({item.id: nitrogen.absolute_pressure(item.precharge.si) for item in self.accumulators})
        top, leak = self.absolute("cut-out"), self.system.leakage.si
        if precharge >= top or leakage.hold_time(self.volume, precharge, precharge, top, leak) < HOLD_S:
            raise DomainError("no fluid is left at the end of it")
        low, high = precharge, top
        while low < (middle := (low + high) / 2) < high:
            if leakage.hold_time(self.volume, precharge, middle, top, leak) > HOLD_S:
                low = middle
            else:
                high = middle
        return top - low

    def after(self, count: str) -> float:
        """Gauge pressure after some applications of accumulators as one; nothing once they are empty."""
        top, volumes = self.absolute("cut-out"), int(count)
        if not volumes:
            return self.system.cut_out.si
        found = applications.pressures_after_applications(
            self.volume, self.cold, top, self.application, volumes, self.coldest
        )
        return found[volumes] - gas.ATMOSPHERE_PA

    def settled(self, phase: str) -> float:
        """The settled pressure brought to the temperature of the end."""
        first, last = (self.it.reading(f"hold-{when}-temperature", self.system.id, phase) for when in ("start", "end"))
        start = self.it.reading("hold-start", self.system.id, phase) + gas.ATMOSPHERE_PA
        return gas.pressure_by_temperature_alone(start, first, last)

    def widest(self, what: str, end: int) -> float:
        """Cut-out or lamp at one end of what was set and read, -1 the low one."""
        given, check = (
            (self.system.cut_out.si, "cut-out") if what == "cut-out" else (self.system.lamp.si, "lamp-pressure")
        )
        numbers = [".1", ".2", ".3"] if what == "cut-out" else [""]
        read = [self.it.worst(f"{check}.{self.system.id}{number}", end, given) for number in numbers]
        return (max if end > 0 else min)(given, *read)

    def exponent_now(self, lower: float, upper: float) -> float:
        if nitrogen.absolute_pressure(self.widest("cut-out", 1)) > gas.HIGHEST_PRESSURE_PA:
            raise DomainError("past the fits")
        coldest = min(one.end_now(-1) for one in self.each)
        return gas.fast_exponent(lower, upper, coldest)

    def named(self, name: str) -> float:
        """An absolute pressure by the words of an exponent's row."""
        if name == "secondary":
            return self.secondary
        what, end = name.rsplit("-", 1)
        return self.widest(what, 1 if end == "most" else -1) + gas.ATMOSPHERE_PA

    def said(self, what: str, phase: str) -> float:
        """Cut-outs as read in a phase, else as set; the higher ("lamp") or lower ("late") of the lamp's. Absolute."""
        if what in ("lamp", "late"):
            given = self.system.lamp.si
            read = self.it.readings[f"judging.lamp-pressure.{self.system.id}.held_{phase}"]
            both = [given] if isinstance(read, str) else [given, read]
            return (max if what == "lamp" else min)(both) + gas.ATMOSPHERE_PA
        refs, given = [f"cut-out.{self.system.id}.{number}" for number in (1, 2, 3)], self.system.cut_out.si
        read = [value for ref in refs if not isinstance(value := self.it.readings[f"judging.{ref}.held_{phase}"], str)]
        end = max if what == "highest" else min
        found = end(read, default=given) + gas.ATMOSPHERE_PA
        return found * (1.0 - self.it.fact("settles-by")) if what == "settled" else found

    def foretold(self, name: str, phase: str) -> float:
        it, each = self.it, self.each
        applied, delivered = it.fact("application-tolerance"), it.fact("delivery-tolerance")
        flow = self.flow - self.system.leakage.si
        if name in ("soonest", "latest") and flow <= 0:
            raise DomainError("the pump delivers no more than leaks")
        if name == "least":
            return math.floor(sum(one.said_least(phase) for one in each) / (self.application * (1.0 + applied)))
        if name == "most":
            return math.floor(sum(one.said_most(phase) for one in each) / (self.application * (1.0 - applied))) + 1
        if name == "soonest":
            return sum(one.said_charge(phase, "lowest") for one in each) / (flow * (1.0 + delivered))
        return sum(one.said_charge(phase, "highest") for one in each) / (flow * (1.0 - delivered))

    def left(self, phase: str) -> float:
        return nitrogen.absolute_pressure(self.it.reading("hold", self.system.id, phase))


def _expanded(system: Charged, held: float, volume: float, near: float) -> float:
    """A fast expansion from cut-out, with the exponent of the pressure that a first estimate gives."""
    top = system.absolute("cut-out")
    estimate = top * (held / volume) ** gas.fast_exponent(near, top, system.coldest)
    return top * (held / volume) ** gas.fast_exponent(estimate, top, system.coldest)


@dataclass(frozen=True)
class Gas:
    """The gas of one accumulator. Pressures are absolute."""

    system: Charged
    item: Accumulator

    @property
    def precharge(self) -> float:
        return nitrogen.absolute_pressure(self.item.precharge.si)

    @property
    def reference(self) -> float:
        return self.item.precharge_temperature.si

    @property
    def cold(self) -> float:
        return gas.precharge_at_temperature(self.precharge, self.reference, self.system.coldest)

    @property
    def hot(self) -> float:
        return nitrogen.hot_precharge(self.precharge, self.reference, self.system.hottest)

    @property
    def kept(self) -> float:
        return self.precharge * (1.0 - self.system.it.fact("precharge-loss-service"))

    def fast(self, lower: str) -> float:
        under, top = self.system.absolute(lower), self.system.absolute("cut-out")
        return accumulator.fast_usable_volume(self.item.volume.si, self.cold, under, top, self.system.coldest)

    def slow(self, lower: str) -> float:
        under, top = self.system.absolute(lower), self.system.absolute("cut-out")
        return accumulator.slow_usable_volume(self.item.volume.si, self.cold, under, top)

    @property
    def taken(self) -> float:
        volume = self.item.volume.si
        return volume - nitrogen.gas_volume(volume, self.precharge, self.system.absolute("cut-out"))

    def at_reference(self, phase: str) -> float:
        """The precharge read, at the reference temperature."""
        read, warm = (self.system.it.reading(check, self.item.id, phase) for check in ("precharge", "gas-temperature"))
        return gas.precharge_at_temperature(nitrogen.absolute_pressure(read), warm, self.reference)

    def end_now(self, end: int) -> float:
        """The coldest gas in use or read, or the hottest."""
        given = self.item.coldest.si if end < 0 else self.item.hottest.si
        read = self.system.it.worst(f"gas-temperature.{self.item.id}", end, given)
        return (max if end > 0 else min)(given, read)

    def said_precharges(self, phase: str) -> tuple[float, float]:
        """The precharge read, less and more by its tolerance, at the temperature of the day."""
        read = nitrogen.absolute_pressure(self.system.it.held(f"precharge.{self.item.id}", phase))
        share = self.system.it.fact("precharge-tolerance")
        return read * (1.0 - share), read * (1.0 + share)

    def said_warm(self, phase: str) -> float:
        return self.system.it.held(f"gas-temperature.{self.item.id}", phase)

    def said_least(self, phase: str) -> float:
        lower, upper, warm = self.system.said("lamp", phase), self.system.said("settled", phase), self.said_warm(phase)
        low, high = self.said_precharges(phase)
        if low <= gas.LOST_PRECHARGE_PA:
            gas.fast_exponent(lower, upper, warm)
            return 0.0
        volume = self.item.volume.si
        return min(accumulator.fast_usable_volume(volume, one, lower, upper, warm) for one in (low, high))

    def said_most(self, phase: str) -> float:
        """The most of an ideal gas at one temperature: at the precharge nearest to the lamp's pressure."""
        lower, upper, volume = self.system.said("late", phase), self.system.said("highest", phase), self.item.volume.si
        low, high = self.said_precharges(phase)
        best = min(max(lower, low), high)
        given = (nitrogen.gas_volume(volume, best, at) for at in (lower, upper))
        return max(0.0, next(given) - next(given))

    def said_charge(self, phase: str, end: str) -> float:
        low, high = self.said_precharges(phase)
        upper, volume = self.system.said(end, phase), self.item.volume.si
        if end == "highest":
            return max(0.0, volume - nitrogen.gas_volume(volume, low, upper))
        warm = self.said_warm(phase)
        if high >= upper:
            gas.charging_exponent(upper, upper, warm)
            return 0.0
        return charge.charge_volume(volume, high, upper, warm).low

    def gave(self, phase: str) -> float:
        """What it gave up in the hold, at the temperature of the end."""
        try:
            precharge = self.at_reference(phase)
        except DomainError:
            precharge = self.precharge
        tight, left = self.system.settled(phase), self.system.left(phase)
        last = self.system.it.reading("hold-end-temperature", self.system.system.id, phase)
        warm = gas.precharge_at_temperature(precharge, self.reference, last)
        return accumulator.slow_usable_volume(self.item.volume.si, warm, min(left, tight), tight)


ACCUMULATOR: Answers = {
    "precharge-abs": lambda it: it.precharge,
    "cold": lambda it: it.cold,
    "hot": lambda it: it.hot,
    "kept": lambda it: it.kept,
    "fast-{lower}": Gas.fast,
    "slow-{lower}": Gas.slow,
    "taken": lambda it: it.taken,
    "reference-{phase}": lambda it, phase: it.at_reference(phase) - gas.ATMOSPHERE_PA,
    "gave-{phase}": Gas.gave,
    "coldest-now": lambda it: it.end_now(-1),
    "hottest-now": lambda it: it.end_now(1),
    "said-least-{phase}": Gas.said_least,
    "said-most-{phase}": Gas.said_most,
    "said-quick-{phase}": lambda it, phase: it.said_charge(phase, "lowest"),
    "said-slow-{phase}": lambda it, phase: it.said_charge(phase, "highest"),
}
SYSTEM: Answers = {
    "{setting}-abs": Charged.absolute,
    "coldest": lambda it: it.coldest,
    "hottest": lambda it: it.hottest,
    "fast-slope": lambda it: gas.fast_exponent_slope(it.coldest),
    "volume": lambda it: it.volume,
    "charged": lambda it: it.volume * it.cold / it.absolute("cut-out"),
    "cold": lambda it: it.cold,
    "hot": lambda it: it.hot,
    "secondary": lambda it: it.secondary - gas.ATMOSPHERE_PA,
    "n-{lower}": Charged.exponent,
    "n-settled": lambda it: it.exponent_now(it.secondary, it.named("lamp-least")),
    "n-braked": lambda it: it.exponent_now(it.secondary, it.named("cut-out-most")),
    "n-wide": lambda it: it.exponent_now(it.named("lamp-least"), it.named("cut-out-most")),
    "n-before": lambda it: it.exponent_now(it.named("lamp-most"), it.named("cut-out-least")),
    "n-stored": lambda it: it.exponent_now(it.secondary, it.named("cut-out-least")),
    "foretold-{foretold}-{phase}": Charged.foretold,
    "fast-{lower}": Charged.fast,
    "slow-{lower}": Charged.slow,
    "count-{lower}": lambda it, lower: math.floor(it.fast(lower) / it.application),
    "count-slow": lambda it: math.floor(it.slow("lamp") / it.application),
    "lamp-strokes": Charged.lamp_for_strokes,
    "lamp-hot": Charged.lamp_for_hot,
    "lamp-needed": lambda it: max(it.lamp_for_strokes(), it.lamp_for_hot()) - gas.ATMOSPHERE_PA,
    # The lamp of the hottest precharge is in proportion to it.
    "high-lamp": lambda it: (
        it.named("lamp-least") / lamp.lamp_pressure_for_hot_precharge(it.volume, 1.0, it.application, it.strokes)
    ),
    "flow": lambda it: it.flow,
    "taken": lambda it: it.taken,
    "charge-time": lambda it: it.time(it.taken),
    "recharge": lambda it: it.time(it.it.fact("warning-strokes") * it.application),
    "hold-loss": Charged.hold_loss,
    "tight-{phase}": Charged.settled,
    "left-{phase}": Charged.left,
    "loss-{phase}": lambda it, phase: it.settled(phase) - it.left(phase),
    "leak-{phase}": lambda it, phase: sum(one.gave(phase) for one in it.each) / HOLD_S,
}
APPLICATIONS: Answers = {"after-{count}": Charged.after}


def in_use(it: Physics, source: str) -> float:
    """The highest pressure of a source: cut-out, or that of the pedal circuit at the force of the integrity test."""
    if source == PEDAL_CIRCUIT:
        return it.pressed(it.fact("integrity-pedal-force"))
    return next(system.cut_out.si for system in it.car.systems if system.id == source)


def wall(it: Physics, pipe: Pipe, worn: str) -> float:
    return lines.wall_left(pipe.wall.si, it.fact("pipe-wall-lost")) if worn else pipe.wall.si


def thin(it: Physics, pipe: Pipe, worn: str) -> float:
    return lines.thin_wall_stress(in_use(it, pipe.source), pipe.outer_diameter.si, wall(it, pipe, worn))


def burst(it: Physics, pipe: Pipe) -> float:
    return lines.thin_wall_pressure(pipe.tensile_strength.si, pipe.outer_diameter.si, wall(it, pipe, "-worn"))


PIPE: Answers = {
    "worn": lambda it, pipe: wall(it, pipe, "-worn"),
    "thin{worn}": thin,
    "thick{worn}": lambda it, pipe, worn: lines.thick_wall_stress(
        in_use(it, pipe.source), pipe.outer_diameter.si, wall(it, pipe, worn)
    ),
    "yields{worn}": lambda it, pipe, worn: pipe.yield_strength.si / thin(it, pipe, worn),
    "burst": burst,
    "factor": lambda it, pipe: lines.factor_of_safety(burst(it, pipe), in_use(it, pipe.source)),
}


def hose_factor(it: Physics, hose: Hose) -> float:
    return lines.factor_of_safety(hose.burst.si, in_use(it, hose.source))


BURST: Answers = {"factor": hose_factor}
