"""The figures of a whole visit, and those of its job lines side by side."""

from __future__ import annotations

import math
from dataclasses import dataclass

from estimator.pricing.hours import Basis
from estimator.pricing.job_lines import JobLine, Labor, deviations


@dataclass(frozen=True)
class VisitRow:
    """A figure of the whole visit in both cases."""

    ref: str
    label: str
    title: str
    unit: str
    agreed: float
    proposed: float


def visit_rows(labor: Labor, basis: Basis) -> tuple[VisitRow, ...]:
    """The hours of the visit, and the figures that the lines rest on."""
    agreed, proposed = labor.agreed, labor.proposed
    z = deviations(basis)

    def row(ref: str, label: str, title: str, agreed: float, proposed: float, unit: str = "h") -> VisitRow:
        return VisitRow(ref, label, title, unit, agreed, proposed)

    lines = labor.lines
    shares = math.fsum(line.share_agreed for line in lines), math.fsum(line.share_proposed for line in lines)
    several = agreed.several_variance, proposed.several_variance
    spread = agreed.per_deviation, proposed.per_deviation
    weighted = labor.weighted, labor.weighted
    return (
        row("likely", "likely", "every step once, likely hours", agreed.likely, proposed.likely),
        row("expected", "expected", "every step once, expected hours", agreed.expected, proposed.expected),
        row("p80", "P80", "sufficient in 4 visits out of 5", agreed.p80, proposed.p80),
        row("quoted", "quoted", "the shares of all lines together", *shares),
        row("variance", "variance", "of the visit", agreed.variance, proposed.variance, "h²"),
        row("several", "shared variance", "of steps that several lines need", *several, "h²"),
        row("z", "z", "deviations added to the expected where P80 is quoted", z, z, "deviations"),
        row("per_deviation", "1/deviation", "what spreads the deviation", *spread, "1/h"),
        row("weighted", "weighted variance", "rate times share of variance, all lines", *weighted, "amount × h"),
    )


@dataclass(frozen=True)
class Flag:
    """One figure of every job line, side by side."""

    ref: str
    label: str

    def of(self, line: JobLine) -> str | int | float:
        if self.ref == "line":
            return line.label
        if self.ref == "rate":
            return float(line.rate) * line.proposed
        return int(getattr(line, self.ref))


FLAGS = tuple(
    Flag(ref, label)
    for ref, label in (
        ("line", "line"),
        ("order", "order"),
        ("agreed", "authorized (1)"),
        ("proposed", "recommended (1)"),
        ("rate", "rate counted"),
    )
)
