"""The numbers typed into boxes, in SI, with the standard uncertainty that their gauge gives them."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType

from estimator.boxes import keys
from estimator.boxes.entries import Day, ReadingBoxes, StatedBoxes, VisitBoxes
from estimator.boxes.keys import CheckRef
from estimator.limits.judging.box_values import GaugeRow, read
from estimator.limits.judging.check_rows import CheckRow
from estimator.limits.judging.stated import Certificate, stated
from estimator.limits.judging.verdict_words import PHASES
from estimator.limits.sheet_arithmetic import serial
from estimator.limits.working import Si
from estimator.quantities import UNITS
from estimator.records import JobRecord, kind_of

_NUMBERS = ("number", "recorded")


def reading_days(record: JobRecord, visits: Mapping[str, VisitBoxes]) -> tuple[int, int]:
    """The day numbers of the readings before and after work; the document's date where a box holds none."""

    def day(phase: str) -> int:
        given = day_number(visits[phase].date)
        return serial(record.job.date) if given is None else given

    return day("before"), day("after")


def after_in_order(visits: Mapping[str, VisitBoxes]) -> int:
    """1 unless the readings after work are dated before those before it."""
    before, after = (day_number(visits[phase].date) for phase in PHASES)
    return int(before is None or after is None or after >= before)


def day_number(value: Day) -> int | None:
    """Return the day number of what a date box holds; None where that is no date."""
    if isinstance(value, dt.date):
        return serial(value)
    return math.floor(value) if isinstance(value, float) else None


def gauge_rows(record: JobRecord, visits: Mapping[str, VisitBoxes]) -> tuple[GaugeRow, ...]:
    """The shop's gauges, with what the dates of the readings say of them."""
    before, after = reading_days(record, visits)
    return tuple(GaugeRow(gauge, before, after) for gauge in record.shop.gauges)


def numeric(rows: Iterable[CheckRow]) -> tuple[CheckRow, ...]:
    """The rows whose boxes take numbers."""
    return tuple(row for row in rows if row.check.kind in _NUMBERS)


def worded(rows: Sequence[CheckRow]) -> tuple[CheckRow, ...]:
    """The rows whose boxes take words."""
    return tuple(row for row in rows if row.check.kind not in _NUMBERS)


def shown_unit(row: CheckRow, record: JobRecord) -> str:
    """The unit in which a row of numbers is typed."""
    return str(getattr(record.shop.show, row.check.quantity))


def readings_in_si(
    rows: Sequence[CheckRow],
    record: JobRecord,
    gauges: Sequence[GaugeRow],
    boxes: Mapping[CheckRef, ReadingBoxes],
    said: Mapping[CheckRef, StatedBoxes],
    further: Mapping[str, Si] = MappingProxyType({}),
    certified: Mapping[tuple[CheckRef, str], Certificate] = MappingProxyType({}),
) -> dict[str, Si]:
    """Each reading, what it stands for where it is held against others, and the standard uncertainty that its gauge, the way it
    was read and what is stated of it give it, by the key that they have in the Book; "" for none.

    certified: bench certificates. A gauge of another kind measures nothing.
    """
    by_id = {gauge.ref: gauge for gauge in gauges}
    found: dict[str, Si] = {}
    for row in numeric(rows):
        unit = UNITS[shown_unit(row, record)]
        for phase in PHASES:
            reading = read(row, phase, boxes[row.ref])
            si = "" if reading.number is None else reading.number * unit.factor + unit.offset
            gauge = by_id.get(reading.gauge.casefold())
            found[keys.judged_si(row.ref, phase)] = si
            fits = gauge is not None and gauge.kind == kind_of(row.check.quantity)
            told = stated(said[row.ref], phase, si, unit.factor, certified.get((row.ref, phase)))
            found[keys.gauge_u(row.ref, phase)] = told.with_gauge(gauge.u_si) if gauge and fits else ""
            counts = fits or row.check.uncertainty is not None
            again = further.get(keys.again_si(row.ref), "")
            held = si if isinstance(again, str) else again
            found[keys.held(row.ref, phase)] = held if counts else ""
    return found
