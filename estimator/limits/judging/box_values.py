"""What stands in a check's boxes, and the gauge that gave it."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass

from estimator.boxes.entries import Number, ReadingBoxes, number
from estimator.facts.checks import Check
from estimator.limits.judging.check_rows import CheckRow
from estimator.limits.judging.verdict_words import AGAIN
from estimator.limits.sheet_arithmetic import serial
from estimator.records import Gauge, kind_of


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
    def top_si(self) -> float:
        """The end of its scale, which begins at zero."""
        return self.gauge.span.si

    @property
    def kind(self) -> str:
        return self.gauge.kind

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
    def calibrated(self) -> dt.date:
        return self.gauge.calibrated

    def gives(self, check: Check) -> bool:
        """Whether it measures what a check asks for."""
        return self.gauge.kind == kind_of(check.quantity)

    def in_date_on(self, day: int) -> bool:
        """Whether a reading of that day lies between its calibration and the day on which it was due again."""
        return serial(self.calibrated) <= day <= serial(self.due)

    @property
    def overdue_before(self) -> int:
        return int(not self.in_date_on(self.day_before))

    @property
    def overdue_after(self) -> int:
        return int(not self.in_date_on(self.day_after))

    def early(self, phase: str) -> bool:
        """Whether it wasn't calibrated yet when the readings of a phase were taken."""
        return serial(self.calibrated) > (self.day_before if phase == "before" else self.day_after)

    def overdue(self, phase: str) -> int:
        """Whether it was past its date, or not calibrated yet, when the readings of a phase were taken."""
        return self.overdue_before if phase == "before" else self.overdue_after


@dataclass(frozen=True)
class Reading:
    """What stands in a check's boxes in one phase."""

    value: Number
    gauge: str
    why: str

    @property
    def number(self) -> float | None:
        return self.value if isinstance(self.value, float) else None

    @property
    def words(self) -> str:
        return f"{self.value:.15g}" if isinstance(self.value, float) else self.value

    @property
    def gave_up(self) -> bool:
        return self.why not in ("", AGAIN)


def read(row: CheckRow, phase: str, boxes: ReadingBoxes) -> Reading:
    """What the boxes of a row hold in a phase; for a number only if it is one."""
    value = boxes.value(phase)
    if row.check.kind in ("number", "recorded"):
        value = number(value)
    return Reading(value, boxes.gauge(phase), boxes.reason(phase))
