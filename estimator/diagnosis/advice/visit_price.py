"""What a visit comes to with any set of job lines, tax included, at low, likely or high hours."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import replace
from decimal import Decimal
from typing import Literal

from estimator.appraisal import Appraisal
from estimator.pricing.money_lines import Amounts
from estimator.pricing.plan import PlannedStep
from estimator.pricing.steps import cents
from estimator.pricing.totals import MoneyLines, case_totals

Which = Literal["low", "likely", "high"]


class VisitPrice:
    """Prices of visits to one car: shared steps once, at the mean rate of the lines that need them, as the Hours tab has it."""

    def __init__(self, appraisal: Appraisal) -> None:
        self._appraisal = appraisal
        per_hour = {rate.id: float(rate.per_hour) for rate in appraisal.record.shop.labor.rates}
        self._rates: dict[str, float] = {line.ref: per_hour[line.job.rate] for line in appraisal.plan.lines}
        self._steps: dict[str, list[PlannedStep]] = {}
        for line, step in appraisal.plan.uses:
            self._steps.setdefault(line.ref, []).append(step)
        self._known: dict[tuple[frozenset[str], Which], Decimal] = {}

    def of(self, lines: Collection[str], which: Which = "likely") -> Decimal:
        """Return the total of a visit with these lines, whatever was decided of them; lines that others include fall away."""
        chosen = frozenset(lines)
        within = {below.ref for above, below in self._appraisal.plan.supersedes if above.ref in chosen}
        key = (chosen - within, which)
        if key not in self._known:
            self._known[key] = self._total(*key)
        return self._known[key]

    def _total(self, chosen: frozenset[str], which: Which) -> Decimal:
        steps: dict[str, PlannedStep] = {}
        rates: dict[str, list[float]] = {}
        for ref in sorted(chosen):
            for step in self._steps[ref]:
                steps[step.ref] = step
                rates.setdefault(step.ref, []).append(self._rates[ref])
        amounts = (
            getattr(step.step, f"hours_{which}") * math.fsum(rates[ref]) / len(rates[ref])
            for ref, step in steps.items()
        )
        labor = Amounts(0, 1, cents(math.fsum(amounts)), "labor", self._appraisal.tax)
        parts = [replace(item, proposed=1) for item in self._appraisal.parts if item.planned.line.ref in chosen]
        lines = MoneyLines(
            (labor, *self._appraisal.extra_work), (*parts, *self._appraisal.extra_parts), self._appraisal.sublet
        )
        found = case_totals("proposed", lines, self._appraisal.record, self._appraisal.entries, self._appraisal.tax)
        return found["total"]
