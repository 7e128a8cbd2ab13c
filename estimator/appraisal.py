"""All that follows from a record and its entries: limits, verdicts, lines, hours, prices, tax, journal.

Pure computing: no file, no spreadsheet library. Every value that a formula of the workbook yields comes from here.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType

from estimator.limits.driving import Driving, Standing, driving
from estimator.limits.judging import PHASES, GaugeRow, Judged, Limits, judge, read, word_verdict
from estimator.limits.methods import LimitSet, work_out
from estimator.limits.readings import gauge_rows, numeric, reading_days, readings_in_si
from estimator.limits.rows import CheckRow
from estimator.limits.working import Workings
from estimator.money import ZERO, allocate
from estimator.pricing.consent import Consented
from estimator.pricing.consents import Consent, ConsentRow, consent_rows, consents
from estimator.pricing.decisions import Call, Decisions, decide, done_lines
from estimator.pricing.job_lines import Labor, labor
from estimator.pricing.money_lines import (
    SPARE_PARTS,
    SPARE_SUBLET,
    ExtraPart,
    ExtraWork,
    PartLine,
    SubletLine,
    TaxRules,
    extra_parts,
    extra_work,
    part_lines,
    sublet_lines,
)
from estimator.pricing.parts import MarkupRow, markup_rows
from estimator.pricing.plan import Plan, plan
from estimator.pricing.totals import MoneyLines, TotalRow, case_totals, total_rows
from estimator.records import EntryValue, Fact, JobRecord

TAX_CLASSES = ("labor", "parts", "supplies", "disposal", "sublet", "core")


@dataclass(frozen=True)
class Looked:
    """A check that isn't a number: what was said of it in both phases."""

    row: CheckRow
    verdict_before: str
    verdict_after: str

    @property
    def ref(self) -> str:
        return self.row.ref

    @property
    def label(self) -> str:
        return self.row.label


@dataclass(frozen=True)
class Bracket:
    ref: str
    label: str
    over: Decimal
    percent: Decimal
    floor: Decimal


@dataclass(frozen=True)
class TaxPartRow:
    """A jurisdiction's percentage and its part of the tax in both cases."""

    ref: str
    label: str
    percent: Decimal
    agreed: Decimal
    proposed: Decimal


@dataclass(frozen=True)
class TaxClassRow:
    label: str
    taxed: int

    @property
    def ref(self) -> str:
        return self.label


@dataclass(frozen=True)
class Visit:
    """When and by whom the readings of a phase were taken."""

    ref: str
    label: str
    date: EntryValue
    by: EntryValue
    day: int


@dataclass(frozen=True)
class Appraisal:
    record: JobRecord
    entries: Mapping[str, EntryValue]
    plan: Plan
    gauges: tuple[GaugeRow, ...]
    visits: tuple[Visit, ...]
    limit_set: LimitSet
    judged: tuple[Judged, ...]
    looked: tuple[Looked, ...]
    standings: tuple[Standing, ...]
    driving: Driving
    decisions: Decisions
    labor: Labor
    parts: tuple[PartLine, ...]
    extra_parts: tuple[ExtraPart, ...]
    extra_work: tuple[ExtraWork, ...]
    sublet: tuple[SubletLine, ...]
    tax: TaxRules
    agreed: Mapping[str, Decimal]
    proposed: Mapping[str, Decimal]
    consents: tuple[Consent, ...]
    consented: Consented
    consent_rows: tuple[ConsentRow, ...]

    @property
    def workings(self) -> Workings:
        return self.limit_set.workings

    @property
    def limits(self) -> tuple[Limits, ...]:
        return self.limit_set.limits

    @property
    def calls(self) -> tuple[Call, ...]:
        return self.decisions.calls

    @property
    def facts(self) -> tuple[Fact, ...]:
        return self.record.facts

    @property
    def plain(self) -> str:
        return "yes" if self.record.shop.verdicts.plain_comparison else "no"

    @functools.cached_property
    def standing_of(self) -> Mapping[str, Standing]:
        return {item.ref: item for item in self.standings}

    @functools.cached_property
    def totals(self) -> tuple[TotalRow, ...]:
        return total_rows(self.agreed, self.proposed)

    @functools.cached_property
    def markup(self) -> tuple[Bracket, ...]:
        rows: tuple[MarkupRow, ...] = markup_rows(self.record.shop.markup)
        return tuple(
            Bracket(f"b{number}", f"bracket {number}", row.over, row.percent, row.floor)
            for number, row in enumerate(rows, 1)
        )

    @functools.cached_property
    def tax_parts(self) -> tuple[TaxPartRow, ...]:
        parts = () if self.record.shop.tax.kind == "none" else self.record.shop.tax.parts
        weights = [part.percent for part in parts]
        shares = [
            allocate(totals["tax"], weights) if sum(weights) else (ZERO,) * len(parts)
            for totals in (self.agreed, self.proposed)
        ]
        return tuple(
            TaxPartRow(f"t{number}", part.name, part.percent, shares[0][number - 1], shares[1][number - 1])
            for number, part in enumerate(parts, 1)
        )

    @functools.cached_property
    def tax_classes(self) -> tuple[TaxClassRow, ...]:
        return tuple(TaxClassRow(name, self.tax.is_taxed(name)) for name in TAX_CLASSES)

    @property
    def money_lines(self) -> MoneyLines:
        return MoneyLines((*self.labor.lines, *self.extra_work), (*self.parts, *self.extra_parts), self.sublet)


def appraise(record: JobRecord, entries: Mapping[str, EntryValue]) -> Appraisal:
    """Work out everything that a record and the entries in its boxes lead to.

    `entries` holds by key what a person typed: floats, words, dates; an empty box has no entry.
    """
    planned = _plan(record)
    gauges = gauge_rows(record, entries)
    readings = readings_in_si(planned.checks, record, gauges, entries)
    limit_set = work_out(record, planned.checks, readings)
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
        for row in numeric(planned.checks)
    )
    looked = tuple(_looked(row, record, entries) for row in planned.checks if row not in numeric(planned.checks))
    voids = done_lines(planned, entries)
    standings = _standings(planned.checks, judged, looked, voids, entries)
    verdicts = {item.ref: (item.verdict_before, item.verdict_after) for item in standings}
    decisions = decide(planned, entries, verdicts, voids)
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


def _plan(record: JobRecord) -> Plan:
    return plan(record)


def _looked(row: CheckRow, record: JobRecord, entries: Mapping[str, EntryValue]) -> Looked:
    family = record.car.fluid.family
    before, after = (word_verdict(row, read(row, phase, entries), family) for phase in PHASES)
    return Looked(row, before, after)


def _standings(checks, judged, looked, voids, entries) -> tuple[Standing, ...]:
    numbers = {item.ref: item for item in judged}
    words = {item.ref: item for item in looked}
    done: dict[str, int] = {}
    for item in voids:
        done[item.check] = done.get(item.check, 0) + item.done
    found = []
    for row in checks:
        if row.ref in numbers:
            phases = numbers[row.ref].phases
            said = [phases[phase].verdict for phase in PHASES] + [phases[phase].drive for phase in PHASES]
            dates = [phases[phase].in_date for phase in PHASES]
        else:
            both = words[row.ref]
            said = [both.verdict_before, both.verdict_after] * 2
            dates = [1, 1]
        why = read(row, "before", entries).why
        found.append(Standing(row, why, *said, *dates, done.get(row.label, 0)))
    return tuple(found)
