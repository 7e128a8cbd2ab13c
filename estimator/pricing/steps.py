"""The steps of a visit as Workings shows them: done for each job, or once for all that need them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.limits.sheet_arithmetic import sheet_round
from estimator.money import from_float, half_up
from estimator.pricing.decisions import Decided, Decisions
from estimator.pricing.hours import NO_HOURS, Basis, Case, Hours, StepHours
from estimator.pricing.plan import Plan, PlannedStep


def cents(amount: float) -> Decimal:
    """ROUND(ROUND(amount,8),2): to the cent, once the noise of binary fractions is taken out."""
    return half_up(from_float(sheet_round(amount, 8)))


@dataclass(frozen=True)
class OwnStep:
    """A step that a line takes for itself; `agreed` and `proposed` are its line's."""

    step: PlannedStep
    hours: StepHours
    line: str
    agreed: int
    proposed: int

    @classmethod
    def of(cls, step: PlannedStep, user: Decided, basis: Basis) -> OwnStep:
        return cls(step, hours_of(step, basis), user.line.label, user.agreed, user.proposed)

    @property
    def ref(self) -> str:
        return self.step.ref

    @property
    def label(self) -> str:
        return self.step.label

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
    `needed_agreed` and `needed_proposed` count the lines that need it; `rate_sum` adds up the proposed ones' rates.
    """

    step: PlannedStep
    hours: StepHours
    lines: frozenset[str]
    needed_agreed: int
    needed_proposed: int
    rate_sum: float

    @classmethod
    def of(cls, step: PlannedStep, users: Sequence[Decided], rates: Mapping[str, float], basis: Basis) -> SharedStep:
        """Count who needs it. `rates` are by the reference of a line."""
        return cls(
            step,
            hours_of(step, basis),
            frozenset(user.line.label for user in users),
            sum(user.agreed for user in users),
            sum(user.proposed for user in users),
            sum(rates[user.line.ref] for user in users if user.proposed),
        )

    @property
    def ref(self) -> str:
        return self.step.ref

    @property
    def label(self) -> str:
        return self.step.label

    def needed(self, case: Case) -> int:
        return self.needed_agreed if case == "agreed" else self.needed_proposed

    def part(self, case: Case) -> Hours:
        """What one line has of it."""
        return self.hours.columns.over(self.needed(case))

    @property
    def sole(self) -> Hours:
        """All of it, where one line alone needs it."""
        return self.hours.columns if self.needed_proposed == 1 else NO_HOURS

    @property
    def drop(self) -> Hours:
        """Hours times the mean rate, less hours times the mean that a line of no rate would leave."""
        needed = self.needed_proposed
        if needed == 0:
            return NO_HOURS
        left = self.rate_sum / (needed - 1) if needed > 1 else 0.0
        return self.hours.columns.times(self.rate_sum / needed - left)

    @property
    def back(self) -> Hours:
        """What each other line would have of it, were one left out."""
        return self.hours.columns.over(self.needed_proposed - 1)


def hours_of(step: PlannedStep, basis: Basis) -> StepHours:
    row = step.step
    return StepHours.of(row.hours_low, row.hours_likely, row.hours_high, basis)


def steps_of(
    plan: Plan, decisions: Decisions, rates: Mapping[str, float], basis: Basis
) -> tuple[tuple[OwnStep, ...], tuple[SharedStep, ...]]:
    """Return the steps of a plan, own and shared. `rates` are by the reference of a line."""
    decided = {item.line.ref: item for item in decisions.decided}
    users: dict[str, list[Decided]] = {}
    for line, step in plan.uses:
        users.setdefault(step.ref, []).append(decided[line.ref])
    own = tuple(OwnStep.of(step, users[step.ref][0], basis) for step in plan.steps if not step.is_shared)
    shared = tuple(SharedStep.of(step, users[step.ref], rates, basis) for step in plan.steps if step.is_shared)
    return own, shared
