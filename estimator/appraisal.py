"""All that follows from a record and its entries: limits, verdicts, lines, hours, prices, tax, journal.

Every value that a formula of the workbook yields comes from here.
"""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from estimator.appraisal_rows import (
    CONCERNS,
    OFFERS,
    TAX_CLASSES,
    Balance,
    Bracket,
    Concern,
    Figure,
    Offer,
    Reserve,
    Stopping,
    TaxClassRow,
    TaxPartRow,
    Visit,
)
from estimator.limits.box_values import GaugeRow
from estimator.limits.driving import Driving, Standing
from estimator.limits.judging import Judged, Limits
from estimator.limits.methods import LimitSet
from estimator.limits.visual_checks import Looked
from estimator.limits.working import Workings
from estimator.money import add
from estimator.pricing.consent import Consented
from estimator.pricing.consents import Consent, ConsentRow
from estimator.pricing.decisions import Call, Decisions
from estimator.pricing.extra_lines import ExtraPart, ExtraWork, SubletLine
from estimator.pricing.job_lines import Labor
from estimator.pricing.money_lines import TaxRules
from estimator.pricing.part_lines import PartLine
from estimator.pricing.parts import MarkupRow, markup_rows
from estimator.pricing.plan import Plan
from estimator.pricing.totals import (
    JournalRow,
    MoneyLines,
    TotalRow,
    journal_rows,
    sum_rows,
    tax_shares,
    total_rows,
)
from estimator.pricing.visit import FLAGS, VisitRow, visit_rows
from estimator.records import EntryValue, Fact, JobRecord


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

    flags = FLAGS

    @functools.cached_property
    def reserves(self) -> tuple[Reserve, ...]:
        """The pressure after each application without recharging, for every system, in the shown unit."""
        rows = self.workings.rows
        systems = [system.id for system in self.record.car.systems]
        count = 0
        while all(f"{system}-applications.after-{count}" in rows for system in systems):
            count += 1
        return tuple(
            Reserve(
                number,
                tuple(rows[f"{system}-applications.after-{number}"].shown for system in systems),
                tuple(rows[f"{system}.lamp"].shown for system in systems),
                tuple(rows[f"{system}.secondary"].shown for system in systems),
            )
            for number in range(count)
        )

    @functools.cached_property
    def stoppings(self) -> tuple[Stopping, ...]:
        """The deceleration in each failure state, and what the yardstick asks for."""
        rows = self.workings.rows
        scopes = [row.scope for row in rows.values() if row.scope.startswith("braking-") and row.name == "road"]
        return tuple(Stopping(scope, rows[f"{scope}.road"].shown, rows[f"{scope}.spare"].shown) for scope in scopes)

    @functools.cached_property
    def visit_hours(self) -> tuple[VisitRow, ...]:
        return visit_rows(self.labor, self.record.shop.labor.basis)

    @property
    def sums(self) -> tuple[TotalRow, ...]:
        return sum_rows(self.totals)

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
        cases = (tax_shares(totals["tax"], weights) for totals in (self.agreed, self.proposed))
        return tuple(
            TaxPartRow(number, part.name, part.percent, agreed, proposed)
            for number, (part, agreed, proposed) in enumerate(zip(parts, *cases, strict=True), 1)
        )

    @functools.cached_property
    def offers(self) -> tuple[Offer, ...]:
        proposed = [line for line in self.labor.lines if line.proposed]
        found = []
        for number in range(1, OFFERS + 1):
            line = proposed[number - 1] if number <= len(proposed) else None
            mine = [part for part in self.parts if line is not None and part.line == line.label]
            parts, core = (add(getattr(part, f"{name}_proposed") for part in mine) for name in ("amount", "core"))
            rebuilt = sum(1 for part in mine if part.planned.part.condition == "rebuilt")
            found.append(Offer(number, line, parts, core, rebuilt) if line else Offer(number, None, "", "", 0))
        return tuple(found)

    @property
    def balance(self) -> Balance:
        return Balance(add(row.debit for row in self.journal), add(row.credit for row in self.journal))

    @functools.cached_property
    def ranks(self) -> Mapping[str, int]:
        """The place of each check that keeps the car off the road among all that do; 0 for the others."""
        running = itertools.accumulate(item.concern for item in self.standings)
        return {item.ref: rank * item.concern for item, rank in zip(self.standings, running, strict=True)}

    @functools.cached_property
    def concerns(self) -> tuple[Concern, ...]:
        found = [item for item in self.standings if item.concern]
        return tuple(
            Concern(number, found[number - 1] if number <= len(found) else None) for number in range(1, CONCERNS + 1)
        )

    @functools.cached_property
    def state_rows(self) -> tuple[Figure, ...]:
        state = self.driving
        undecided = sum(line.proposed for line in self.labor.lines) - sum(
            1 for line in self.labor.lines if line.proposed and line.agreed
        )
        return (
            Figure("driving", "what may be done with the car", state.state),
            Figure("static", "static checks that keep it off the road", state.static_concerns),
            Figure("road", "road checks still open", state.road_concerns),
            Figure("made", "checks made", state.made),
            Figure("asked", "of", state.asked),
            Figure("undecided", "proposed jobs not yet decided", undecided),
            Figure("agreed_total", "agreed work, total", self.agreed["total"]),
            Figure("proposed_total", "all that is proposed, total", self.proposed["total"]),
            Figure("over", "agreed work over the consent", self.consented.over),
        )

    @functools.cached_property
    def together(self) -> tuple[Figure, ...]:
        """The labor of all proposed jobs, each in a visit of its own and all in one."""
        alone = add(line.amount_alone for line in self.labor.lines if line.proposed)
        shared = add(line.amount_proposed for line in self.labor.lines)
        return (
            Figure("alone", "each in a visit of its own", alone),
            Figure("together", "all in this visit", shared),
            Figure("saved", "saved", alone - shared),
        )

    @functools.cached_property
    def self_checks(self) -> tuple[Figure, ...]:
        """Whether the figures agree with each other; each 0 where they do."""
        hours = {row.ref: row for row in self.visit_hours}
        quoted, basis = hours["quoted"], hours[self.record.shop.labor.basis]
        p80 = math.fsum(line.share_p80 for line in self.labor.lines)
        shares = abs(quoted.agreed - basis.agreed) + abs(quoted.proposed - basis.proposed)
        tax = add(row.agreed.share for row in self.tax_parts)
        checks = (
            ("shares", "job shares add up to the hours of the visit", shares >= 1e-6),
            ("p80", "shares of P80 add up to the visit's", abs(p80 - hours["p80"].proposed) >= 1e-6),
            ("balance", "the journal balances", self.balance.out != 0),
            ("tax", "tax by jurisdiction adds up to the tax", tax != self.agreed["tax"]),
            ("parts", "no part of the wrong fluid family", any(p.mixed for p in (*self.parts, *self.extra_parts))),
        )
        rows = [Figure(ref, label, int(failed)) for ref, label, failed in checks]
        return (*rows, Figure("all", "all of them", sum(int(failed) for _, _, failed in checks)))

    @functools.cached_property
    def journal(self) -> tuple[JournalRow, ...]:
        parts = [(row.label, row.agreed.share) for row in self.tax_parts]
        return journal_rows(self.agreed, parts, self.record, self.tax)

    @functools.cached_property
    def tax_classes(self) -> tuple[TaxClassRow, ...]:
        return tuple(TaxClassRow(name, self.tax.is_taxed(name)) for name in TAX_CLASSES)

    @property
    def money_lines(self) -> MoneyLines:
        return MoneyLines((*self.labor.lines, *self.extra_work), (*self.parts, *self.extra_parts), self.sublet)
