"""Hypotheses weighed against readings: a normal density with a floor, and the readings that all systems share.

A reading that lies on the floor of every hypothesis says nothing of any: it is left out, so that nonsense never raises a
claim. Sources of the method: robust mixtures of a normal and a uniform part; Bayes' rule.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from estimator.diagnosis.causes.evidence import Look, Reading
from estimator.diagnosis.causes.hypotheses import Foretold, Hypothesis, Shared, five_digits, rounded
from estimator.diagnosis.causes.setup import PSI, Expected
from estimator.diagnosis.causes.system_hypotheses import IDLE, pan_levels

WRONG, WRONG_OF_THREE = 0.02, 0.003
# Over what range a wrong reading may lie, SI, by check.
RANGES: Mapping[str, float] = {
    "precharge": 2000 * PSI,
    "charge-time": 800.0,
    "cut-out": 3000 * PSI,
    "cut-in": 3000 * PSI,
    "distribution-output": 2000 * PSI,
    "hold": 2500 * PSI,
    "applications": 100.0,
    "lamp-pressure": 2500 * PSI,
    "cycle-interval": 600.0,
    "first-presses": 100.0,
    "first-braking": 300.0,
    "pedal-movement": 0.125,
    "pedal-circuit-sink": 0.08,
    "road-stop": 15.0,
    "road-balance": 1.0,
    "valve-tilt": 0.5,
    "collected-leakage": 1e-3,
    "idle-speed": 1000 / 60,
}
PAN, IDLE_SPEED = "collected-leakage", "idle-speed"
# How far a sound idle lies from the one stated, as a share: ours, common practice, no source.
IDLE_SPREAD = 0.04
PAN_SOUND = rounded(Expected(5e-6, 4.5e-6))
LEAK_SEEN = (0.03, 0.8)
FLOOR_WET = (0.05, 0.55)
RESERVE_FAILS = (0.04, 0.93)


def wrong(check: str) -> float:
    """Return how often a reading of a check is plainly wrong: its density over the range, times that range."""
    return WRONG_OF_THREE if check in ("cut-out", "cut-in") else WRONG


def scale_of(check: str) -> float:
    """Return what makes of a spread's part the density of a reading that isn't wrong, times the range of the check."""
    return (1 - WRONG) / math.sqrt(math.pi) * RANGES[check]


def normal_part(check: str, foretold: Foretold, reading: Reading) -> float:
    """Return the density of a reading that isn't wrong, times the range of its check."""
    spread = foretold.spread + reading.spread
    return scale_of(check) * math.exp(-((reading.value - foretold.mean) ** 2) / spread) / math.sqrt(spread)


def distance(foretold: Foretold, reading: Reading) -> float:
    """Return how many standard deviations a reading lies from what is foretold, to six decimals."""
    return round(abs(reading.value - foretold.mean) / math.sqrt((foretold.spread + reading.spread) / 2), 6)


def believed(hypotheses: Sequence[Hypothesis], readings: Mapping[str, Reading]) -> dict[str, Reading]:
    """Return the readings that some hypothesis explains better than that they are wrong."""

    def explains(name: str, reading: Reading) -> bool:
        check = name.partition(".")[0]
        rows = (item.readings[name] for item in hypotheses if name in item.readings)
        return any(normal_part(check, row, reading) > wrong(check) for row in rows)

    return {name: reading for name, reading in readings.items() if explains(name, reading)}


def likelihoods(
    hypotheses: Sequence[Hypothesis], readings: Mapping[str, Reading], looks: Mapping[str, Look]
) -> list[float]:
    """Return prior times likelihood of each hypothesis."""
    found = [item.prior for item in hypotheses]
    for name, reading in readings.items():
        if all(name in item.readings for item in hypotheses):
            check = name.partition(".")[0]
            found = [
                weight * (normal_part(check, item.readings[name], reading) + wrong(check))
                for weight, item in zip(found, hypotheses, strict=True)
            ]
    for name, look in looks.items():
        if all(name in item.looks for item in hypotheses):
            found = [
                weight * (item.looks[name] if look.fault else 1 - item.looks[name])
                for weight, item in zip(found, hypotheses, strict=True)
            ]
    return found


@dataclass(frozen=True)
class SharedReadings:
    """The readings that all systems and the pedal circuit share; None where they don't stand. `idles` is what is foretold of
    the idle speed: as stated, then at each slow idle."""

    pan: Reading | None
    leak: Look | None
    reserve: Look | None
    floor: Look | None = None
    idle: Reading | None = None
    idles: tuple[Foretold, ...] = ()

    def without_nonsense(self, systems: int) -> SharedReadings:
        """The same without a pan that no combination of levels explains, or an idle speed that no idle does."""
        levels = itertools.combinations_with_replacement(range(len(pan_levels())), systems)
        pan, idle, pans = self.pan, self.idle, [self.pan_foretold(one) for one in levels]
        if pan is not None and not any(normal_part(PAN, one, pan) > wrong(PAN) for one in pans):
            pan = None
        if idle is not None and not any(normal_part(IDLE_SPEED, one, idle) > wrong(IDLE_SPEED) for one in self.idles):
            idle = None
        return replace(self, pan=pan, idle=idle)

    def of_idle(self, number: int) -> float:
        """Return the probability of the idle speed, times its range, at the idle of a number."""
        if self.idle is None:
            return 1.0
        return normal_part(IDLE_SPEED, self.idles[number], self.idle) + wrong(IDLE_SPEED)

    def likelihood(self, shared: Iterable[Shared]) -> float:
        """Return the probability of these readings where the systems (and the pedal circuit) add this to them."""
        adding = list(shared)
        of_leak, of_reserve = (
            self.of_leak(sum(item.leak for item in adding)),
            self.of_reserve(sum(item.dead for item in adding)),
        )
        return self.of_pan([item.pan for item in adding]) * of_leak * of_reserve

    def of_leak(self, number: int) -> float:
        """Return the probability of the looks for leaks, at cut-out and on the floor, where so many leak outside."""
        floor = 1.0 if self.floor is None else _seen(FLOOR_WET, number, self.floor.fault)
        return floor * (1.0 if self.leak is None else _seen(LEAK_SEEN, number, self.leak.fault))

    def of_reserve(self, number: int) -> float:
        """Return the probability of the look for reserve where so many systems have none."""
        return 1.0 if self.reserve is None else _seen(RESERVE_FAILS, number, self.reserve.fault)

    def of_pan(self, levels: Sequence[int]) -> float:
        """Return the probability of the pan with these levels."""
        return 1.0 if self.pan is None else normal_part(PAN, self.pan_foretold(levels), self.pan) + wrong(PAN)

    def pan_foretold(self, levels: Iterable[int]) -> Foretold:
        """Return what runs into the pan with these levels."""
        picked = [pan_levels()[level] for level in levels]
        return Foretold(
            PAN_SOUND.mean + sum(item.mean for item in picked), PAN_SOUND.spread + sum(item.spread for item in picked)
        )


def idles(stated: float) -> tuple[Foretold, ...]:
    """Return what is foretold of the idle speed: as stated, then at each slow idle."""
    spreads = [(1.0, 0.0), *((cell.mid, (cell.high - cell.low) / math.sqrt(12)) for cell in IDLE)]
    return tuple(rounded(Expected(stated * mid, stated * math.hypot(wide, IDLE_SPREAD))) for mid, wide in spreads)


def seen(chances: tuple[float, float], number: int) -> float:
    """Return the probability that a look finds a fault, each of so many adding its own chance to that of none."""
    return five_digits(1 - (1 - chances[0]) * (1 - chances[1]) ** number)


def _seen(chances: tuple[float, float], number: int, fault: bool) -> float:
    return seen(chances, number) if fault else 1 - seen(chances, number)
