"""Cars with faults, and what a mechanic reads of them: other code than what weighs causes.

Real nitrogen that exchanges heat (`tests/never_ground/charge.py`), leaks that go with the square root of the pressure, a
gauge with an error of its own on each system, severities off any grid, an application that takes more or less than car.toml
gives, and now and then a reading that is plainly wrong. Ranges are ours: no source.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from random import Random

from estimator.limits.judging.check_rows import check_rows
from estimator.quantities import UNITS
from estimator.records import JobRecord, System
from tests.faulty_cars.ten_minutes import braking, expected_presses, presses
from tests.never_ground.charge import Charge
from tests.never_ground.honest_gauges import Gauges
from tests.never_ground.sound_cars import ATMOSPHERE, PSI, application, drawn, settled, true_values
from tests.real_nitrogen import density, pressure

ML, MM = 1e-6, 1e-3
STROKE_S, HOLD_S, LONGEST_S = 7.0, 1800.0, 600.0
SLIP, GAUGE_BIAS = 0.004, 25 * PSI
OF_GAUGE = ("cut-out", "cut-in", "lamp-pressure", "distribution-output", "hold-start", "hold")
# A hold with a part blanked finds a fault where more than this is lost.
LOST = 150 * PSI
# How often a look finds what isn't there: in the first ten minutes, and later with good light.
FALSE_SIGN, FALSE_LOOK = 0.03, 0.01


@dataclass(frozen=True)
class Fault:
    """What is wrong with a system; nothing by default. gas: share of the maker's precharge by accumulator; leaks in m³/s at
    cut-out: `back` while the pump stands, `out` always; pressures are shifts in Pa; `gauge` the factor of its gauge."""

    gas: Mapping[str, float] = field(default_factory=dict)
    burst: bool = False
    back: float = 0.0
    out: float = 0.0
    into_pan: bool = False
    seen: bool = False
    delivery: float = 1.0
    foam: bool = False
    cut_out: float = 0.0
    cut_in: float = 0.0
    lamp: float = 0.0
    output: float = 0.0
    stroke: float = 1.0
    gauge: float = 1.0
    user: float = 0.0


@dataclass(frozen=True)
class Faults:
    """What is wrong with a car: its systems by id, shifts of true values (SI) by check and place, looks that find a fault with a
    probability, the same of tests made on demand, readings mixed up between two systems."""

    systems: Mapping[str, Fault] = field(default_factory=dict)
    shifts: Mapping[str, float] = field(default_factory=dict)
    looks: Mapping[str, float] = field(default_factory=dict)
    swapped: str = ""
    tests: Mapping[str, float] = field(default_factory=dict)


Readings = dict[str, tuple[float | str, str]]


def faulty_readings(record: JobRecord, faults: Faults, rng: Random) -> Readings:
    """By the reference of each check's row: what stands in its box, in the shown unit, and the gauge's id. What is read on demand
    alone isn't there."""
    return FaultyCar(record, faults, rng).first


class FaultyCar:
    """A car with its faults: what is read of it, what is read again, and what tests find."""

    def __init__(self, record: JobRecord, faults: Faults, rng: Random) -> None:
        self.record, self.faults, self.rng = record, faults, rng
        truth = drawn(record, rng)
        self.true = dict(true_values(record, truth, rng))
        self.systems: dict[str, _System] = {}
        pan = 0.0
        for system in record.car.systems:
            fault = faults.systems.get(system.id, Fault())
            own = replace(truth, stroke=truth.stroke * rng.gauss(1.0, 0.05))
            self.systems[system.id] = _System(record, system, fault, own, rng)
            pan += self.systems[system.id].read(self.true)
        self.true["collected-leakage.car"] += pan
        for ref, shift in faults.shifts.items():
            if ref in self.true:
                self.true[ref] = max(0.0, self.true[ref] + shift)
        mixed = dict(self.true)
        _mixed(record, faults.swapped, mixed)
        self.first = _shown(record, faults, mixed, rng)

    def read_again(self, ref: str, *, other_gauge: bool = False) -> tuple[float | str, str]:
        """The same reading with care: no slip, nothing mixed up, by another gauge if one is taken."""
        system = self.systems.get(ref.split(".")[1])
        factor = system.fault.gauge if other_gauge and system and ref.split(".")[0] in OF_GAUGE else 1.0
        return _shown(self.record, self.faults, self.true | {ref: self.true.get(ref, 0.0) / factor}, self.rng, ref)[ref]

    def finds(self, check: str, place: str) -> bool:
        """Whether a test that is made on demand finds a fault: of a hold with a part blanked by what is lost without that part."""
        if check.startswith("hold-"):
            system = self.systems[place]
            fault, normal = system.fault, system.normal
            if check == "hold-pump-blanked":
                lost = system.lost(replace(fault, back=0.0), normal)
            elif check == "hold-valve-blanked":
                lost = system.lost(replace(fault, out=0.0) if fault.into_pan else fault, 0.0)
            else:
                lost = system.lost(replace(fault, out=fault.out + fault.user), normal)
            return lost + self.rng.gauss(0, GAUGE_BIAS) > LOST
        if check == "pump-free-flow":
            fault = self.systems[place].fault
            chance = 0.9 if fault.foam else 0.2 if fault.delivery < 1 else 0.05
        elif check == "leaks-at-cut-out":
            chance = 0.97 if self.faults.looks.get(f"{check}.{place}") else 0.02
        else:
            chance = self.faults.tests.get(check, 0.04)
        return self.rng.random() < chance


class _System:
    """One system with its gas, step by step."""

    def __init__(self, record: JobRecord, system: System, fault: Fault, truth, rng: Random) -> None:  # type: ignore[no-untyped-def]
        self.record, self.system, self.fault, self.truth, self.rng = record, system, fault, truth, rng
        self.normal = system.leakage.si * truth.leak

    def gas(self) -> list[Charge]:
        """Fresh shells, fluid side empty; without the one whose diaphragm burst."""
        found = []
        for item in self.record.car.accumulators:
            if item.system != self.system.id:
                continue
            share = self.fault.gas.get(item.id, 1 - self.truth.loss)
            if self.fault.burst and item.id in self.fault.gas:
                continue
            least = ATMOSPHERE * 1.02
            at_reference = max((item.precharge.si + ATMOSPHERE) * share, least)
            now = pressure(density(at_reference, item.precharge_temperature.si), self.truth.ambient)
            found.append(Charge(item.volume.si, now, self.truth.ambient, self.truth.relaxation_s))
        return found

    @property
    def warns(self) -> float:
        """Where the lamp should come on."""
        return self.system.lamp.si + ATMOSPHERE

    def sound_gas(self) -> list[Charge]:
        """The shells as their maker states."""
        return [
            Charge(item.volume.si, item.precharge.si + ATMOSPHERE, self.truth.ambient, self.truth.relaxation_s)
            for item in self.record.car.accumulators
            if item.system == self.system.id
        ]

    def read(self, true: dict[str, float]) -> float:
        """Put what the system shows into `true`; return what runs into the pan."""
        name, fault = self.system.id, self.fault
        cut_outs = [f"cut-out.{name}.{number}" for number in (1, 2, 3)]
        cut_ins = [f"cut-in.{name}.{number}" for number in (1, 2, 3)]
        for ref in cut_outs:
            true[ref] += fault.cut_out + (self.rng.gauss(0, 60 * PSI) if fault.burst else 0.0)
        for ref in cut_ins:
            true[ref] += fault.cut_in + (self.rng.gauss(0, 60 * PSI) if fault.burst else 0.0)
        cut_out = sorted(true[ref] for ref in cut_outs)[1]
        true[f"lamp-pressure.{name}"] += fault.lamp
        true[f"distribution-output.{name}"] += fault.output
        lamp = true[f"lamp-pressure.{name}"]
        start = max(settled(self.system, self.truth, cut_out + ATMOSPHERE), 0.9 * cut_out)
        true[f"hold-start.{name}"] = start - ATMOSPHERE
        left, into_pan = self.hold(start)
        true[f"hold.{name}"] = left - ATMOSPHERE
        true[f"hold-start-temperature.{name}"] = true[f"hold-end-temperature.{name}"] = self.truth.ambient
        true[f"charge-time.{name}"] = self.charge(cut_out + ATMOSPHERE)
        counted_from = start + self.rng.random() * (cut_out + ATMOSPHERE - start)
        true[f"applications.{name}"] = float(self.count(counted_from, lamp + ATMOSPHERE))
        true[f"cycle-interval.{name}"] = self.cycle(
            cut_out + ATMOSPHERE, sorted(true[ref] for ref in cut_ins)[1] + ATMOSPHERE
        )
        cut_in = sorted(true[ref] for ref in cut_ins)[1] + ATMOSPHERE
        settings = (min(cut_in, 0.98 * (cut_out + ATMOSPHERE)), cut_out + ATMOSPHERE)
        watched = _System(self.record, self.system, fault, self.truth, Random(f"{name} {self.truth}"))
        stop = expected_presses(
            self, self.system.cut_in.si + ATMOSPHERE, self.system.cut_out.si + ATMOSPHERE, self.warns
        )
        true[f"first-presses.{name}"] = presses(watched, *settings, lamp + ATMOSPHERE, stop)
        true[f"first-braking.{name}"] = braking(watched, *settings)
        for item in self.record.car.accumulators:
            if item.system == name and item.id in fault.gas:
                share = 0.0 if fault.burst else fault.gas[item.id]
                true[f"precharge.{item.id}"] = max(0.0, (item.precharge.si + ATMOSPHERE) * share - ATMOSPHERE)
        for check in OF_GAUGE:
            for ref in [ref for ref in true if ref == f"{check}.{name}" or ref.startswith(f"{check}.{name}.")]:
                true[ref] *= fault.gauge
        return into_pan if fault.into_pan else 0.0

    def leak(self, now: float, extra: float) -> float:
        """Normal clearances in proportion to the pressure, the fault's leak with its square root."""
        top = self.system.cut_out.si + ATMOSPHERE
        return self.normal * now / top + extra * math.sqrt(max(0.0, now - ATMOSPHERE) / top)

    def hold(self, start: float) -> tuple[float, float]:
        """What is left of a settled pressure after 30 min at one temperature, and what the fault leaked."""
        shells, lost, step, now = self.gas(), 0.0, 60.0, start
        mass = [shell.mass for shell in shells]
        volume = sum(min(shell.shell, shell.at(start, self.truth.ambient)) for shell in shells)
        extra = self.fault.back + self.fault.out
        for _ in range(int(HOLD_S / step)):
            given = self.leak(now, extra) * step
            lost += extra * math.sqrt(max(0.0, now - ATMOSPHERE) / (self.system.cut_out.si + ATMOSPHERE)) * step
            volume += given
            now = self._at(shells, mass, volume, now)
            if now <= ATMOSPHERE:
                break
        return now, lost

    def lost(self, fault: Fault, normal: float) -> float:
        """What the hold loses with another fault and another normal leakage."""
        start = max(settled(self.system, self.truth, self.system.cut_out.si + ATMOSPHERE), 0.9 * self.system.cut_out.si)
        other = _System(self.record, self.system, fault, self.truth, self.rng)
        other.normal = normal
        return start - other.hold(start)[0]

    def _at(self, shells: list[Charge], mass: list[float], volume: float, start: float) -> float:
        """The pressure at which the gas takes this volume: each shell's gas until its fluid is out."""
        if not shells or volume >= sum(shell.shell for shell in shells):
            return ATMOSPHERE
        if len(shells) == 1:
            now = pressure(mass[0] / volume, self.truth.ambient)
            return now if now > ATMOSPHERE * 1.5 else ATMOSPHERE
        low, high = ATMOSPHERE, start
        for _ in range(16):
            middle = (low + high) / 2
            taken = sum(
                min(shell.shell, of / density(middle, self.truth.ambient))
                for shell, of in zip(shells, mass, strict=True)
            )
            low, high = (low, middle) if taken < volume else (middle, high)
        return low if low > ATMOSPHERE * 1.5 else ATMOSPHERE

    def charge(self, cut_out: float) -> float:
        """Seconds from a gauge at zero to cut-out."""
        pump, shells = self.system.pump, self.gas()
        turns = pump.idle_speed.si * pump.drive_ratio.si
        flow = pump.displacement.si * turns * pump.volumetric_efficiency.si * self.truth.delivery * self.fault.delivery
        if not shells:
            return self.rng.uniform(1.0, 4.0)
        step = max(0.5, sum(shell.shell for shell in shells) / flow / 90)
        seconds, limit = 0.0, 1200.0
        while shells[0].pressure < cut_out and seconds < limit:
            net = flow - self.leak(shells[0].pressure, self.fault.out)
            room = min(shell.volume / shell.shell for shell in shells)
            if room < 0.012:
                break
            if net <= 0.02 * flow:
                return limit
            # Of several shells the one of the lowest pressure takes fluid; those of one pressure share it.
            lowest = min(shell.pressure for shell in shells)
            taking = [shell for shell in shells if shell.pressure < lowest + 2e5]
            for part in taking:
                part.move(-net * step / len(taking), 0.0)
            for part in shells:
                part.move(0.0, step)
            seconds += step
        return seconds * (self.rng.gauss(1.0, 0.12) if self.fault.foam else 1.0) + self.rng.uniform(0, 2)

    def count(self, start: float, lamp: float) -> int:
        """Applications from a settled charge until the lamp comes on."""
        shells = self.gas()
        if not shells or start <= lamp:
            return 0
        for shell in shells:
            shell.settle(shell.at(start, self.truth.ambient))
        stroke = application(self.record, self.system.id) * self.truth.stroke * self.fault.stroke
        done = 0
        while done < 150:
            now = max(shell.pressure for shell in shells)
            drawn_now = stroke + STROKE_S * self.leak(now, self.fault.back + self.fault.out)
            if not self._give(shells, drawn_now):
                return done
            done += 1
            if max(shell.pressure for shell in shells) <= lamp:
                return done
            for shell in shells:
                shell.move(0.0, STROKE_S)
        return done

    @staticmethod
    def _give(shells: list[Charge], fluid: float) -> bool:
        """Give fluid in small portions, each from the shell of the highest pressure that has any left."""
        for _ in range(4):
            able = [shell for shell in shells if shell.volume + fluid / 4 < shell.shell]
            if not able:
                return False
            max(able, key=lambda shell: shell.pressure).move(fluid / 4, 0.0)
        return True

    def cycle(self, cut_out: float, cut_in: float) -> float:
        """Seconds between two cut-ins at idle, nothing touched; the longest that anyone waits where none comes."""
        shells = self.gas()
        start = max(settled(self.system, self.truth, cut_out), cut_in * 1.01)
        extra = self.fault.back + self.fault.out + self.fault.user
        given = sum(
            min(s.shell, s.at(cut_in, self.truth.ambient)) - min(s.shell, s.at(start, self.truth.ambient))
            for s in shells
        )
        rate = self.leak((start + cut_in) / 2, extra)
        return min(LONGEST_S, 2.0 + given / rate * self.rng.gauss(1.0, 0.1)) if rate > 0 else LONGEST_S


def _mixed(record: JobRecord, swapped: str, true: dict[str, float]) -> None:
    """Mix up the readings of two systems: their gauges, or their counts."""
    checks = {
        "gauges": ("charge-time", "cut-out", "cut-in", "distribution-output", "hold-start", "hold", "lamp-pressure"),
        "counts": ("applications",),
        "": (),
    }[swapped]
    one, two = (system.id for system in record.car.systems[:2])
    for ref in list(true):
        check, _, rest = ref.partition(".")
        if check in checks and rest.split(".")[0] == one:
            other = ref.replace(one, two)
            true[ref], true[other] = true[other], true[ref]


def _shown(record: JobRecord, faults: Faults, true: Mapping[str, float], rng: Random, again: str = "") -> Readings:
    """What is read in one go; `again`: that reading with care, on demand or not."""
    gauges = Gauges(record, rng)
    bias = {system.id: rng.uniform(-GAUGE_BIAS, GAUGE_BIAS) for system in record.car.systems}
    found: Readings = {}
    later, first = rng, Random(repr(bias))
    for row in check_rows(record.car, record.shop.show):
        kind, place = row.check.kind, row.place.id
        if again not in ("", row.ref) or (row.check.asked == "on demand" and again == ""):
            continue
        rng = first if row.check.id.startswith("first-") else later
        if kind in ("family", "text"):
            found[row.ref] = (record.car.fluid.family if kind == "family" else "KR-1187", "")
            continue
        if kind == "look":
            seldom = FALSE_SIGN if rng is first else FALSE_LOOK
            chance = faults.looks.get(f"{row.check.id}.{place}", seldom)
            found[row.ref] = ("fault found" if rng.random() < chance else "no fault found", "")
            continue
        if row.ref not in true:
            continue
        unit, si = UNITS[getattr(record.shop.show, row.check.quantity)], true[row.ref]
        gauge = gauges.of(row) if row.check.measured else None
        if row.check.quantity == "pressure" and place in bias:
            si += bias[place]
        if rng.random() < SLIP and not again:
            si *= rng.choice((0.1, 0.55, 1.8))
        shown = (gauges.shows(gauge, si) if gauge else si) - unit.offset
        least = -math.inf if row.check.quantity == "temperature" else 0.0
        found[row.ref] = (round(max(shown / unit.factor, least), 6), gauge.id if gauge else "")
    return found
