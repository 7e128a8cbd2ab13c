"""Job lines with their hours and money, and the steps behind them, as Workings shows them.

Steps done for each job stand with their line; shared steps stand once, with the lines that need them. All hours are on
the basis that the shop quotes (likely, expected, or P80, which adds z times a standard deviation to the expected).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Literal

from estimator.boxes.keys import LineRef
from estimator.pricing.decisions import Decided, Decisions
from estimator.pricing.hours import Z_P80, Basis, Case, Hours, StepHours, VisitHours
from estimator.pricing.line_hours import LineHours, visit_of
from estimator.pricing.money_lines import TaxRules
from estimator.pricing.plan import Plan, PlannedLine
from estimator.pricing.steps import OwnStep, SharedStep, cents, steps_of
from estimator.records import JobRecord


@dataclass(frozen=True)
class JobLine:
    """A job at a place: what was decided, its hours alone and in this visit, its money.

    `variance_without` is the variance of the proposed visit without this line; `weighted_all` adds up `weighted` over
    all lines.
    """

    decided: Decided
    order: int
    rank: int
    rate: Decimal
    hours: LineHours
    visits: Mapping[Case, VisitHours]
    variance_without: float
    weighted_all: float
    basis: Basis
    tax: TaxRules

    tax_class = "labor"

    @property
    def line(self) -> PlannedLine:
        return self.decided.line

    @property
    def ref(self) -> LineRef:
        return self.line.ref

    @property
    def label(self) -> str:
        return self.line.label

    @property
    def agreed(self) -> int:
        return self.decided.agreed

    @property
    def proposed(self) -> int:
        return self.decided.proposed

    @property
    def taxed(self) -> int:
        return self.tax.is_taxed("labor")

    @property
    def _z(self) -> float:
        return deviations(self.basis)

    @property
    def alone(self) -> float:
        return self.hours.alone.quoted + self._z * math.sqrt(self.hours.alone.variance)

    def _share(self, case: Case, hours: Hours) -> float:
        return hours.quoted + self._z * hours.variance * self.visits[case].per_deviation

    @cached_property
    def share_agreed(self) -> float:
        return self._share("agreed", self.hours.agreed)

    @cached_property
    def share_proposed(self) -> float:
        return self._share("proposed", self.hours.proposed)

    @property
    def variance_with(self) -> float:
        return self.variance_without + self.hours.sole.variance

    @property
    def weighted(self) -> float:
        """Rate times its share of the variance of all proposed work."""
        return float(self.rate) * self.hours.proposed.variance

    @property
    def weighted_without(self) -> float:
        return self.weighted_all - self.hours.money.variance

    @property
    def weighted_with(self) -> float:
        return self.weighted_without + self.hours.money.variance

    def spread(self, which: Literal["with", "without"]) -> float:
        """Rate times variance over the deviation, with the line or without it."""
        weighted, variance = (
            (self.weighted_with, self.variance_with)
            if which == "with"
            else (self.weighted_without, self.variance_without)
        )
        return weighted / math.sqrt(variance) if variance > 0 else 0.0

    @property
    def own_likely(self) -> float:
        """The likely hours of its own steps."""
        return self.hours.own_likely

    @property
    def saves_hours(self) -> float:
        """Hours of the visit that leaving the line out saves; 0 for a line that doesn't count."""
        spread = math.sqrt(self.variance_with) - math.sqrt(self.variance_without)
        return self.hours.sole.quoted + self._z * spread

    @property
    def saves_labor(self) -> Decimal:
        """The labor that leaving the line out saves; less than nothing where it lowers the mean rate of shared steps."""
        return cents(self.hours.money.quoted + self._z * (self.spread("with") - self.spread("without")))

    @property
    def amount_alone(self) -> Decimal:
        return self._amount(self.alone)

    @property
    def amount_agreed(self) -> Decimal:
        return self._amount(self.share_agreed)

    @property
    def amount_proposed(self) -> Decimal:
        return self._amount(self.share_proposed)

    @property
    def tax_agreed(self) -> Decimal:
        return self.tax.on(self.amount_agreed, "labor")

    @property
    def tax_proposed(self) -> Decimal:
        return self.tax.on(self.amount_proposed, "labor")

    def _amount(self, hours: float) -> Decimal:
        return cents(hours * float(self.rate))


@dataclass(frozen=True)
class Labor:
    """All labor of a visit in both cases; `weighted` adds up the lines' rates times variances."""

    own: tuple[OwnStep, ...]
    shared: tuple[SharedStep, ...]
    lines: tuple[JobLine, ...]
    agreed: VisitHours
    proposed: VisitHours
    weighted: float


def deviations(basis: Basis) -> float:
    """Return how many standard deviations a basis adds to the hours that it quotes."""
    return Z_P80 if basis == "p80" else 0.0


def labor(record: JobRecord, plan: Plan, decisions: Decisions, tax: TaxRules) -> Labor:
    """Work out hours and money of every job line, agreed and proposed."""
    basis: Basis = record.shop.labor.basis
    per_hour = {rate.id: rate.per_hour for rate in record.shop.labor.rates}
    rates = {line.ref: per_hour[line.job.rate] for line in plan.lines}
    own, shared = steps_of(plan, decisions, {ref: float(rate) for ref, rate in rates.items()}, basis)
    agreed, proposed = visit_of(own, shared, "agreed"), visit_of(own, shared, "proposed")
    mine: dict[str, list[StepHours]] = {}
    for step in own:
        mine.setdefault(step.line, []).append(step.hours)
    hours = {
        item.line.ref: LineHours.of(
            item,
            float(rates[item.line.ref]),
            mine.get(item.line.label, ()),
            [step for step in shared if item.line.label in step.lines],
        )
        for item in decisions.decided
    }
    weighted = math.fsum(float(rates[ref]) * item.proposed.variance for ref, item in hours.items())
    ranks = itertools.accumulate(item.proposed for item in decisions.decided)
    lines = tuple(
        JobLine(
            decided=item,
            order=order,
            rank=rank * item.proposed,
            rate=rates[item.line.ref],
            hours=hours[item.line.ref],
            visits={"agreed": agreed, "proposed": proposed},
            # Not the whole less its own: what is left of binary fractions would have a square root of its own.
            variance_without=proposed.several_variance
            + math.fsum(other.sole.variance for ref, other in hours.items() if ref != item.line.ref),
            weighted_all=weighted,
            basis=basis,
            tax=tax,
        )
        for order, (item, rank) in enumerate(zip(decisions.decided, ranks, strict=True), 1)
    )
    return Labor(own, shared, lines, agreed, proposed, weighted)
