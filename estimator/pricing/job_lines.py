"""Job lines with their hours and money, and the steps behind them, as the Hours tab shows them.

Steps done for each job stand with their line; shared steps stand once, with the lines that need them. All hours are on
the basis that the shop quotes (likely, expected, or P80, which adds z times a standard deviation to the expected).
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from decimal import Decimal

from estimator.money import ZERO
from estimator.pricing.decisions import Decided, Decisions
from estimator.pricing.hours import LineHours, LineStep, StepHours, VisitHours, share_visit
from estimator.pricing.money_lines import TaxRules
from estimator.pricing.plan import Plan, PlannedLine, PlannedStep
from estimator.pricing.steps import OwnStep, SharedStep, _columns, _left_to_others, cents, quoted_column
from estimator.records import JobRecord


@dataclass(frozen=True)
class JobLine:
    """A job at a place: what was decided, its hours alone and in this visit, its money."""

    decided: Decided
    order: int
    rank: int
    rate: Decimal
    own_quoted: float
    own_expected: float
    own_variance: float
    agreed_hours: LineHours
    proposed_hours: LineHours
    back_quoted: float
    back_variance: float
    basis: str
    tax: TaxRules

    tax_class = "labor"
    core_agreed = core_proposed = core_tax_agreed = core_tax_proposed = ZERO

    @property
    def line(self) -> PlannedLine:
        return self.decided.line

    @property
    def ref(self) -> str:
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

    def _on(self, hours: LineHours, name: str) -> float:
        return float(getattr(hours, f"{name}_{self.basis}"))

    @property
    def quoted(self) -> str:
        return quoted_column(self.basis)

    @property
    def alone(self) -> float:
        return self._on(self.proposed_hours, "alone")

    @property
    def share_agreed(self) -> float:
        return self._on(self.agreed_hours, "share")

    @property
    def share_proposed(self) -> float:
        return self._on(self.proposed_hours, "share")

    @property
    def share_p80(self) -> float:
        return self.proposed_hours.share_p80

    def counted(self, name: str) -> float:
        """A figure of the proposed hours that only a line that counts has."""
        return float(getattr(self.proposed_hours, name)) if self.proposed else 0.0

    @property
    def variance_with(self) -> float:
        return self.proposed_hours.variance_without + self.counted("sole_variance")

    @property
    def weighted_with(self) -> float:
        return self.weighted_without + self.counted("money_variance")

    @property
    def weighted_without(self) -> float:
        return self.proposed_hours.weighted_without

    def spread(self, which: str) -> float:
        """Rate times variance over the deviation, with the line or without it."""
        weighted, variance = (
            (self.weighted_with, self.variance_with)
            if which == "with"
            else (self.weighted_without, self.proposed_hours.variance_without)
        )
        return weighted / math.sqrt(variance) if variance > 0 else 0.0

    def back(self, column: str) -> float:
        return self.back_quoted if column == "quoted" else self.back_variance

    @property
    def saves_hours(self) -> float:
        """Hours of the visit that leaving the line out saves; 0 for a line that doesn't count."""
        return self.counted(f"sole_{self.basis}")

    @property
    def saves_labor(self) -> Decimal:
        """The labor that leaving the line out saves."""
        return cents(self.counted(f"money_{self.basis}"))

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
    """All labor of a visit in both cases."""

    own: tuple[OwnStep, ...]
    shared: tuple[SharedStep, ...]
    lines: tuple[JobLine, ...]
    agreed: VisitHours
    proposed: VisitHours


def labor(record: JobRecord, plan: Plan, decisions: Decisions, tax: TaxRules) -> Labor:
    """Work out hours and money of every job line, agreed and proposed."""
    rates = {rate.id: rate.per_hour for rate in record.shop.labor.rates}
    rate_of = {line.ref: rates[line.job.rate] for line in plan.lines}
    steps = [_line_step(line, step) for line, step in plan.uses]
    floats = {ref: float(rate) for ref, rate in rate_of.items()}
    agreed, proposed = (share_visit(steps, decisions.chosen(case), floats) for case in ("agreed", "proposed"))
    basis = record.shop.labor.basis
    decided = {item.line.ref: item for item in decisions.decided}
    own: list[OwnStep] = []
    users: dict[str, set[str]] = {}
    for line, step in plan.uses:
        if step.step.shared == "once a visit":
            users.setdefault(step.ref, set()).add(line.label)
        else:
            state = decided[line.ref]
            hours = proposed.steps[step.ref]
            own.append(OwnStep(step.ref, step.label, line.label, step, hours, state.agreed, state.proposed))
    shared = tuple(
        SharedStep(step, agreed.steps[step.ref], proposed.steps[step.ref], frozenset(users[step.ref]), basis)
        for step in plan.steps
        if step.ref in users
    )
    mine: dict[str, list[StepHours]] = {}
    for step in own:
        mine.setdefault(step.line, []).append(step.hours)
    ranks = itertools.accumulate(item.proposed for item in decisions.decided)
    lines = tuple(
        JobLine(
            item,
            order,
            rank * item.proposed,
            rate_of[item.line.ref],
            *(math.fsum(getattr(hours, name) for hours in mine.get(item.line.label, ())) for name in _columns(basis)),
            agreed.lines[item.line.ref],
            proposed.lines[item.line.ref],
            *(_left_to_others(item, shared, column) for column in ("quoted", "variance")),
            basis,
            tax,
        )
        for order, (item, rank) in enumerate(zip(decisions.decided, ranks, strict=True), 1)
    )
    return Labor(tuple(own), shared, lines, agreed, proposed)


def _line_step(line: PlannedLine, step: PlannedStep) -> LineStep:
    row = step.step
    return LineStep(line.ref, step.ref, row.hours_low, row.hours_likely, row.hours_high)
