"""A system as it should be, from what the car's limits already worked out and no reading changes. SI units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from estimator.limits.judging.judging import Judged
from estimator.limits.working import Workings
from estimator.records import Car, System

PSI = 6894.757293168
# How far a setting of a sound system lies from the middle of the manufacturer's window: half the window is 2.5 of these.
SIGMAS_TO_END = 2.5
SETTING = 35 * PSI
LAMP = 28 * PSI
# Shares of the manufacturer's precharge between which it is sound; the lower is that at which it is recharged.
LOWEST_SOUND, HIGHEST_SOUND = 0.88, 1.06


@dataclass(frozen=True)
class Expected:
    """What a sound car reads: mean and standard deviation."""

    mean: float
    sd: float


@dataclass(frozen=True)
class Shell:
    """An accumulator: gas volume, precharge (absolute, at its reference temperature), and the range of a sound precharge as
    shares of that."""

    id: str
    volume: float
    precharge: float
    low: float
    high: float


@dataclass(frozen=True)
class SystemSetup:
    """A system as its manufacturer states it, absolute pressures; None for what isn't known."""

    id: str
    shells: tuple[Shell, ...]
    cut_out: float | None
    cut_in: float | None
    lamp: float | None
    cut_out_sd: float
    cut_in_sd: float
    output: Expected | None
    flow: float | None
    leakage: float
    application: float | None
    other_users: bool
    spools_into_pan: str


class Figures:
    """Numbers of the workings and of the limits that were decided; None for words and for rows that a car doesn't have.

    What is asked for here mustn't rest on readings: what hypotheses foretell is drafted with the workbook."""

    def __init__(self, workings: Workings, judged: Mapping[str, Judged]) -> None:
        self.workings = workings
        self.judged = judged

    def row(self, ref: str) -> float | None:
        """The value of a working row."""
        row = self.workings.rows.get(ref)
        return None if row is None or isinstance(row.si, str) else float(row.si)

    def limit(self, check: str, side: str) -> float | None:
        """A limit of a check."""
        item = self.judged.get(check)
        value = "" if item is None else item.values[side]
        return None if isinstance(value, str) else float(value)

    def window(self, check: str, least: float = 0.0) -> Expected | None:
        """A sound reading of a check with two service limits: their middle."""
        low, high = self.limit(check, "service_low"), self.limit(check, "service_high")
        if low is None or high is None:
            return None
        return Expected((low + high) / 2, max((high - low) / 2 / SIGMAS_TO_END, least))


def system_setup(figures: Figures, car: Car, system: System) -> SystemSetup:
    """Return a system as it should be."""
    name = system.id

    def spread(check: str) -> float:
        window = figures.window(check)
        return SETTING if window is None else min(window.sd, SETTING * 2)

    shells = []
    for item in car.accumulators:
        volume, precharge = figures.row(f"{item.id}.volume"), figures.row(f"{item.id}.precharge-abs")
        if item.system != name or volume is None or precharge is None:
            continue
        kept = figures.row(f"{item.id}.kept")
        shells.append(
            Shell(item.id, volume, precharge, LOWEST_SOUND if kept is None else kept / precharge, HIGHEST_SOUND)
        )
    complete = len(shells) == sum(item.system == name for item in car.accumulators)
    return SystemSetup(
        id=name,
        shells=tuple(shells) if complete else (),
        cut_out=figures.row(f"{name}.cut-out-abs"),
        cut_in=figures.row(f"{name}.cut-in-abs"),
        lamp=figures.row(f"{name}.lamp-abs"),
        cut_out_sd=spread(f"cut-out.{name}.1"),
        cut_in_sd=spread(f"cut-in.{name}.1"),
        output=figures.window(f"distribution-output.{name}"),
        flow=figures.row(f"{name}.flow"),
        leakage=system.leakage.si,
        application=figures.row(f"{name}.application"),
        other_users=any(user.system == name for user in car.supply_users),
        spools_into_pan=car.pedal.spools_leak_into_pan,
    )
