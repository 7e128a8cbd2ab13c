"""The figures of a whole visit, and those of its job lines side by side."""

from __future__ import annotations

import math
from dataclasses import dataclass

from estimator.pricing.hours import Z_P80
from estimator.pricing.job_lines import JobLine, Labor


@dataclass(frozen=True)
class VisitRow:
    """A figure of the whole visit in both cases."""

    ref: str
    label: str
    title: str
    unit: str
    agreed: float
    proposed: float


def visit_rows(labor: Labor, basis: str) -> tuple[VisitRow, ...]:
    """The hours of the visit, and the figures that the lines rest on."""
    cases = (labor.agreed, labor.proposed)
    z = Z_P80 if basis == "p80" else 0.0

    def row(ref: str, label: str, title: str, *values: float, unit: str = "h") -> VisitRow:
        return VisitRow(ref, label, title, unit, *values)

    def per_deviation(variance: float) -> float:
        return 1 / math.sqrt(variance) if variance > 0 else 0.0

    def alone(case: str) -> float:
        return math.fsum(line.alone for line in labor.lines if getattr(line, case) == 1)

    shares = [math.fsum(getattr(line, f"share_{case}") for line in labor.lines) for case in ("agreed", "proposed")]
    weighted = labor.proposed.weighted_variance
    return (
        row("likely", "likely", "every step once, likely hours", *(case.likely for case in cases)),
        row("expected", "expected", "every step once, expected hours", *(case.expected for case in cases)),
        row("p80", "P80", "enough in four visits of five", *(case.p80 for case in cases)),
        row("quoted", "quoted", "the shares of all lines together", *shares),
        row("alone", "alone", "the same jobs, each in a visit of its own", alone("agreed"), alone("proposed")),
        row("variance", "variance", "of the visit", *(case.variance for case in cases), unit="h²"),
        row(
            "several",
            "shared variance",
            "of steps that several lines need",
            *(case.several_variance for case in cases),
            unit="h²",
        ),
        row("z", "z", "deviations added to the expected where P80 is quoted", z, z, unit="1"),
        row(
            "per_deviation",
            "1/deviation",
            "what spreads the deviation",
            *(per_deviation(c.variance) for c in cases),
            unit="1/h",
        ),
        row(
            "weighted",
            "weighted variance",
            "rate times share of variance, all lines",
            weighted,
            weighted,
            unit="amount × h",
        ),
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
        return line.decided.done if self.ref == "done" else int(getattr(line, self.ref))


FLAGS = tuple(
    Flag(ref, label)
    for ref, label in (
        ("line", "line"),
        ("agreed", "agreed (1)"),
        ("proposed", "proposed (1)"),
        ("rate", "rate counted"),
        ("done", "done (1)"),
    )
)
