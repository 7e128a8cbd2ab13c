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
from estimator.limits.working import Si, Workings
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
    def words(self) -> str:
        if self.raw is None:
            return ""
        return self.raw if isinstance(self.raw, str) else format(self.raw, ".15g" if isinstance(self.raw, float) else "")

    @property
    def gave_up(self) -> bool:
        return self.why not in ("", AGAIN)


@dataclass(frozen=True)
class Distance:
    """How far a value is from a pair of limits, in the shown unit; positive is within. "" where there is no limit."""

    above: Si
    below: Si

    @property
    def margin(self) -> Si:
        numbers = [side for side in (self.above, self.below) if not isinstance(side, str)]
        return min(numbers) if numbers else ""

    def word(self, u_shown: Si) -> str:
        """The words for this distance and a guard band."""
        margin = self.margin
        if isinstance(margin, str) or isinstance(u_shown, str):
            return NO_LIMIT
        if margin >= u_shown:
            return WITHIN
        return OUTSIDE if margin <= -u_shown else CLOSE


@dataclass(frozen=True)
class Phase:
    """The judging of one reading: SI values, and in the shown unit what is compared."""

    si: Si
    gauge_u: Si
    gave_up: int
    recorded: bool
    judged: Si
    u_own: Si
    u: Si
    u_shown: Si
    service: Distance
    danger: Distance
    in_date: int

    @property
    def chance(self) -> Si:
        """The probability that the true value is within the service limits, to four decimals (JCGM 106): with U twice
        the standard uncertainty u, Φ(above/u) + Φ(below/u) - 1, a side without a limit counting as sure."""
        known = [chance for side in ("above", "below") if not isinstance(chance := self.chance_of(side), str)]
        return sheet_round(sum(known) - len(known) + 1, 4) if known else ""

    def chance_of(self, side: str) -> Si:
        """The probability that the true value is on the right side of one service limit."""
        room: Si = getattr(self.service, side)
        if isinstance(room, str) or isinstance(self.u_shown, str) or self.u_shown <= 0:
            return ""
        return _normal(COVERAGE * room / self.u_shown)

    @property
    def blank(self) -> str:
        return COULD_NOT if self.gave_up else NOT_MEASURED

    @property
    def service_word(self) -> str:
        return self.service.word(self.u_shown)

    @property
    def danger_word(self) -> str:
        return self.danger.word(self.u_shown)

    @property
    def verdict(self) -> str:
        return self._verdict(self.service_word)

    @property
    def drive(self) -> str:
        return self._verdict(self.danger_word)

    def _verdict(self, word: str) -> str:
        if self.recorded:
            return RECORDED if isinstance(self.si, float) else self.blank
        if isinstance(self.judged, str) or isinstance(self.u_shown, str):
            return self.blank
        return word


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
    plain: int
    phases: Mapping[str, Phase]

    @property
    def ref(self) -> str:
        return self.row.ref

    @property
    def label(self) -> str:
        return self.row.label

    @property
    def gave_up(self) -> int:
        return self.phases["before"].gave_up

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


@dataclass(frozen=True)
class Looked:
    """A check that isn't a number: what was said of it, before and after work."""

    row: CheckRow
    before: Reading
    after: Reading
    wanted_family: str

    @property
    def ref(self) -> str:
        return self.row.ref

    @property
    def label(self) -> str:
        return self.row.label

    @property
    def gave_up(self) -> int:
        return int(self.before.gave_up)

    @property
    def unlooked(self) -> str:
        return COULD_NOT_CHECK if self.gave_up else NOT_CHECKED

    @property
    def unwritten(self) -> str:
        return COULD_NOT if self.gave_up else NOT_MEASURED

    def as_look(self, phase: str) -> str:
        words = self._words(phase)
        return next((word for word in LOOK_WORDS if word == words.casefold()), self.unlooked)

    def as_family(self, phase: str) -> str:
        words = self._words(phase).casefold()
        if not words:
            return self.unlooked
        return NO_FAULT if words == self.wanted_family else FAULT

    def as_text(self, phase: str) -> str:
        return RECORDED if self._words(phase) else self.unwritten

    def verdict(self, phase: str) -> str:
        kind = self.row.check.kind
        if kind == "look":
            return self.as_look(phase)
        return self.as_family(phase) if kind == "family" else self.as_text(phase)

    def _words(self, phase: str) -> str:
        return (self.before if phase == "before" else self.after).words


def _normal(z: float) -> float:
    return (1 + math.erf(z / math.sqrt(2))) / 2


def distance(judged: Si, low: Si, high: Si, factor: float) -> Distance:
    """How far a judged value is above the low limit and below the high one, rounded as the sheet rounds it."""

    def side(difference: Si) -> Si:
        return "" if isinstance(difference, str) else sheet_round(difference / factor, 6)

    known = not isinstance(judged, str)
    above = judged - low if known and not isinstance(low, str) else ""
    below = high - judged if known and not isinstance(high, str) else ""
    return Distance(side(above), side(below))


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
        return workings.si(labels[label]) if label else ""

    values = {side: working(getattr(limits, side)) for side in SIDES}
    phases: dict[str, Phase] = {}
    for phase in PHASES:
        reading = read(row, phase, entries)
        si = workings.readings[f"judging.{row.ref}.si_{phase}"]
        gauge_u = workings.readings[f"judging.{row.ref}.gauge_u_{phase}"]
        value_label, u_label = derived.labels(phase)
        judged = working(value_label) if value_label else si
        u_own: Si = "" if isinstance(gauge_u, str) else COVERAGE * gauge_u
        if isinstance(fixed, float):
            u_own = fixed * factor
        u = 0.0 if plain else working(u_label) if u_label else u_own
        gauge = gauges.get(reading.gauge.casefold())
        late = 0 if gauge is None else getattr(gauge, f"overdue_{phase}")
        phases[phase] = Phase(
            si=si,
            gauge_u=gauge_u,
            gave_up=int(reading.gave_up),
            recorded=row.check.kind == "recorded",
            judged=judged,
            u_own=u_own,
            u=u,
            u_shown="" if isinstance(u, str) else sheet_round(u / factor, 6),
            service=distance(judged, values["service_low"], values["service_high"], factor),
            danger=distance(judged, values["danger_low"], values["danger_high"], factor),
            in_date=1 - late,
        )
    return Judged(row, unit, limits, values, derived, fixed, int(plain), phases)
