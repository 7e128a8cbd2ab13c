"""The lines of further readings ("measured again"): which of them count as readings."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from estimator.boxes import keys
from estimator.boxes.entries import AgainBoxes, number
from estimator.limits.judging.box_values import GaugeRow
from estimator.limits.judging.check_rows import CheckRow
from estimator.limits.judging.typed_readings import numeric, shown_unit
from estimator.limits.judging.verdict_words import FAULT, NO_FAULT
from estimator.limits.sheet_arithmetic import serial
from estimator.limits.working import Si
from estimator.quantities import UNITS
from estimator.records import JobRecord

AGAIN_LINES = 6


@dataclass(frozen=True)
class AgainLine:
    """A line of the block. `by_label`, `by_ref` and `gauge_at` are the places of its check and its gauge, 0 for none."""

    number: int
    boxes: AgainBoxes
    by_label: int
    by_ref: int
    row: CheckRow | None
    gauge: GaugeRow | None
    gauge_at: int
    unit: str

    @property
    def at(self) -> int:
        return self.by_label or self.by_ref

    @property
    def check(self) -> str:
        return "" if self.row is None else self.row.label

    @property
    def day(self) -> int:
        """The day of the reading, 0 where none is given."""
        day = self.boxes.date
        if isinstance(day, dt.date):
            return serial(day)
        return math.floor(day) if isinstance(day, float) else 0

    @property
    def shown(self) -> Si:
        """The number read, in the unit of its check."""
        return number(self.boxes.value) if self.unit else ""

    @property
    def gauged(self) -> str:
        """Whether its check is made with a gauge: yes or no."""
        return "yes" if self.row is not None and self.row.check.measured else "no"

    @property
    def right_kind(self) -> int:
        return int(self.gauge is not None and self.row is not None and self.gauge.gives(self.row.check))

    @property
    def not_past(self) -> int:
        return int(self.gauge is not None and serial(self.gauge.due) >= self.day)

    @property
    def calibrated(self) -> int:
        return int(self.gauge is not None and serial(self.gauge.calibrated) <= self.day)

    @property
    def fits(self) -> int:
        """Whether a gauge that can give it is named, and was in date on that day; or none is needed."""
        return 1 if self.gauged == "no" else self.right_kind * self.not_past * self.calibrated

    @property
    def seen(self) -> str:
        """What was seen, "" for anything but a fault or none."""
        words = self.boxes.seen.casefold()
        return words if words in (NO_FAULT, FAULT) else ""

    @property
    def given(self) -> int:
        return int(self.shown != "" if self.unit else self.seen != "")

    @property
    def read(self) -> int:
        """Whether it counts as a reading: with its day, by somebody, by a gauge that fits."""
        told = self.at > 0 and self.day > 0 and self.boxes.by != ""
        return int(told and self.fits == 1 and self.given == 1)

    @property
    def read_check(self) -> str:
        """The label of its check, where it counts."""
        return self.check if self.read else ""

    @property
    def si(self) -> Si:
        """What was read, in SI, where it counts."""
        if self.read == 0 or isinstance(self.shown, str):
            return ""
        return self.shown * UNITS[self.unit].factor + UNITS[self.unit].offset


def again_lines(
    rows: Sequence[CheckRow], record: JobRecord, gauges: Sequence[GaugeRow], boxes: Mapping[str, AgainBoxes]
) -> tuple[AgainLine, ...]:
    """The lines of the block. A check is named by its label, or by its reference."""
    labels = {row.label.casefold(): place for place, row in reversed(list(enumerate(rows, 1)))}
    refs = {row.ref.casefold(): place for place, row in enumerate(rows, 1)}
    by_gauge = {gauge.ref: place for place, gauge in enumerate(gauges, 1)}
    found = []
    for line in range(1, AGAIN_LINES + 1):
        mine = boxes[str(line)]
        by_label, by_ref = (places.get(mine.check.casefold(), 0) for places in (labels, refs))
        row = rows[(by_label or by_ref) - 1] if by_label or by_ref else None
        gauge_at = by_gauge.get(mine.gauge.casefold(), 0)
        unit = shown_unit(row, record) if row is not None and row.check.kind in ("number", "recorded") else ""
        gauge = gauges[gauge_at - 1] if gauge_at else None
        found.append(AgainLine(line, mine, by_label, by_ref, row, gauge, gauge_at, unit))
    return tuple(found)


def again_in_si(rows: Iterable[CheckRow], lines: Iterable[AgainLine]) -> dict[str, Si]:
    """The first further reading of each number that counts, by the key that it has in the Book; "" for none."""
    found: dict[str, Si] = {}
    for line in lines:
        if line.read and line.row is not None and line.unit:
            found.setdefault(keys.again_si(line.row.ref), line.si)
    return {keys.again_si(row.ref): "" for row in numeric(rows)} | found
