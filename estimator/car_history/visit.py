"""What a workbook measured, as a visit of its car."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator

from estimator.appraisal import Appraisal
from estimator.limits.judging.judging import Judged
from estimator.limits.judging.verdict_words import COVERAGE, PHASES
from estimator.limits.sheet_arithmetic import day_of_serial
from estimator.pricing.plan import PlannedLine
from estimator.quantities import printed
from estimator.records.visits import PastReading, PastVisit


def visit_of(appraisal: Appraisal) -> PastVisit:
    """Return what an appraisal measured: each reading made, with what was judged of it and its standard uncertainty.

    A reading that isn't believed, contradicts another or was made without a gauge is kept as words, and counts for no
    trend. Dates are those of the readings, else that of the job.
    """
    job, car = appraisal.record.job, appraisal.record.car.car
    before, after = (_day(visit.day, job.date) for visit in appraisal.visits)
    readings = tuple(_readings(appraisal))
    if not appraisal.visits[1].date and all(item.phase == "before" for item in readings):
        after = before
    decided = appraisal.decisions.decided
    earlier = {item.line.ref for item in decided if item.work.done and item.work.earlier}
    now = {item.line.ref for item in decided if item.work.done_now and not item.work.done_since}
    since = {item.line.ref for item in decided if item.work.done_since}

    def cured(lines: Iterable[str]) -> tuple[str, ...]:
        return tuple(dict.fromkeys(str(row.ref) for line, row in appraisal.plan.cures if _in(line, lines)))

    return PastVisit(
        document=job.document,
        revision=job.revision,
        car=car.name,
        chassis=car.chassis_number,
        car_id=car.id,
        before=before,
        after=max(before, after),
        odometer=job.odometer,
        readings=readings,
        renewed_earlier=cured(earlier),
        renewed=cured(now),
        renewed_since=cured(since),
        done=tuple(str(item.line.ref) for item in decided if item.work.done),
    )


def _in(line: PlannedLine, lines: Iterable[str]) -> bool:
    return line.ref in lines


def _day(serial: int, otherwise: dt.date) -> dt.date:
    """A day that a reading can have; the job's where its box holds none."""
    found = day_of_serial(serial)
    return found if found is not None and 1900 <= found.year <= 2100 else otherwise


def _readings(appraisal: Appraisal) -> Iterator[PastReading]:
    for item in appraisal.judged:
        yield from _numbers(item)
    for looked in appraisal.looked:
        for phase in PHASES:
            if words := appraisal.entries.readings[looked.ref].value(phase):
                yield PastReading(check=looked.ref, phase=phase, value=str(words), verdict=looked.verdict(phase))


def _numbers(item: Judged) -> Iterator[PastReading]:
    for phase in PHASES:
        found = item.phases[phase]
        if isinstance(found.si, str):
            continue
        stands_for = found.judged if isinstance(found.judged, float) else found.si
        shown = printed((stands_for - item.offset) / item.factor, item.unit)
        said = PastReading(check=item.ref, phase=phase, value=shown, unit=item.unit, verdict=found.verdict)
        counts = not found.doubt and not found.contradicted and item.row.check.kind == "number"
        if counts and isinstance(found.judged, float) and isinstance(found.u_any, float) and found.u_any >= 0:
            said = said.model_copy(update={"si": found.judged, "u": found.u_any / COVERAGE})
        yield said
