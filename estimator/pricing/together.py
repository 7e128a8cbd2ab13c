"""What doing the proposed jobs in one visit saves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.money import add
from estimator.pricing.job_lines import JobLine


@dataclass(frozen=True)
class Together:
    """The labor of all proposed jobs, each in a visit of its own and all in one."""

    alone: Decimal
    together: Decimal

    @property
    def saved(self) -> Decimal:
        return self.alone - self.together


def together(lines: Sequence[JobLine]) -> Together:
    """Add up the labor of the proposed lines both ways."""
    return Together(
        add(line.amount_alone for line in lines if line.proposed), add(line.amount_proposed for line in lines)
    )
