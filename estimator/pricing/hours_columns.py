"""The columns of the Hours tab as records: visit steps, rows of line and step, lines, the visit.

What each column means and how a spreadsheet works it out stands in `hours.py`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple

from estimator.errors import DomainError

WEIGHT, DIVISOR = 4, 6  # of a three-point estimate
Basis = Literal["likely", "expected", "p80"]


class ByBasis(NamedTuple):
    """One amount on each of the three bases on which a shop may quote."""

    likely: float
    expected: float
    p80: float

    def on(self, basis: Basis) -> float:
        return getattr(self, basis)


NOTHING = ByBasis(0.0, 0.0, 0.0)


class ThreePoint(NamedTuple):
    expected: float
    variance: float


def three_point(low: float, likely: float, high: float) -> ThreePoint:
    """Expected value and variance of a three-point estimate.

    expected = (low + 4*likely + high)/6, variance = ((high - low)/6)^2.

    Parameters: low, likely, high [h] (any unit of time will do). Returns expected [h], variance [h^2]. Valid for
    0 <= low <= likely <= high. Raises DomainError elsewhere. Source: Taylor, project management text.

    >>> three_point(5, 8, 17)
    ThreePoint(expected=9.0, variance=4.0)
    """
    if not 0 <= low <= likely <= high < math.inf:
        raise DomainError(
            f"hours {low} · {likely} · {high} · must be finite, 0 or more, and rise from low over likely to high · "
            "put the three in order in steps.csv"
        )
    return ThreePoint((low + WEIGHT * likely + high) / DIVISOR, ((high - low) / DIVISOR) ** 2)


@dataclass(frozen=True, slots=True)
class LineStep:
    """That a line needs a visit step, with the step's hours."""

    line: str
    visit_step: str
    hours_low: float
    hours_likely: float
    hours_high: float


@dataclass(frozen=True, slots=True)
class StepHours:
    visit_step: str
    low: float
    likely: float
    high: float
    expected: float
    variance: float
    needed: int
    rate_sum: float
    counted_likely: float
    counted_expected: float
    counted_variance: float
    several_variance: float

    @classmethod
    def of(cls, item: LineStep, needed: int, rate_sum: float) -> StepHours:
        expected, variance = three_point(item.hours_low, item.hours_likely, item.hours_high)
        return cls(
            visit_step=item.visit_step,
            low=item.hours_low,
            likely=item.hours_likely,
            high=item.hours_high,
            expected=expected,
            variance=variance,
            needed=needed,
            rate_sum=rate_sum,
            counted_likely=item.hours_likely if needed > 0 else 0.0,
            counted_expected=expected if needed > 0 else 0.0,
            counted_variance=variance if needed > 0 else 0.0,
            several_variance=variance if needed > 1 else 0.0,
        )


@dataclass(frozen=True, slots=True)
class RowHours:
    line: str
    visit_step: str
    likely: float
    expected: float
    variance: float
    counts: int
    counted_rate: float
    others: int
    share_likely: float
    share_expected: float
    share_variance: float
    sole_likely: float
    sole_expected: float
    sole_variance: float
    rate_without: float
    rate_with: float
    rate_difference: float
    money_likely: float
    money_expected: float
    money_variance: float

    @classmethod
    def of(cls, item: LineStep, step: StepHours, counts: bool, rate: float) -> RowHours:
        others = step.needed - counts
        others_rate = step.rate_sum - (rate if counts else 0.0)
        rate_without = others_rate / others if others > 0 else 0.0
        rate_with = (others_rate + rate) / (others + 1)
        difference = rate_with - rate_without
        return cls(
            line=item.line,
            visit_step=item.visit_step,
            likely=step.likely,
            expected=step.expected,
            variance=step.variance,
            counts=int(counts),
            counted_rate=rate if counts else 0.0,
            others=others,
            share_likely=step.likely / step.needed if counts else 0.0,
            share_expected=step.expected / step.needed if counts else 0.0,
            share_variance=step.variance / step.needed if counts else 0.0,
            sole_likely=step.likely if others == 0 else 0.0,
            sole_expected=step.expected if others == 0 else 0.0,
            sole_variance=step.variance if others == 0 else 0.0,
            rate_without=rate_without,
            rate_with=rate_with,
            rate_difference=difference,
            money_likely=difference * step.likely,
            money_expected=difference * step.expected,
            money_variance=difference * step.variance,
        )


@dataclass(frozen=True, slots=True)
class LineHours:
    """One line. `saves_hours` and `labor_saved` are what leaving it out saves (0 unless it is chosen); `adds_hours` and
    `labor_added` are what choosing it would add (0 if it is chosen)."""

    line: str
    chosen: bool
    rate: float
    alone_likely: float
    alone_expected: float
    alone_variance: float
    alone_p80: float
    share_likely: float
    share_expected: float
    share_variance: float
    share_p80: float
    sole_likely: float
    sole_expected: float
    sole_variance: float
    counted_sole_variance: float
    variance_without: float
    variance_with: float
    sole_p80: float
    weighted_variance: float
    weighted_without: float
    weighted_with: float
    money_likely: float
    money_expected: float
    money_variance: float
    money_p80: float

    @property
    def alone(self) -> ByBasis:
        return ByBasis(self.alone_likely, self.alone_expected, self.alone_p80)

    @property
    def share(self) -> ByBasis:
        return ByBasis(self.share_likely, self.share_expected, self.share_p80)

    @property
    def _sole(self) -> ByBasis:
        return ByBasis(self.sole_likely, self.sole_expected, self.sole_p80)

    @property
    def _money(self) -> ByBasis:
        return ByBasis(self.money_likely, self.money_expected, self.money_p80)

    @property
    def saves_hours(self) -> ByBasis:
        return self._sole if self.chosen else NOTHING

    @property
    def adds_hours(self) -> ByBasis:
        return NOTHING if self.chosen else self._sole

    @property
    def labor_saved(self) -> ByBasis:
        return self._money if self.chosen else NOTHING

    @property
    def labor_added(self) -> ByBasis:
        return NOTHING if self.chosen else self._money


@dataclass(frozen=True, slots=True)
class VisitHours:
    """All of one visit. `steps` stand as they first come up, `rows` as they were given, `lines` as their rates."""

    steps: Mapping[str, StepHours]
    rows: tuple[RowHours, ...]
    lines: Mapping[str, LineHours]
    likely: float
    expected: float
    variance: float
    several_variance: float
    weighted_variance: float
    p80: float

    @property
    def total(self) -> ByBasis:
        return ByBasis(self.likely, self.expected, self.p80)
