"""All that follows from a record and its entries, worked out in one go.

Pure computing: no file, no spreadsheet library.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from estimator.appraisal import Appraisal, Visit
from estimator.boxes.entries import Entries, ReadingBoxes
from estimator.boxes.keys import CheckRef
from estimator.limits.catalog.limit_set import work_out
from estimator.limits.judging.box_values import read
from estimator.limits.judging.check_rows import CheckRow
from estimator.limits.judging.driving import Found, Standing, driving
from estimator.limits.judging.judging import Judged, judge, with_doubts
from estimator.limits.judging.typed_readings import gauge_rows, numeric, reading_days, readings_in_si, worded
from estimator.limits.judging.verdict_words import PHASES
from estimator.limits.judging.visual_checks import Looked
from estimator.pricing.consents import consent_rows, consents
from estimator.pricing.decisions import Again, checks_again, decide
from estimator.pricing.extra_lines import extra_parts, extra_work, sublet_lines
from estimator.pricing.job_lines import labor
from estimator.pricing.money_lines import CASES, SPARE_PARTS, SPARE_SUBLET, TaxRules
from estimator.pricing.part_lines import part_lines
from estimator.pricing.plan import plan
from estimator.pricing.totals import MoneyLines, case_totals
from estimator.records import JobRecord


def appraise(record: JobRecord, entries: Entries) -> Appraisal:
    """Work out everything that a record and the entries in its boxes lead to."""
    planned = plan(record)
    gauges = gauge_rows(record, entries.visits)
    readings = readings_in_si(planned.checks, record, gauges, entries.readings)
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
                entries.readings[row.ref],
                limit_set.derived_of(row),
                limit_set.believable_of(row),
                limit_set.against_of(row),
                labels,
            )
            for row in numbers
        ]
    )
    looked = tuple(_looked(row, record, entries.readings[row.ref]) for row in worded(planned.checks))
    again = checks_again(planned, entries.lines)
    standings = _standings(again, judged, looked, entries.readings)
    verdicts = {item.ref: (item.before.verdict, item.after.verdict) for item in standings}
    decisions = decide(planned, entries.lines, verdicts, again)
    tax = TaxRules.of(record)
    work = labor(record, planned, decisions, tax)
    parts = part_lines(planned.parts, record, {item.line.ref: item for item in decisions.decided}, entries.parts, tax)
    job = record.job
    others = extra_parts(record, entries.extra_parts, tax, max(SPARE_PARTS, len(job.extra_parts) + 2))
    spare = extra_work(record, entries.extra_work, tax)
    sublet = sublet_lines(entries.sublet, tax, max(SPARE_SUBLET, len(job.sublet) + 2))
    lines = MoneyLines((*work.lines, *spare), (*parts, *others), sublet)
    agreed, proposed = (case_totals(case, lines, record, entries, tax) for case in CASES)
    log = consents(entries.consents)
    consented, rows = consent_rows(agreed, log, record.shop.consent)
    days = zip(PHASES, reading_days(record, entries.visits), strict=True)
    visits = tuple(
        Visit(phase, f"{phase} work", entries.visits[phase].date, entries.visits[phase].by, day) for phase, day in days
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
        standings=standings,
        driving=driving(standings),
        decisions=decisions,
        labor=work,
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


def _looked(row: CheckRow, record: JobRecord, boxes: ReadingBoxes) -> Looked:
    before, after = (read(row, phase, boxes) for phase in PHASES)
    return Looked(row, before, after, record.car.fluid.family)


def _standings(
    again: Sequence[Again],
    judged: Sequence[Judged],
    looked: Sequence[Looked],
    boxes: Mapping[CheckRef, ReadingBoxes],
) -> tuple[Standing, ...]:
    numbers = {item.ref: item for item in judged}
    words = {item.ref: item for item in looked}

    def found(ref: CheckRef, phase: str) -> Found:
        if ref in numbers:
            of_phase = numbers[ref].phases[phase]
            return Found(of_phase.verdict, of_phase.drive, of_phase.in_date)
        verdict = words[ref].verdict(phase)
        return Found(verdict, verdict)

    return tuple(
        Standing(
            row=item.row,
            why=boxes[item.ref].why,
            before=found(item.ref, "before"),
            after=found(item.ref, "after"),
            voids=item.voids,
            order=order,
        )
        for order, item in enumerate(again, 1)
    )
