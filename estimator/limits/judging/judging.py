"""From readings to verdicts: what is judged, its uncertainty, its distance from the limits, and the words.

A reading is judged with its expanded uncertainty as guard band: within limit only if it is better than the limit by
U, outside only if it is worse by U, and between the two too close to call. The distance is compared in the shown
unit, rounded to six decimals on both sides, in Python as in the sheet. An empty box is never good.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from estimator.boxes import keys
from estimator.boxes.entries import ReadingBoxes
from estimator.boxes.keys import CheckRef
from estimator.limits.judging.box_values import GaugeRow, read
from estimator.limits.judging.check_rows import CheckRow
from estimator.limits.judging.distances import Phase, distance
from estimator.limits.judging.typed_readings import shown_unit
from estimator.limits.judging.verdict_words import COVERAGE, PHASES, SIDES
from estimator.limits.needs import Need
from estimator.limits.sheet_arithmetic import sheet_round
from estimator.limits.working import Si, Workings
from estimator.quantities import UNITS
from estimator.records import JobRecord


@dataclass(frozen=True)
class Limits:
    """Where the limits of a check at a place come from: labels of working rows, or nothing on that side. `danger`
    sides stand for the service ones where the datum gives none. `needs` are the data for want of which there is none."""

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
    needs: frozenset[Need] = frozenset()


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
    def ref(self) -> CheckRef:
        return self.row.ref

    @property
    def label(self) -> str:
        return self.row.label

    @property
    def drive_kind(self) -> str:
        """How the reading counts for driving: a yardstick, a rule that doesn't bind this car, never decides."""
        return "recorded" if self.limits.binding == "yardstick" else self.row.check.kind

    @property
    def gave_up(self) -> int:
        return self.phases["before"].gave_up

    @property
    def factor(self) -> float:
        return UNITS[self.unit].factor

    @property
    def offset(self) -> float:
        return UNITS[self.unit].offset


def judge(
    row: CheckRow,
    record: JobRecord,
    workings: Workings,
    limits: Limits,
    gauges: Mapping[str, GaugeRow],
    boxes: ReadingBoxes,
    derived: Derived,
    labels: Mapping[str, str],
) -> Judged:
    """Judge a row of numbers in both phases. `labels` leads from a working row's label to its reference."""
    unit = shown_unit(row, record)
    factor = UNITS[unit].factor
    plain = record.shop.verdicts.plain_comparison and not row.check.safety
    fixed: float | str = "" if row.check.uncertainty is None else row.check.uncertainty

    def working(label: str) -> Si:
        return workings.si(labels[label]) if label else ""

    values = {side: working(getattr(limits, side)) for side in SIDES}
    phases: dict[str, Phase] = {}
    for phase in PHASES:
        reading = read(row, phase, boxes)
        si = workings.readings[keys.judged_si(row.ref, phase)]
        gauge_u = workings.readings[keys.gauge_u(row.ref, phase)]
        value_label, u_label = derived.labels(phase)
        judged = working(value_label) if value_label else si
        u_own: Si = "" if isinstance(gauge_u, str) else COVERAGE * gauge_u
        if isinstance(fixed, float):
            u_own = fixed * factor
        u_any = working(u_label) if u_label else u_own
        u = 0.0 if plain else u_any
        gauge = gauges.get(reading.gauge.casefold())
        late = 0 if gauge is None else gauge.overdue(phase)
        phases[phase] = Phase(
            si=si,
            gauge_u=gauge_u,
            gave_up=int(reading.gave_up),
            recorded=row.check.kind == "recorded",
            decides=limits.binding != "yardstick",
            judged=judged,
            gauge_at=0 if gauge is None else list(gauges).index(gauge.ref) + 1,
            u_own=u_own,
            u_any=u_any,
            u=u,
            u_shown="" if isinstance(u, str) else sheet_round(u / factor, 6),
            service=distance(judged, values["service_low"], values["service_high"], factor),
            danger=distance(judged, values["danger_low"], values["danger_high"], factor),
            in_date=1 - late,
        )
    return Judged(row, unit, limits, values, derived, fixed, int(plain), phases)
