"""The road of readings over time to a line and to where it crosses a level, for published cases."""

from estimator.car_history.least_squares import Line, crossing, fitted, student


def line(x: list[float], y: list[float]) -> Line:
    return fitted(x, y)


def crosses(x: list[float], y: list[float], level: float, confidence: float, readings: float) -> list[float]:
    """Where the line (readings 0) or the next reading (1) may reach a level, two-sided."""
    made = fitted(x, y)
    return list(crossing(made, level, student(confidence, made.freedom), readings))


def exceeded(probability: float, freedom: float) -> float:
    return student(probability, int(freedom))
