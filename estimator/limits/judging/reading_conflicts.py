"""Readings that can't all be true, in words: what was read, what another foretells, and what would fit.

The working rows decide (`limits/rows/conflict_rows.py`); what a count or a time betrays is computed apart from them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from estimator.boxes import keys
from estimator.boxes.keys import CheckRef, check_ref
from estimator.errors import DomainError
from estimator.hydraulics.domain import Band
from estimator.hydraulics.gas import ATMOSPHERE_PA
from estimator.hydraulics.reserve import inferred_high_precharge, inferred_precharge, precharge_from_charge_volume
from estimator.limits.judging.verdict_words import PHASES
from estimator.limits.working import Si, Workings
from estimator.quantities import from_si, printed
from estimator.records import Accumulator, JobRecord


@dataclass(frozen=True)
class Disagreement:
    """Readings that can't all be true: their keys, the first of which is doubted most, and the sentence that names them."""

    keys: tuple[str, ...]
    what: str


def disagreements(record: JobRecord, workings: Workings) -> Iterator[Disagreement]:
    """Every set of readings of a phase that can't all be true."""
    for phase in PHASES:
        for system in record.car.systems:
            of = _Said(record, workings, system.id, phase)
            if of.says("count-against"):
                yield of.applications()
            if of.says("time-against"):
                yield of.charge_time()
        if workings.si(f"pan.against-{phase}") == 1:
            yield _leakage(record, workings, phase)


@dataclass(frozen=True)
class _Said:
    """What the readings of one system in one phase say, by the rows that were worked out of them."""

    record: JobRecord
    workings: Workings
    system: str
    phase: str

    @property
    def accumulators(self) -> Sequence[Accumulator]:
        return [item for item in self.record.car.accumulators if item.system == self.system]

    @property
    def place(self) -> str:
        return f"{self.system.replace('-', ' ')}, {self.phase} work"

    def says(self, row: str) -> bool:
        return self.workings.si(f"{self.system}.{row}-{self.phase}") == 1

    def at(self, row: str, scope: str = "") -> float:
        """A row that holds a number wherever readings disagree."""
        return _number(self.workings.si(f"{scope or self.system}.{row}-{self.phase}"))

    def read(self, ref: CheckRef) -> float:
        return _number(self.workings.readings[keys.held(ref, self.phase)])

    def keys(self, ref: CheckRef) -> tuple[str, ...]:
        precharges = (check_ref("precharge", item.id) for item in self.accumulators)
        return tuple(keys.reading(one, self.phase) for one in (ref, *precharges))

    def precharges(self) -> str:
        unit = self.record.shop.show.pressure
        read = (self.read(check_ref("precharge", item.id)) for item in self.accumulators)
        return " and ".join(f"{printed(from_si(si, unit), unit)} {unit}" for si in read)

    def applications(self) -> Disagreement:
        ref = check_ref("applications", self.system)
        least, most = self.at("foretold-least"), self.at("foretold-most")
        what = (
            f"{self.place}: applications counted: {self.read(ref):g}; the precharge read, {self.precharges()}, gives "
            f"{least:.0f} to {most:.0f}: one of the two is wrong, or an accumulator is full of fluid or its gas is lost"
        )
        return Disagreement(self.keys(ref), what + self._count_fits(self.read(ref)))

    def charge_time(self) -> Disagreement:
        ref = check_ref("charge-time", self.system)
        soonest, latest = self.at("foretold-soonest"), self.at("foretold-latest")
        what = (
            f"{self.place}: charge time {self.read(ref):.0f} s; the precharge read, {self.precharges()}, gives "
            f"{soonest:.0f} to {latest:.0f} s with the pump of the car file: one of the two is wrong, the pump is weak, or the "
            "accumulator does not take up what it should"
        )
        return Disagreement(self.keys(ref), what + self._time_fits(self.read(ref)))

    @property
    def _volume(self) -> float | None:
        """Of the one accumulator [m³]; None for several."""
        volumes = [item.volume.si for item in self.accumulators if item.volume]
        return volumes[0] if len(volumes) == len(self.accumulators) == 1 else None

    def _drawn(self, amount: float, row: str, tolerance: str) -> Band:
        """An amount times what each of it takes, with the tolerance of that."""
        share = _number(self.workings.si(f"yardsticks.{tolerance}"))
        each = _number(self.workings.si(f"{self.system}.{row}"))
        return Band(amount * each * (1 - share), amount * each * (1 + share))

    def _count_fits(self, count: float) -> str:
        """The precharge that the fluid drawn between cut-out and lamp betrays, in words; "" where it betrays none."""
        volume = self._volume
        if volume is None:
            return ""
        warm = self.at("said-warm", self.accumulators[0].id)
        drawn = self._drawn(count, "application", "application-tolerance")
        early, late, low, high = (self.at(f"said-{name}") for name in ("lamp", "late", "settled", "highest"))
        try:
            least = inferred_precharge(volume, drawn.low, late, high, warm)
            most = inferred_precharge(volume, drawn.high, early, low, warm)
            higher = inferred_high_precharge(volume, drawn.high, late, low, warm).low
            highest = inferred_high_precharge(volume, drawn.low, early, high, warm).high
        except DomainError:
            return ""
        fits = [self._gauge_words(least.low, most.high), self._gauge_words(higher, highest)]
        return f"; the count fits a precharge of {' or, far too high, of '.join(fits)}"

    def _time_fits(self, seconds: float) -> str:
        """The precharge that the fluid taken up to cut-out betrays, in words; "" where it betrays none."""
        volume = self._volume
        if volume is None:
            return ""
        warm = self.at("said-warm", self.accumulators[0].id)
        taken = self._drawn(seconds, "net-flow", "delivery-tolerance")
        try:
            least = precharge_from_charge_volume(volume, taken.high, self.at("said-lowest"), warm)
            most = precharge_from_charge_volume(volume, taken.low, self.at("said-highest"), warm)
        except DomainError:
            return ""
        return f"; the time fits a precharge of {self._gauge_words(least.low, most.high)}"

    def _gauge_words(self, low: float, high: float) -> str:
        unit = self.record.shop.show.pressure
        ends = [max(0.0, from_si(absolute - ATMOSPHERE_PA, unit)) for absolute in (low, high)]
        return f"{printed(ends[0], unit)} to {printed(ends[1], unit)} {unit}"


def _leakage(record: JobRecord, workings: Workings, phase: str) -> Disagreement:
    """What runs into the pan in 30 min can't be more than the charged systems lose in that time."""
    pan, unit = check_ref("collected-leakage", "car"), record.shop.show.volume
    collected = _number(workings.readings[keys.held(pan, phase)])
    lost = _number(workings.si(f"pan.foretold-{phase}"))
    holds = (check_ref("hold", system.id) for system in record.car.systems)
    return Disagreement(
        tuple(keys.reading(ref, phase) for ref in (pan, *holds)),
        f"collected leakage, {phase} work: {from_si(collected, unit):.3g} {unit} ran into the pan in 30 min; the pressure lost "
        f"in the hold accounts for at most {from_si(lost, unit):.3g} {unit}: one of the two is wrong, or the pan was wet",
    )


def _number(si: Si) -> float:
    """A value that holds a number wherever readings disagree."""
    assert not isinstance(si, str)
    return float(si)
