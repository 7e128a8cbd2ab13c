"""The line through readings against linear algebra, and where it crosses a level against its own interval."""

import math
import random

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from estimator.car_history.least_squares import crossing, fitted, student

POINTS = st.lists(st.tuples(st.floats(0, 20), st.floats(-100, 100), st.floats(0.2, 5)), min_size=4, max_size=12)


def spread(points):
    x, y, w = zip(*points, strict=True)
    assume(np.ptp(x) > 1)
    return x, y, w


@given(POINTS)
def test_a_weighted_line_is_that_of_the_normal_equations(points):
    x, y, w = spread(points)
    line = fitted(x, y, w)
    scaled = np.array(w) / np.mean(w)
    design = np.vander(x, 2, increasing=True)
    inverse = np.linalg.inv(design.T @ (scaled[:, None] * design))
    a, b = inverse @ design.T @ (scaled * y)
    s2 = float(scaled @ (y - a - b * np.array(x)) ** 2) / (len(x) - 2)
    assert (line.at(0.0), line.slope) == pytest.approx((a, b), rel=1e-6, abs=1e-6)
    assert (line.u(0.0), line.u_slope) == pytest.approx(np.sqrt(s2 * np.diag(inverse)), rel=1e-5, abs=1e-6)
    at = np.array([1.0, 7.5])
    assert line.u(7.5) == pytest.approx(math.sqrt(s2 * at @ inverse @ at), rel=1e-5, abs=1e-6)


@given(POINTS, st.floats(-200, 200), st.sampled_from((0.0, 1.0)), st.floats(0, 30))
def test_between_the_ends_alone_the_level_lies_within_the_interval(points, level, readings, fixed):
    """By the definition of the interval, not by its quadratic."""
    x, y, w = spread(points)
    line, t = fitted(x, y, w), 2.5
    assume(line.s > 0.01)
    first, last = crossing(line, level, t, readings, fixed)
    assert first <= last or first == math.inf

    def within(x):
        return abs(line.at(x) - level) <= math.hypot(t * line.u(x, readings), fixed)

    sharp = (t * line.u_slope) ** 2 < line.slope**2
    assert math.isfinite(last) == sharp
    size = max(abs(first), abs(last)) if sharp else abs(first)
    step = 1e-4 * (1 + size) if math.isfinite(size) else 0
    if sharp:
        assume(last - first > 4 * step)
        assert within((first + last) / 2) and not within(first - step) and not within(last + step)
        assert within(first + step) and within(last - step)
    elif math.isfinite(first):
        assume(abs(line.slope**2 - (t * line.u_slope) ** 2) > 1e-6 * line.slope**2)
        assert within(first + step) and not within(first - step)
    elif first == -math.inf:
        assert all(within(x) for x in (-1000.0, -10.0, 0.0, 10.0, 1000.0))


def test_the_interval_of_a_crossing_holds_it_as_often_as_it_says():
    """Normal errors, four readings a line, 95 %: of 2,000 lines at least 93.5 and at most 96.5 % (three standard deviations)."""
    rng, held = random.Random("crossing"), 0
    for _ in range(2000):
        x = [0.0, 1.0, 2.0, 3.0]
        y = [100 - 10 * at + rng.gauss(0, 2) for at in x]
        first, last = crossing(fitted(x, y), 50, student(0.95, 2))
        held += first <= 5.0 <= last
    assert 0.935 <= held / 2000 <= 0.965, held


def test_a_line_that_says_nothing_refuses():
    for x in ([1.0, 2.0], [3.0, 3.0, 3.0]):
        with pytest.raises(ValueError, match="three readings"):
            fitted(x, [1.0] * len(x))
