"""A straight line through readings, its uncertainty, and where it crosses a level."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

LEAST_READINGS = 3
_HALVINGS = 200


@dataclass(frozen=True)
class Line:
    """A line fitted by weighted least squares: mean_y + slope (x - mean_x). `weight` is the sum of all weights, `sxx`
    that of weight (x - mean_x)²; `s` the residual standard deviation of a reading of weight 1, of `freedom` n - 2."""

    mean_x: float
    mean_y: float
    slope: float
    weight: float
    sxx: float
    s: float
    freedom: int

    @property
    def u_slope(self) -> float:
        """The standard uncertainty of the slope."""
        return self.s / math.sqrt(self.sxx)

    def at(self, x: float) -> float:
        return self.mean_y + self.slope * (x - self.mean_x)

    def u(self, x: float, readings: float = 0.0) -> float:
        """The standard uncertainty of the line at x; with `readings` 1 that of one more reading of weight 1 there."""
        return self.s * math.sqrt(readings + 1 / self.weight + (x - self.mean_x) ** 2 / self.sxx)


def fitted(x: Sequence[float], y: Sequence[float], weights: Sequence[float] = ()) -> Line:
    """Return the line through readings by weighted least squares (NIST/SEMATECH e-Handbook 4.4.3).

    x, y: the readings, three or more, not all at one x; weights: relative, such as 1/u², all 1 if left out; they are
    scaled to a mean of 1, so that `s` is that of an average reading. Raises ValueError for too few readings.

    >>> line = fitted([0.0, 1.0, 2.0, 3.0], [1.0, 3.1, 4.9, 7.0])
    >>> round(line.slope, 3), round(line.at(0.0), 3)
    (1.98, 1.03)
    """
    if len(x) < LEAST_READINGS or min(x) == max(x):
        raise ValueError("a line with its uncertainty needs three readings, not all of one day")
    mean = sum(weights) / len(x) if weights else 1.0
    w = [weight / mean for weight in weights] or [1.0] * len(x)
    whole = sum(w)
    mean_x = sum(a * b for a, b in zip(w, x, strict=True)) / whole
    mean_y = sum(a * b for a, b in zip(w, y, strict=True)) / whole
    sxx = sum(a * (b - mean_x) ** 2 for a, b in zip(w, x, strict=True))
    slope = sum(a * (b - mean_x) * (c - mean_y) for a, b, c in zip(w, x, y, strict=True)) / sxx
    left = sum(a * (c - mean_y - slope * (b - mean_x)) ** 2 for a, b, c in zip(w, x, y, strict=True))
    return Line(mean_x, mean_y, slope, whole, sxx, math.sqrt(left / (len(x) - 2)), len(x) - 2)


def crossing(line: Line, level: float, t: float, readings: float = 0.0, fixed: float = 0.0) -> tuple[float, float]:
    """Return between which x a falling line crosses a level, by inverting its interval.

    The ends solve (line(x) - level)² = t² u(x)² + fixed², a quadratic in x (Fieller's theorem; Draper and Smith 1998,
    3.2; Greenwell and Schubert Kabban 2014). level: of y; t: Student's, two-sided; readings: 0 for the line itself, 1 for
    the next reading; fixed: an expanded uncertainty that all readings share. Where the slope can't be told from zero the
    later end is infinite, and so is the earlier one where the level is out of reach before it. A line that rises
    significantly has its crossing, if any, behind it.
    """
    gap, b = line.mean_y - level, line.slope
    base = (t * line.s) ** 2 * (readings + 1 / line.weight) + fixed**2
    spread = (t * line.s) ** 2 / line.sxx
    lead = b * b - spread
    if lead == 0.0 and b == 0.0:
        return (-math.inf, math.inf) if gap * gap <= base else (math.inf, math.inf)
    under = spread * gap * gap + base * lead
    if lead > 0:
        root = math.sqrt(under)
        return line.mean_x + (-b * gap - root) / lead, line.mean_x + (-b * gap + root) / lead
    if under <= 0:
        return -math.inf, math.inf
    # All x but those between the roots: the later root is where the level comes within reach.
    later = (b * gap + math.sqrt(under)) / -lead if lead else (gap * gap - base) / (-2 * b * gap)
    return line.mean_x + later, math.inf


def student(probability: float, freedom: int) -> float:
    """Return Student's t that is exceeded on neither side with this probability (two-sided).

    Abramowitz and Stegun 26.7.3 and 26.7.4, solved by halving. probability: between 0 and 1; freedom: 1 or more.

    >>> round(student(0.95, 8), 3), round(student(0.95, 2), 3)
    (2.306, 4.303)
    """
    low, high = 0.0, math.pi / 2
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if _within(middle, freedom) < probability else (low, middle)
    return math.tan(low) * math.sqrt(freedom)


def _within(angle: float, freedom: int) -> float:
    """The probability that |t| is at most tan(angle) √freedom."""
    sine, cosine = math.sin(angle), math.cos(angle)
    term, total = (cosine, cosine) if freedom % 2 else (1.0, 1.0)
    for power in range(2 + freedom % 2, freedom - 1, 2):
        term *= cosine * cosine * (power - 1) / power
        total += term
    if freedom % 2 == 0:
        return sine * total
    return 2 / math.pi * (angle + (sine * total if freedom > 1 else 0.0))
