"""All that follows from a record and its entries, worked out in one go.

Pure computing: no file, no spreadsheet library.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from estimator.appraisal import Appraisal, Visit
from estimator.boxes import keys
from estimator.boxes.entries import Entries, ReadingBoxes
from estimator.boxes.keys import CheckRef
from estimator.diagnosis.causes.calling import callers
from estimator.diagnosis.causes.diagnose import diagnose
from estimator.limits.catalog.limit_set import work_out
from estimator.limits.judging.again_lines import AgainLine, again_in_si, again_lines
from estimator.limits.judging.box_values import read
from estimator.limits.judging.certificates import certificates
from estimator.limits.judging.check_rows import CheckRow
from estimator.limits.judging.driving import driving
from estimator.limits.judging.judging import Judged, judge, with_doubts
from estimator.limits.judging.measured_again import Third, thirds_by_check, thirds_of
from estimator.limits.judging.standing import Found, Past, Standing, Thirds
from estimator.limits.judging.typed_readings import (
    after_in_order,
    gauge_rows,
    numeric,
    reading_days,
    readings_in_si,
    worded,
)
from estimator.limits.judging.usual_gauges import usual_gauges, with_gauges
from estimator.limits.judging.verdict_words import PHASES
from estimator.limits.judging.visual_checks import Looked
from estimator.pricing.calls import calls_of, past_findings
from estimator.pricing.consents import consent_rows, consents
from estimator.pricing.decisions import AGREED, Again, checks_again, decide, line_work
from estimator.pricing.extra_lines import extra_parts, extra_work, sublet_lines
from estimator.pricing.job_lines import labor
from estimator.pricing.money_lines import CASES, TaxRules
from estimator.pricing.part_lines import listed_prices, part_changes, part_lines
from estimator.pricing.plan import plan
from estimator.pricing.room import with_offers, with_room
from estimator.pricing.totals import MoneyLines, case_totals
from estimator.records import EarlierReading, JobRecord


def appraise(record: JobRecord, entries: Entries) -> Appraisal:
    """Work out everything that a record and the entries in its boxes lead to."""
    planned = plan(record)
    shared_gauges = usual_gauges(planned.checks, record)
    boxes = with_gauges(entries.readings, entries.usual, shared_gauges)
    gauges = gauge_rows(record, entries.visits)
    lines = again_lines(planned.checks, record, gauges, entries.again)
    further = again_in_si(planned.checks, lines)
    certified = certificates(planned.checks, record, entries)
    readings = readings_in_si(planned.checks, record, gauges, boxes, entries.stated, further, certified) | further
    limit_set = work_out(record, planned.checks, readings)
    numbers = numeric(planned.checks)
    labels = {row.label: ref for ref, row in limit_set.workings.rows.items()}
    by_id = {gauge.ref: gauge for gauge in gauges}
    judged = with_doubts(
        [
            judge(
                row,
                record,
                limit_set.workings,
                limit_set.of(row),
                by_id,
                boxes[row.ref],
                entries.stated[row.ref],
                certified,
                limit_set.derived_of(row),
                limit_set.believable_of(row),
                limit_set.against_of(row),
                labels,
            )
            for row in numbers
        ]
    )
    looked = tuple(_looked(row, record, entries.readings[row.ref]) for row in worded(planned.checks))
    work = line_work(planned, entries.lines, record.done_earlier, _touched(record, entries))
    again = checks_again(planned, work)
    standings, thirds = _standings(record, entries, again, judged, looked, lines, boxes)
    diagnosis = diagnose(record, limit_set.workings, judged, looked, standings)
    called = callers(diagnosis, standings, {ref for ref, item in work.items() if item.done_now or item.earlier})
    calls = calls_of(planned, standings, called)
    past = past_findings(planned, standings, calls)
    decisions = decide(planned, entries.lines, calls, past, again, work)
    tax = TaxRules.of(record)
    hours = labor(record, planned, decisions, tax)
    changes = part_changes(planned.parts, record, entries.changes)
    parts = part_lines(planned.parts, record, {item.line.ref: item for item in decisions.decided}, changes, tax)
    room = record.room
    others = extra_parts(record, entries.extra_parts, tax, room.extra_parts)
    spare = extra_work(record, entries.extra_work, tax, room.extra_work)
    sublet = sublet_lines(entries.sublet, tax, room.sublet)
    mixed = sum(part.mixed_agreed for part in parts) + sum(part.mixed_agreed for part in others)
    money = MoneyLines((*hours.lines, *spare), (*parts, *others), sublet)
    agreed, proposed = (case_totals(case, money, record, entries, tax) for case in CASES)
    log = consents(entries.consents, room.consents)
    consented, rows = consent_rows(agreed, log, record.shop.consent)
    days = zip(PHASES, reading_days(record, entries.visits), strict=True)
    visits = tuple(
        Visit(
            phase,
            f"{phase} work",
            entries.visits[phase].date,
            entries.visits[phase].by,
            day,
            1 if phase == "before" else after_in_order(entries.visits),
        )
        for phase, day in days
    )
    return Appraisal(
        record=record,
        entries=entries,
        plan=planned,
        gauges=gauges,
        visits=visits,
        limit_set=limit_set,
        judged=judged,
        looked=looked,
        thirds=thirds,
        standings=standings,
        driving=driving(standings, mixed),
        diagnosis=diagnosis,
        callers=called,
        past=past,
        decisions=decisions,
        labor=hours,
        readings=boxes,
        shared_gauges=shared_gauges,
        changes=changes,
        prices=listed_prices(planned.parts, record),
        parts=parts,
        extra_parts=others,
        extra_work=spare,
        sublet=sublet,
        tax=tax,
        agreed=agreed,
        proposed=proposed,
        consents=log,
        consented=consented,
        consent_rows=rows,
    )


def drafted(record: JobRecord, entries: Entries) -> Appraisal:
    """Work out the same for a workbook that is to be written, with room in its lists for what entries lead to."""
    found = appraise(with_room(record, entries), entries)
    return replace(found, record=with_offers(found.record, len(found.items), len(found.declined)))


def _touched(record: JobRecord, entries: Entries) -> Iterator[str]:
    """The jobs whose readings an agreed extra or sublet line makes void, as its box names them."""
    for block, lines in (("extra_work", entries.extra_work), ("sublet", entries.sublet)):
        for ref, line in lines.items():
            if line.decision == AGREED and keys.row(block, ref) not in record.done_earlier:
                yield line.touched


def _looked(row: CheckRow, record: JobRecord, boxes: ReadingBoxes) -> Looked:
    before, after = (read(row, phase, boxes) for phase in PHASES)
    return Looked(row, before, after, record.car.fluid.family)


def _standings(
    record: JobRecord,
    entries: Entries,
    again: Sequence[Again],
    judged: Sequence[Judged],
    looked: Sequence[Looked],
    lines: Sequence[AgainLine],
    boxes: Mapping[CheckRef, ReadingBoxes],
) -> tuple[tuple[Standing, ...], tuple[Third, ...]]:
    """Where each check stands, and how the further readings lie against those in the boxes."""
    numbers = {item.ref: item for item in judged}
    words = {item.ref: item for item in looked}
    days = reading_days(record, entries.visits)
    log: dict[str, list[EarlierReading]] = {}
    for earlier in record.earlier:
        log.setdefault(earlier.check, []).append(earlier)

    def found(ref: CheckRef, phase: str) -> Found:
        entered = int(entries.readings[ref].value(phase) != "")
        if ref in numbers:
            of_phase = numbers[ref].phases[phase]
            return Found(of_phase.verdict, of_phase.drive, in_date(ref, phase), entered, of_phase.contradicted)
        verdict = words[ref].verdict(phase)
        return Found(verdict, verdict, in_date(ref, phase), entered)

    def in_date(ref: CheckRef, phase: str) -> int:
        """Whether the gauges of a reading, and of those that it rests on, were in date, and its day isn't too early."""
        gauges = numbers[ref].phases[phase].all_in_date if ref in numbers else 1
        return gauges if phase == "before" else gauges * after_in_order(entries.visits)

    once = {
        item.ref: Standing(
            row=item.row,
            why=entries.readings[item.ref].why_after or entries.readings[item.ref].why,
            before=found(item.ref, "before"),
            after=found(item.ref, "after"),
            voids=item.voids,
            cures=item.cures,
            since=item.since,
            cures_since=item.cures_since,
            past=Past.of(log.get(item.ref, ())),
            order=order,
        )
        for order, item in enumerate(again, 1)
    }
    thirds = thirds_of(lines, once, numbers, replace(entries, readings=boxes), days[1])
    by_check = thirds_by_check(thirds)
    return tuple(replace(item, thirds=by_check.get(ref, Thirds())) for ref, item in once.items()), thirds
