"""Hours of a visit: steps that a job line takes for itself, and steps shared by all that need them.

A *line* is a job at a place. A step is a line's own, or it is shared: done once a visit at its place, whoever needs it.
Hours of the visit: every step that a counted line needs, once. A line's part of a shared step is its hours over the
number of counted lines that need it, which is the Shapley value of this cost game (Littlechild and Owen 1973, "A
Simple Expression for the Shapley Value in a Special Case", Management Science 20(3)). Steps are taken as independent,
so variances add up as hours do. The Hours tab says the same in formulas, column by column.

All hours are floats, in hours, and variances in hours squared; where a rate weighs them, they are amounts.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, NamedTuple

from estimator.errors import DomainError

WEIGHT, DIVISOR = 4, 6  # of a three-point estimate
Z_P80 = 0.8416  # standard normal table: 80 % lies below
Basis = Literal["likely", "expected", "p80"]
Case = Literal["agreed", "proposed"]


class ThreePoint(NamedTuple):
    expected: float
    variance: float


def three_point(low: float, likely: float, high: float) -> ThreePoint:
    """Return expected value and variance of a three-point estimate.

    expected = (low + 4*likely + high)/6, variance = ((high - low)/6)^2.

    Parameters: low, likely, high [h] (any unit of time will do). Returns expected [h], variance [h^2]. Valid for
    0 <= low <= likely <= high. Raises DomainError elsewhere. Source: Taylor, project management text.

    >>> three_point(5, 8, 17)
    ThreePoint(expected=9.0, variance=4.0)
    """
    if not 0 <= low <= likely <= high < math.inf:
        raise DomainError(
            f"hours {low}, {likely}, {high} must be finite, 0 or more, and rise from low over likely to high; "
            "put the three in order in steps.csv"
        )
    return ThreePoint((low + WEIGHT * likely + high) / DIVISOR, ((high - low) / DIVISOR) ** 2)


class Hours(NamedTuple):
    """What a step takes, or a sum of steps: hours as the shop quotes them, expected hours, and their variance."""

    quoted: float
    expected: float
    variance: float

    def times(self, factor: float) -> Hours:
        return Hours(*(factor * value for value in self))

    def over(self, count: int) -> Hours:
        """Split evenly; nothing where there is nobody to split it among."""
        return Hours(*(value / count for value in self)) if count > 0 else NO_HOURS


NO_HOURS = Hours(0.0, 0.0, 0.0)


def total(items: Iterable[Hours]) -> Hours:
    """Return the sum, each column rounded once.

    >>> total([Hours(0.1, 0.1, 0.0)] * 3)
    Hours(quoted=0.30000000000000004, expected=0.30000000000000004, variance=0.0)
    """
    return Hours(*(map(math.fsum, zip(*items, strict=True)) if (items := tuple(items)) else NO_HOURS))


@dataclass(frozen=True, slots=True)
class StepHours:
    """The hours of a step as its table has them, and what follows from them."""

    low: float
    likely: float
    high: float
    columns: Hours

    @classmethod
    def of(cls, low: float, likely: float, high: float, basis: Basis) -> StepHours:
        """Work out the columns; P80 rests on the expected hours. Raises DomainError as `three_point` does."""
        expected, variance = three_point(low, likely, high)
        return cls(low, likely, high, Hours(likely if basis == "likely" else expected, expected, variance))


@dataclass(frozen=True, slots=True)
class VisitHours:
    """All of one visit. `several_variance` is that of the steps which more than one line needs."""

    likely: float
    expected: float
    variance: float
    several_variance: float

    @property
    def p80(self) -> float:
        """Hours that are enough in four visits of five: expected + z*sqrt(variance). Valid for a sum of many steps."""
        return self.expected + Z_P80 * math.sqrt(self.variance)

    @property
    def per_deviation(self) -> float:
        """What spreads the deviation over the lines: 1/sqrt(variance), 0 without a spread."""
        return 1 / math.sqrt(self.variance) if self.variance > 0 else 0.0
