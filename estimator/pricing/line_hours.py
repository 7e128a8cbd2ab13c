"""Sums over steps: what a job line takes, alone and in a visit, and what the whole visit takes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from estimator.pricing.decisions import Decided
from estimator.pricing.hours import NO_HOURS, Case, Hours, StepHours, VisitHours, total
from estimator.pricing.steps import OwnStep, SharedStep


@dataclass(frozen=True)
class LineHours:
    """Sums over the steps of a job line: its own, and the shared ones that it may need.

    own: its own steps. alone: all that it takes in a visit of its own. agreed, proposed: what it has of the visit, 0
    unless it counts. sole: what it alone needs. back: what its leaving would give back to others. money: what its
    leaving would save of the labor, as an amount (hours times rates). The last three are of proposed work, and 0 for a
    line that doesn't count.
    """

    own: Hours
    alone: Hours
    agreed: Hours
    proposed: Hours
    sole: Hours
    back: Hours
    money: Hours
    own_likely: float

    @classmethod
    def of(cls, item: Decided, rate: float, steps: Sequence[StepHours], shared: Sequence[SharedStep]) -> LineHours:
        own = [step.columns for step in steps]

        def part(case: Case, counts: int) -> Hours:
            return total([*own, *(step.part(case) for step in shared)]) if counts else NO_HOURS

        counts = item.proposed
        back = total(step.back for step in shared) if counts else NO_HOURS
        saved = [*(hours.times(rate) for hours in own), *(step.drop for step in shared), back.times(rate)]
        return cls(
            own=total(own),
            alone=total([*own, *(step.hours.columns for step in shared)]),
            agreed=part("agreed", item.agreed),
            proposed=part("proposed", counts),
            sole=total([*own, *(step.sole for step in shared)]) if counts else NO_HOURS,
            back=back,
            money=total(saved) if counts else NO_HOURS,
            own_likely=math.fsum(step.likely for step in steps),
        )


def visit_of(own: Sequence[OwnStep], shared: Sequence[SharedStep], case: Case) -> VisitHours:
    """Every step that a counted line needs, once."""
    mine = [step.hours for step in own if (step.agreed if case == "agreed" else step.proposed)]
    counted = [*mine, *(step.hours for step in shared if step.needed(case) > 0)]
    several = [step.hours.columns.variance for step in shared if step.needed(case) > 1]
    all_of_it = total(step.columns for step in counted)
    likely = math.fsum(step.likely for step in counted)
    return VisitHours(likely, all_of_it.expected, all_of_it.variance, math.fsum(several))
