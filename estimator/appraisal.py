"""All that follows from a record and its entries: limits, verdicts, lines, hours, prices, tax, journal.

Every value that a formula of the workbook yields comes from here.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from estimator.boxes.entries import Day, Entries, ReadingBoxes
from estimator.boxes.keys import CheckRef
from estimator.diagnosis.causes.calling import Callers
from estimator.diagnosis.causes.result import Diagnosis
from estimator.limits.catalog.limit_set import LimitSet
from estimator.limits.judging.box_values import GaugeRow
from estimator.limits.judging.driving import Driving
from estimator.limits.judging.judging import Judged, Limits
from estimator.limits.judging.measured_again import Third
from estimator.limits.judging.standing import Standing
from estimator.limits.judging.usual_gauges import UsualGauge
from estimator.limits.judging.visual_checks import Looked
from estimator.limits.working import Workings
from estimator.pricing.calls import Call
from estimator.pricing.consent import Consented
from estimator.pricing.consents import Consent, ConsentRow
from estimator.pricing.decisions import Decisions
from estimator.pricing.extra_lines import ExtraLine, ExtraPart, ExtraWork, SubletLine
from estimator.pricing.job_lines import Labor
from estimator.pricing.journal_rows import Balance, JournalRow, journal_rows
from estimator.pricing.money_lines import TaxRules
from estimator.pricing.offers import Declined, Extra, Item, JobSum, declined_of, extras, items, job_sums
from estimator.pricing.part_lines import Change, ListedPrice, PartLine
from estimator.pricing.plan import Plan
from estimator.pricing.tax_parts import TaxPartRow, tax_part_rows
from estimator.pricing.totals import TotalRow, sum_rows, total_rows
from estimator.pricing.visit import VisitRow, visit_rows
from estimator.records import Fact, JobRecord


@dataclass(frozen=True)
class Visit:
    """When and by whom the readings of a phase were taken."""

    ref: str
    label: str
    date: Day
    by: str
    day: int
    in_order: int


@dataclass(frozen=True)
class Appraisal:
    record: JobRecord
    entries: Entries
    plan: Plan
    gauges: tuple[GaugeRow, ...]
    visits: tuple[Visit, ...]
    limit_set: LimitSet
    judged: tuple[Judged, ...]
    looked: tuple[Looked, ...]
    thirds: tuple[Third, ...]
    standings: tuple[Standing, ...]
    driving: Driving
    diagnosis: Diagnosis
    callers: Callers
    past: Mapping[str, tuple[CheckRef, ...]]
    decisions: Decisions
    labor: Labor
    readings: Mapping[CheckRef, ReadingBoxes]
    shared_gauges: tuple[UsualGauge, ...]
    changes: tuple[Change, ...]
    prices: tuple[ListedPrice, ...]
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

    @functools.cached_property
    def standing_of(self) -> Mapping[CheckRef, Standing]:
        return {item.ref: item for item in self.standings}

    @property
    def mixed(self) -> tuple[PartLine | ExtraPart, ...]:
        """The agreed parts of another fluid family than the car's."""
        parts: tuple[PartLine | ExtraPart, ...] = (*self.parts, *self.extra_parts)
        return tuple(part for part in parts if part.mixed_agreed)

    @property
    def concerns(self) -> tuple[Standing, ...]:
        """The checks that keep the car off the road."""
        return tuple(item for item in self.standings if item.concern)

    @functools.cached_property
    def job_sums(self) -> tuple[JobSum, ...]:
        """What the parts of each job line come to."""
        return job_sums(self.labor.lines, self.parts)

    @functools.cached_property
    def extras(self) -> tuple[Extra, ...]:
        """The lines that people filled in, with their numbers on the estimate."""
        return extras(self.labor.lines, self.extra_lines)

    @functools.cached_property
    def items(self) -> tuple[Item, ...]:
        """All that the estimate offers."""
        return items(self.job_sums, self.extras)

    @functools.cached_property
    def offers(self) -> tuple[Item, ...]:
        """The rows of the estimate, empty ones after the last item."""
        return items(self.job_sums, self.extras, self.record.room.offers)

    @functools.cached_property
    def declined(self) -> tuple[Declined, ...]:
        """All that the customer declined."""
        return declined_of(self.labor.lines, self.extras)

    @property
    def extra_lines(self) -> tuple[ExtraLine, ...]:
        """The lines that people filled in, work before parts before sublet work."""
        return (*self.extra_work, *self.extra_parts, *self.sublet)

    @functools.cached_property
    def totals(self) -> tuple[TotalRow, ...]:
        return total_rows(self.agreed, self.proposed)

    @property
    def sums(self) -> tuple[TotalRow, ...]:
        """The totals that the customer reads."""
        return sum_rows(self.totals)

    @functools.cached_property
    def visit_hours(self) -> tuple[VisitRow, ...]:
        return visit_rows(self.labor, self.record.shop.labor.basis)

    @functools.cached_property
    def tax_parts(self) -> tuple[TaxPartRow, ...]:
        return tax_part_rows(self.record.shop.tax, self.agreed["tax"], self.proposed["tax"])

    @functools.cached_property
    def journal(self) -> tuple[JournalRow, ...]:
        parts = [(row.label, row.agreed.share) for row in self.tax_parts]
        return journal_rows(self.agreed, parts, self.record, self.tax)

    @property
    def balance(self) -> Balance:
        return Balance.of(self.journal)
