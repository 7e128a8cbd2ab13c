"""Readings that changed since the last visit by more than wear or gauges explain: each is asked about."""

from __future__ import annotations

import math
from collections.abc import Generator, Iterator

from estimator.appraisal import Appraisal
from estimator.boxes import keys
from estimator.boxes.keys import CheckRef, check_ref
from estimator.car_history.due import standing_reading
from estimator.car_history.series import FALLS, SAME, all_series
from estimator.car_history.trend import Trend, trend
from estimator.car_history.visit import visit_of
from estimator.errors import Finding, Severity
from estimator.limits.judging.judging import Judged
from estimator.limits.judging.verdict_words import COVERAGE
from estimator.quantities import printed
from estimator.records.visits import SERIAL, PastReading, PastVisit, plain_serial

_RULE = "changed-since"


def changed_readings(appraisal: Appraisal) -> Iterator[Finding]:
    """Yield a question for each reading before work that the last visit and the trend don't explain.

    What wears gets no better without work, nothing moves a setting but work, and what falls along a line goes on so: each
    within the expanded uncertainty of both readings, or the interval of the trend. What was renewed since isn't asked about.
    """
    record = appraisal.record
    mine = tuple(visit for visit in record.visits if visit.is_of(record.car.car))
    if not mine:
        return
    now = visit_of(appraisal)
    read = {item.check: item for item in now.readings if item.phase == "before"}
    exchanged = yield from _serials(now, mine)
    lines = {item.ref: line for item in all_series(record.car, record.visits) if (line := trend(item)) is not None}
    asked: set[tuple[str, str]] = set()
    for item in appraisal.judged:
        check, place = item.row.check, item.row.place
        reading, last = read.get(item.ref), standing_reading(item.ref, mine)
        if not check.over_time or reading is None or last is None or (check.id, place.id) in asked:
            continue
        if item.ref in now.renewed_earlier or place.id in exchanged:
            continue
        what = _moved(item, now, reading, last, lines.get(check_ref(check.id, place.id)))
        if what:
            asked.add((check.id, place.id))
            yield what


def _serials(now: PastVisit, visits: tuple[PastVisit, ...]) -> Generator[Finding, None, set[str]]:
    """Ask about each accumulator whose serial isn't the last visit's. Returns their places."""
    was = {place: serial for visit in visits for place, serial in visit.serials.items()}
    changed = set()
    for item in now.readings:
        place = item.check.removeprefix(f"{SERIAL}.")
        fitted = plain_serial(item.value)
        if item.phase == "before" and item.check.startswith(SERIAL) and was.get(place, fitted) != fitted:
            changed.add(place)
            what = f"{place.replace('-', ' ')}: serial {item.value}; {was[place]} at the last visit"
            fix = "replaced elsewhere, or misread? Note which"
            yield Finding(_RULE, "note", what, fix, tab="Inspection", key=keys.reading(CheckRef(item.check), "before"))
    return changed


def _moved(
    item: Judged, now: PastVisit, reading: PastReading, last: tuple[PastVisit, PastReading], line: Trend | None
) -> Finding | None:
    visit, before = last
    if reading.si is None or reading.u is None or before.si is None or before.u is None:
        return None
    check = item.row.check
    moved = reading.si - before.si
    may = math.hypot(COVERAGE * reading.u, COVERAGE * before.u, check.day_to_day * before.si)
    over_time = check.over_time
    better = moved > 0 if over_time == FALLS else moved < 0
    why, fix = "", ""
    severity: Severity = "note" if over_time == SAME else "warn"
    if over_time == SAME and abs(moved) > may:
        why, fix = "more than the gauges explain", "set since, or misread? Note what was done, or remeasure"
    elif over_time != SAME and better and abs(moved) > may:
        why = "better by more than the gauges explain, and no job on file explains it"
        fix = "replaced or recharged elsewhere, or misread? Note what was done, or remeasure"
    elif over_time != SAME and line is not None:
        foretold, half = line.foretold(now.before)
        if abs(reading.si - foretold) > math.hypot(half, COVERAGE * reading.u):
            why = f"not what the trend of {len(line.points)} visits foretells ({_shown(item, foretold)})"
            fix = "a new fault, or misread? Remeasure"
    if not why:
        return None
    day, shown = visit.day(before.phase), [_shown(item, si) for si in (reading.si, before.si)]
    what = f"{item.label}: {shown[0]}; {shown[1]} at the last visit ({day}): {why}"
    return Finding(_RULE, severity, what, fix, tab="Inspection", key=keys.reading(item.ref, "before"))


def _shown(item: Judged, si: float) -> str:
    number = printed((si - item.offset) / item.factor, item.unit)
    return number if item.unit in ("count", "1") else f"{number} {item.unit}"
