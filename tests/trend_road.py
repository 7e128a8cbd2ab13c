"""The road of readings over time to a line and to where it crosses a level, for published cases."""

from typing import NamedTuple

from estimator.car_history.least_squares import crossing, fitted, student


class Certified(NamedTuple):
    """What the institute certifies of a line."""

    slope: float
    intercept: float
    u_slope: float
    u_intercept: float
    s: float


def line(x: list[float], y: list[float]) -> Certified:
    made = fitted(x, y)
    return Certified(made.slope, made.at(0.0), made.u_slope, made.u(0.0), made.s)


def crosses(x: list[float], y: list[float], level: float, confidence: float, readings: float) -> list[float]:
    """Where the line (readings 0) or the next reading (1) may reach a level, two-sided."""
    made = fitted(x, y)
    return list(crossing(made, level, student(confidence, made.freedom), readings))


def exceeded(probability: float, freedom: float) -> float:
    return student(probability, int(freedom))
