"""All that follows from a record and its entries, worked out in one go.

Pure computing: no file, no spreadsheet library.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from estimator.appraisal import Appraisal
from estimator.appraisal_rows import Visit
from estimator.limits.box_values import read
from estimator.limits.driving import Standing, driving
from estimator.limits.judging import Judged, judge
from estimator.limits.methods import work_out
from estimator.limits.rows import CheckRow
from estimator.limits.typed_readings import gauge_rows, numeric, reading_days, readings_in_si, worded
from estimator.limits.verdict_words import PHASES
from estimator.limits.visual_checks import Looked
from estimator.pricing.consents import consent_rows, consents
from estimator.pricing.decisions import Again, checks_again, decide
from estimator.pricing.extra_lines import extra_parts, extra_work, sublet_lines
from estimator.pricing.job_lines import labor
from estimator.pricing.money_lines import SPARE_PARTS, SPARE_SUBLET, TaxRules
from estimator.pricing.part_lines import part_lines
from estimator.pricing.plan import plan
from estimator.pricing.totals import MoneyLines, case_totals
from estimator.records import EntryValue, JobRecord


def appraise(record: JobRecord, entries: Mapping[str, EntryValue]) -> Appraisal:
    """Work out everything that a record and the entries in its boxes lead to.

    `entries` holds by key what a person typed: floats, words, dates; an empty box has no entry.
    """
    planned = plan(record)
    gauges = gauge_rows(record, entries)
    readings = readings_in_si(planned.checks, record, gauges, entries)
    limit_set = work_out(record, planned.checks, readings)
    numbers = numeric(planned.checks)
    labels = {row.label: ref for ref, row in limit_set.workings.rows.items()}
    by_id = {gauge.ref: gauge for gauge in gauges}
    judged = tuple(
        judge(
            row,
            record,
            limit_set.workings,
            limit_set.of(row),
            by_id,
            entries,
            limit_set.derived_of(row),
            labels,
        )
        for row in numbers
    )
    looked = tuple(_looked(row, record, entries) for row in worded(planned.checks))
    again = checks_again(planned, entries)
    standings = _standings(again, judged, looked, entries)
    verdicts = {item.ref: (item.verdict_before, item.verdict_after) for item in standings}
    decisions = decide(planned, entries, verdicts, again)
    tax = TaxRules.of(record)
    work = labor(record, planned, decisions, tax)
    parts = part_lines(planned.parts, record, {item.line.ref: item for item in decisions.decided}, entries, tax)
    job = record.job
    others = extra_parts(record, entries, tax, max(SPARE_PARTS, len(job.extra_parts) + 2))
    spare = extra_work(record, entries, tax)
    sublet = sublet_lines(entries, tax, max(SPARE_SUBLET, len(job.sublet) + 2))
    lines = MoneyLines((*work.lines, *spare), (*parts, *others), sublet)
    agreed, proposed = (case_totals(case, lines, record, entries, tax) for case in ("agreed", "proposed"))
    log = consents(entries)
    consented, rows = consent_rows(agreed, log, record.shop.consent)
    days = reading_days(record, entries)
    visits = tuple(
        Visit(phase, f"{phase} work", entries.get(f"visit.{phase}.date", ""), entries.get(f"visit.{phase}.by", ""), day)
        for phase, day in zip(PHASES, days, strict=True)
    )
    return Appraisal(
        record=record,
        entries=MappingProxyType(dict(entries)),
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


def _looked(row: CheckRow, record: JobRecord, entries: Mapping[str, EntryValue]) -> Looked:
    before, after = (read(row, phase, entries) for phase in PHASES)
    return Looked(row, before, after, record.car.fluid.family)


def _standings(
    again: Sequence[Again], judged: Sequence[Judged], looked: Sequence[Looked], entries: Mapping[str, EntryValue]
) -> tuple[Standing, ...]:
    numbers = {item.ref: item for item in judged}
    words = {item.ref: item for item in looked}
    found = []
    for order, item in enumerate(again, 1):
        row = item.row
        if row.ref in numbers:
            phases = [numbers[row.ref].phases[phase] for phase in PHASES]
            said = [phase.verdict for phase in phases] + [phase.drive for phase in phases]
            dates = [phase.in_date for phase in phases]
        else:
            said = [words[row.ref].verdict(phase) for phase in PHASES] * 2
            dates = [1, 1]
        found.append(Standing(row, read(row, "before", entries).why, *said, *dates, item.voids, order))
    return tuple(found)
