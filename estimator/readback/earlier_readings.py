"""Readings that are taken out of their boxes and still count: kept in the record's log."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace

from estimator.appraisal import Appraisal
from estimator.boxes import keys
from estimator.boxes.entries import AgainBoxes, Entries, LineBoxes, ReadingBoxes, Rows, StatedBoxes, VisitBoxes
from estimator.boxes.keys import CheckRef
from estimator.limits.judging.standing import Standing
from estimator.limits.judging.usual_gauges import with_gauges
from estimator.limits.judging.verdict_words import BAD, NOT_BELIEVABLE, PHASES
from estimator.pricing.decisions import AGREED, DONE
from estimator.pricing.extra_lines import ExtraWork, SubletLine
from estimator.records import EarlierReading


def taken_out(was: Appraisal, now: Entries) -> Iterator[EarlierReading]:
    """The readings of an appraisal that count against the car and that new entries overwrite or clear: another figure,
    or another gauge, way of reading or stated uncertainty for the same one."""
    readings = with_gauges(now.readings, now.usual, was.shared_gauges)
    for standing in was.standings:
        old, new = was.readings[standing.ref], readings[standing.ref]
        for phase in PHASES:
            told, tells = (entries.stated[standing.ref].of(phase) for entries in (was.entries, now))
            changed = (old.value(phase), old.gauge(phase), told) != (new.value(phase), new.gauge(phase), tells)
            if changed and (kind := _counts_as(standing, phase)):
                yield _logged(was, standing, phase, kind)
    for item in was.thirds:
        against = item.counts and (item.bad or item.other > item.agree)
        if against and item.line.row is not None and now.again[item.ref] != item.line.boxes:
            typed = item.line.boxes
            yield EarlierReading(
                check=item.line.row.ref,
                phase="again",
                value=_words(typed.value if item.line.unit else item.line.seen),
                unit=item.line.unit,
                gauge=typed.gauge,
                day=_words(typed.date),
                by=typed.by,
                verdict="disagrees",
                counts_as="bad",
            )


def _counts_as(standing: Standing, phase: str) -> str:
    """How a reading counts against the car once it is no longer in its box; "" where it doesn't."""
    found = standing.found(phase)
    if not found.entered:
        return ""
    if found.bad:
        return "bad"
    if found.contradicted:
        return "contradicts"
    if found.verdict in BAD:
        return "called"
    return "doubtful" if found.verdict == NOT_BELIEVABLE else ""


def _logged(was: Appraisal, standing: Standing, phase: str, kind: str, now: str = "") -> EarlierReading:
    boxes, visit = was.readings[standing.ref], was.entries.visits[phase]
    judged = next((item for item in was.judged if item.ref == standing.ref), None)
    return EarlierReading.model_validate(
        {
            "check": standing.ref,
            "phase": now or phase,
            "value": _words(boxes.value(phase)),
            "unit": "" if judged is None else judged.unit,
            "gauge": boxes.gauge(phase),
            "day": _words(visit.date),
            "by": visit.by,
            "verdict": standing.found(phase).verdict,
            "counts_as": kind,
        }
    )


def _words(value: object) -> str:
    return (
        f"{value:.12g}" if isinstance(value, float) else value.isoformat() if isinstance(value, dt.date) else str(value)
    )


# --- the next round ---------------------------------------------------------------------------------------------------


def is_over(was: Appraisal) -> bool:
    """Whether some job of a round is completed, so that the next revision begins a new round of readings."""
    return any(item.work.done_now for item in was.decisions.decided)


def next_round(was: Appraisal) -> tuple[Entries, tuple[EarlierReading, ...], tuple[str, ...]]:
    """The entries of the next round: the latest readings become those before work, what is done stays done.

    Returns: the entries, the log, and what the keys of all lines begin with that were done by now.
    """
    entries, log = was.entries, list(_still_counting(was))
    readings, stated = dict(entries.readings), dict(entries.stated)
    for standing in was.standings:
        if standing.made_after and standing.ref in stated:
            stated[standing.ref] = stated[standing.ref].moved()
        readings[standing.ref] = _latest(standing, was.readings[standing.ref])
        log += [_logged(was, standing, phase, kind, "before") for phase, kind in _left_behind(standing)]
    lines = {ref: replace(boxes, done=DONE) if boxes.done else boxes for ref, boxes in entries.lines.items()}
    visits = dict(entries.visits)
    if any(item.made_after for item in was.standings):
        visits = {"before": entries.visits["after"], "after": VisitBoxes()}
    done = [keys.row("line", item.line.ref) for item in was.decisions.decided if item.work.done]
    touching: tuple[ExtraWork | SubletLine, ...] = (*was.extra_work, *was.sublet)
    done += [line.row for line in touching if line.boxes.decision == AGREED and line.boxes.touched]
    begun = replace(
        entries,
        readings=Rows(ReadingBoxes, readings),
        stated=Rows(StatedBoxes, stated),
        visits=Rows(VisitBoxes, visits),
        lines=Rows(LineBoxes, lines),
        again=Rows(AgainBoxes),
    )
    return begun, tuple(log), tuple(dict.fromkeys((*was.record.done_earlier, *done)))


def _latest(standing: Standing, boxes: ReadingBoxes) -> ReadingBoxes:
    """The boxes of a check with its latest reading in those before work; one that no longer counts, or that was read
    with a gauge out of date, is left out."""
    phase = "after" if standing.made_after else "before"
    counts = (standing.stands_after if standing.made_after else standing.stands_before) * standing.found(phase).in_date
    value = boxes.value(phase) if counts else ""
    return replace(
        boxes,
        before=value,
        gauge_before=boxes.gauge(phase),
        why=boxes.reason(phase) or boxes.why,
        after="",
        why_after="",
    )


def _left_behind(standing: Standing) -> Iterator[tuple[str, str]]:
    """The readings of a check that stand against it and that the next round has no box for: phase, how it counts."""
    if standing.made_after and standing.before.bad and not standing.cures and not standing.confirmed:
        yield "before", "bad"
    if standing.contradicted and standing.made_after:
        yield "after" if standing.after.contradicted else "before", "contradicts"


def _still_counting(was: Appraisal) -> Iterator[EarlierReading]:
    """The log without what a cure or a third reading has ended since."""
    for item in was.record.earlier:
        standing = was.standing_of.get(CheckRef(item.check))
        if standing is None:
            continue
        cured = standing.cures if item.phase == "before" else standing.cures_since
        ended = standing.confirmed if item.counts_as == "bad" else standing.thirds.read
        if not cured and not ended:
            yield item.model_copy(update={"phase": "before"})
