"""From readings to verdicts: what is judged, its uncertainty, its distance from the limits, and the words.

A reading is judged with its expanded uncertainty as guard band: within limit only if it is better than the limit by
U, outside only if it is worse by U, and between the two too close to call. The distance is compared in the shown
unit, rounded to six decimals on both sides, in Python as in the sheet. An empty box is never good.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass

from estimator.limits.rows import CheckRow
from estimator.limits.sheet import serial, sheet_round
from estimator.limits.working import CANNOT, Si, Workings
from estimator.quantities import UNITS
from estimator.records import EntryValue, Gauge, JobRecord

WITHIN, OUTSIDE, CLOSE = "within limit", "outside limit", "too close to call"
NOT_MEASURED, COULD_NOT = "not measured", "could not be measured"
NO_FAULT, FAULT, NOT_CHECKED, COULD_NOT_CHECK = "no fault seen", "fault seen", "not checked", "could not be checked"
RECORDED, NO_LIMIT = "recorded", "no limit known"
GOOD = (WITHIN, NO_FAULT, RECORDED)
BAD = (OUTSIDE, CLOSE, FAULT)
LOOK_WORDS = (NO_FAULT, FAULT, COULD_NOT_CHECK)
FAMILY_WORDS = ("glycol", "mineral", "silicone", "not sure")
AGAIN = "measured again"
WHY_WORDS = ("no access", "seized or broken", "no gauge for it", "not safe to test", "see note", AGAIN)
PHASES = ("before", "after")
SIDES = ("service_low", "service_high", "danger_low", "danger_high")
COVERAGE = 2.0
_FAR = 1e99


@dataclass(frozen=True)
class Limits:
    """Where the limits of a check at a place come from: labels of working rows, or nothing on that side. `danger`
    sides stand for the service ones where the datum gives none."""

    ref: str
    label: str
    service_low: str
    service_high: str
    danger_low: str
    danger_high: str
    source: str
    status: str
    binding: str
    reason: str = ""


@dataclass(frozen=True)
class GaugeRow:
    """A gauge as Basis shows it, with the standard uncertainty of one reading."""

    gauge: Gauge
    day_before: int
    day_after: int

    @property
    def ref(self) -> str:
        return self.gauge.id

    @property
    def label(self) -> str:
        return self.gauge.id

    @property
    def span_si(self) -> float:
        return self.gauge.span_si

    @property
    def resolution_si(self) -> float:
        return self.gauge.resolution_si

    @property
    def accuracy_class(self) -> float:
        return float(self.gauge.accuracy_class)

    @property
    def due(self) -> dt.date:
        return self.gauge.due

    @property
    def u_si(self) -> float:
        """Class and resolution as rectangular distributions, in quadrature."""
        by_class = self.accuracy_class / 100 * self.span_si
        by_step = self.resolution_si / 2
        return math.sqrt((by_class * by_class + by_step * by_step) / 3)

    @property
    def overdue_before(self) -> int:
        return int(serial(self.due) < self.day_before)

    @property
    def overdue_after(self) -> int:
        return int(serial(self.due) < self.day_after)


@dataclass(frozen=True)
class Reading:
    """What stands in a check's boxes in one phase."""

    raw: EntryValue | None
    gauge: str
    why: str

    @property
    def number(self) -> float | None:
        return self.raw if isinstance(self.raw, float) else None

    @property
    def gave_up(self) -> bool:
        return self.why not in ("", AGAIN)


@dataclass(frozen=True)
class Phase:
    """The judging of one reading, in the shown unit where a margin is meant, in SI otherwise."""

    si: Si
    gauge_u: Si
    judged: Si
    u: Si
    service_margin: Si
    danger_margin: Si
    u_shown: Si
    verdict: str
    drive: str
    in_date: int


@dataclass(frozen=True)
class Derived:
    """The working rows that give what is judged, and its U, where that isn't the reading itself; "" where it is."""

    before: str = ""
    after: str = ""
    u_before: str = ""
    u_after: str = ""

    def labels(self, phase: str) -> tuple[str, str]:
        return (self.before, self.u_before) if phase == "before" else (self.after, self.u_after)


@dataclass(frozen=True)
class Judged:
    """A row of numbers judged, before and after work."""

    row: CheckRow
    unit: str
    limits: Limits
    values: Mapping[str, Si]
    derived: Derived
    fixed_u: float | str
    phases: Mapping[str, Phase]

    @property
    def ref(self) -> str:
        return self.row.ref

    @property
    def label(self) -> str:
        return self.row.label

    @property
    def factor(self) -> float:
        return UNITS[self.unit].factor

    @property
    def offset(self) -> float:
        return UNITS[self.unit].offset


def read(row: CheckRow, phase: str, entries: Mapping[str, EntryValue]) -> Reading:
    """What the entries hold for a row in a phase; a number only if it is one."""
    raw = entries.get(f"reading.{row.ref}.{phase}")
    if row.check.kind in ("number", "recorded") and not isinstance(raw, float):
        raw = None
    gauge = entries.get(f"reading.{row.ref}.gauge_{phase}", "")
    why = entries.get(f"reading.{row.ref}.why", "")
    return Reading(raw, str(gauge), str(why))


def word_verdict(row: CheckRow, reading: Reading, family: str) -> str:
    """The verdict of a check that is looked at, chosen or written down."""
    raw = "" if reading.raw is None else str(reading.raw)
    if row.check.kind == "text":
        if raw:
            return RECORDED
        return COULD_NOT if reading.gave_up else NOT_MEASURED
    if row.check.kind == "family":
        if raw:
            return NO_FAULT if raw == family else FAULT
        return COULD_NOT_CHECK if reading.gave_up else NOT_CHECKED
    if raw in LOOK_WORDS:
        return raw
    return COULD_NOT_CHECK if reading.gave_up else NOT_CHECKED


def number_verdict(judged: Si, margin: Si, u_shown: Si, gave_up: bool) -> str:
    """The words for a judged value, its distance from the nearer limit (positive is good) and its guard band."""
    if isinstance(judged, str) or isinstance(u_shown, str):
        return COULD_NOT if gave_up else NOT_MEASURED
    if isinstance(margin, str):
        return NO_LIMIT
    if margin >= u_shown:
        return WITHIN
    return OUTSIDE if margin <= -u_shown else CLOSE


def margin(judged: Si, low: Si, high: Si, factor: float) -> Si:
    """The distance of a value from the nearer of its limits in the shown unit; positive is within."""
    if isinstance(judged, str) or (isinstance(low, str) and isinstance(high, str)):
        return ""
    above = _FAR if isinstance(low, str) else judged - low
    below = _FAR if isinstance(high, str) else high - judged
    return sheet_round(min(above, below) / factor, 6)


def judge(
    row: CheckRow,
    record: JobRecord,
    workings: Workings,
    limits: Limits,
    gauges: Mapping[str, GaugeRow],
    entries: Mapping[str, EntryValue],
    derived: Derived,
    labels: Mapping[str, str],
) -> Judged:
    """Judge a row of numbers in both phases. `labels` leads from a working row's label to its reference."""
    unit = getattr(record.shop.show, row.check.quantity)
    factor = UNITS[unit].factor
    plain = record.shop.verdicts.plain_comparison and not row.check.safety
    fixed: float | str = "" if row.check.uncertainty is None else row.check.uncertainty

    def working(label: str) -> Si:
        value = workings.si(labels[label]) if label else ""
        return "" if value == CANNOT else value

    values = {side: working(getattr(limits, side)) for side in SIDES}
    phases: dict[str, Phase] = {}
    for phase in PHASES:
        reading = read(row, phase, entries)
        si = workings.readings[f"judging.{row.ref}.si_{phase}"]
        gauge_u = workings.readings[f"judging.{row.ref}.gauge_u_{phase}"]
        value_label, u_label = derived.labels(phase)
        judged = working(value_label) if value_label else si
        u: Si = "" if isinstance(gauge_u, str) else COVERAGE * gauge_u
        if plain:
            u = 0.0
        elif u_label:
            u = working(u_label)
        elif isinstance(fixed, float):
            u = fixed * factor
        gauge = gauges.get(reading.gauge.casefold())
        late = 0 if gauge is None else getattr(gauge, f"overdue_{phase}")
        service = margin(judged, values["service_low"], values["service_high"], factor)
        danger = margin(judged, values["danger_low"], values["danger_high"], factor)
        u_shown: Si = "" if isinstance(u, str) else sheet_round(u / factor, 6)
        recorded = row.check.kind == "recorded"
        verdicts = [
            _recorded(si, reading) if recorded else number_verdict(judged, distance, u_shown, reading.gave_up)
            for distance in (service, danger)
        ]
        phases[phase] = Phase(si, gauge_u, judged, u, service, danger, u_shown, *verdicts, 1 - late)
    return Judged(row, unit, limits, values, derived, fixed, phases)


def _recorded(si: Si, reading: Reading) -> str:
    if isinstance(si, float):
        return RECORDED
    return COULD_NOT if reading.gave_up else NOT_MEASURED
