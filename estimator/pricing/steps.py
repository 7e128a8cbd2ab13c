"""The steps of a visit as the Hours tab shows them: done for each job, or once for all that need them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.limits.sheet_arithmetic import sheet_round
from estimator.money import from_float, half_up
from estimator.pricing.decisions import Decided
from estimator.pricing.hours import StepHours
from estimator.pricing.plan import PlannedStep


def cents(amount: float) -> Decimal:
    """ROUND(ROUND(amount,8),2): to the cent, once the noise of binary fractions is taken out."""
    return half_up(from_float(sheet_round(amount, 8)))


@dataclass(frozen=True)
class OwnStep:
    """A step that a line takes for itself; `agreed` and `proposed` are its line's."""

    ref: str
    label: str
    line: str
    step: PlannedStep
    hours: StepHours
    agreed: int
    proposed: int

    @property
    def title(self) -> str:
        return self.step.step.title

    @property
    def place(self) -> str:
        return self.step.place.title


@dataclass(frozen=True)
class SharedStep:
    """A step done once a visit at its place, whoever needs it; `lines` are the labels of all that may.

    What a line has of it is a part, hours over the number of lines that need it. What leaving a line out saves of the
    labor is, for each step, hours times the change of the mean rate: `drop` plus the line's rate times `back`.
    """

    step: PlannedStep
    agreed: StepHours
    proposed: StepHours
    lines: frozenset[str]
    basis: str

    @property
    def ref(self) -> str:
        return self.step.ref

    @property
    def label(self) -> str:
        return self.step.label

    @property
    def quoted(self) -> float:
        return float(getattr(self.proposed, quoted_column(self.basis)))

    def hours(self, column: str) -> float:
        """Its hours in a column (quoted, expected, variance)."""
        return self.quoted if column == "quoted" else float(getattr(self.proposed, column))

    def part(self, column: str, case: str) -> float:
        needed = (self.agreed if case == "agreed" else self.proposed).needed
        return self.hours(column) / needed if needed > 0 else 0.0

    def sole(self, column: str) -> float:
        return self.hours(column) if self.proposed.needed == 1 else 0.0

    def drop(self, column: str) -> float:
        needed, rates = self.proposed.needed, self.proposed.rate_sum
        if needed == 0:
            return 0.0
        return self.hours(column) * (rates / needed - (rates / (needed - 1) if needed > 1 else 0.0))

    def back(self, column: str) -> float:
        needed = self.proposed.needed
        return self.hours(column) / (needed - 1) if needed > 1 else 0.0


def _left_to_others(item: Decided, shared: Sequence[SharedStep], column: str) -> float:
    """What each other line would have of the shared steps if this one were left out."""
    return math.fsum(step.back(column) for step in shared if item.line.label in step.lines) if item.proposed else 0.0


def quoted_column(basis: str) -> str:
    """The column of hours on which a basis rests: P80 adds its share of the spread to the expected."""
    return "likely" if basis == "likely" else "expected"


def _columns(basis: str) -> tuple[str, str, str]:
    return quoted_column(basis), "expected", "variance"
