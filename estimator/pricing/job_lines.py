"""Job lines with their hours and money, and the steps behind them, as the Hours tab shows them.

Steps done for each job stand with their line; shared steps stand once, with the lines that need them. All hours are on
the basis that the shop quotes (likely, expected, or P80, which adds z times a standard deviation to the expected).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.money import ZERO, from_float, half_up
from estimator.pricing.decisions import Decided, Decisions
from estimator.pricing.hours import LineHours, LineStep, RowHours, StepHours, VisitHours, share_visit
from estimator.pricing.money_lines import TaxRules
from estimator.pricing.plan import Plan, PlannedLine, PlannedStep
from estimator.records import JobRecord


@dataclass(frozen=True)
class OwnStep:
    """A step that a line takes for itself."""

    ref: str
    label: str
    line: str
    step: PlannedStep
    hours: StepHours

    @property
    def title(self) -> str:
        return self.step.step.title

    @property
    def place(self) -> str:
        return self.step.place.title


@dataclass(frozen=True)
class SharedStep:
    """A step done once a visit at its place, whoever needs it."""

    step: PlannedStep
    agreed: StepHours
    proposed: StepHours

    @property
    def ref(self) -> str:
        return self.step.ref

    @property
    def label(self) -> str:
        return self.step.label


@dataclass(frozen=True)
class Use:
    """That a line needs a shared step, and its part of it."""

    ref: str
    label: str
    line: str
    step: str
    agreed: RowHours
    proposed: RowHours


@dataclass(frozen=True)
class JobLine:
    """A job at a place: what was decided, its hours alone and in this visit, its money."""

    decided: Decided
    rate: Decimal
    agreed_hours: LineHours
    proposed_hours: LineHours
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

    @property
    def saves_hours(self) -> float:
        return self._on(self.proposed_hours, "sole")

    @property
    def saves_labor(self) -> Decimal:
        """What leaving the line out takes off the labor of the visit, or what adding it would add to it."""
        return half_up(from_float(self._on(self.proposed_hours, "money")))

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
        return half_up(from_float(hours * float(self.rate)))


@dataclass(frozen=True)
class Labor:
    """All labor of a visit in both cases."""

    own: tuple[OwnStep, ...]
    shared: tuple[SharedStep, ...]
    uses: tuple[Use, ...]
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
    own, uses = _rows(plan.uses, agreed, proposed)
    shared = tuple(
        SharedStep(step, agreed.steps[step.ref], proposed.steps[step.ref])
        for step in plan.steps
        if step.step.shared == "once a visit"
    )
    basis = record.shop.labor.basis
    lines = tuple(
        JobLine(item, rate_of[item.line.ref], agreed.lines[item.line.ref], proposed.lines[item.line.ref], basis, tax)
        for item in decisions.decided
    )
    return Labor(own, shared, uses, lines, agreed, proposed)


def _line_step(line: PlannedLine, step: PlannedStep) -> LineStep:
    row = step.step
    return LineStep(line.ref, step.ref, row.hours_low, row.hours_likely, row.hours_high)


def _rows(
    pairs: Sequence[tuple[PlannedLine, PlannedStep]], agreed: VisitHours, proposed: VisitHours
) -> tuple[tuple[OwnStep, ...], tuple[Use, ...]]:
    own: list[OwnStep] = []
    uses: list[Use] = []
    hours: Mapping[str, StepHours] = proposed.steps
    for (line, step), in_agreed, in_proposed in zip(pairs, agreed.rows, proposed.rows, strict=True):
        if step.step.shared == "once a visit":
            number = len(uses) + 1
            uses.append(Use(f"u{number}", f"use {number}", line.label, step.label, in_agreed, in_proposed))
        else:
            own.append(OwnStep(step.ref, step.label, line.label, step, hours[step.ref]))
    return tuple(own), tuple(uses)
