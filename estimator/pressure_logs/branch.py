"""Weighted fits of the smooth branches of a log: the level at their end, and the corner between two of them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]
SHARE, LEAST = 0.3, 6
TRIM, WALK = 4.0, 5.0
_CORNERS, _POINTS = 40, 200


@dataclass(frozen=True)
class Branch:
    """A hyperbola 1/p = a + b (t - t0) through samples `first` to `end` (exclusive), the last of them at `t_end`."""

    a: float
    b: float
    t0: float
    s: float
    covariance: Numbers
    first: int
    end: int
    t_end: float

    def at(self, time: float | Numbers) -> Numbers:
        """Return the fitted absolute pressure at a time [Pa]."""
        found: Numbers = np.asarray(1.0 / (self.a + self.b * (np.asarray(time) - self.t0)))
        return found

    def slope(self, time: float) -> float:
        """Return dp/dt of the fit at a time [Pa/s]."""
        return -self.b * float(self.at(time)) ** 2

    def u(self, time: float) -> float:
        """Return the standard uncertainty that the scatter gives the fit at a time [Pa].

        Of a line it is s √(1/n + (t - t̄)²/Sxx) [Source: jcgm-100].
        """
        row = np.array([1.0, time - self.t0])
        return float(self.at(time)) ** 2 * math.sqrt(float(row @ self.covariance @ row))

    @property
    def u_b(self) -> float:
        """The standard uncertainty of b [1/(Pa s)]."""
        return math.sqrt(float(self.covariance[1, 1]))


def fit(time: Numbers, pressure: Numbers, first: int, end: int) -> Branch:
    """Return the hyperbola through samples `first` to `end`, least squares of the pressure itself, trimmed at 4 s.

    1/p = 1/p2 + Q t/(p0 V0): gas at one temperature that gives fluid at a constant rate. Weighting 1/p by the square of the
    pressure is least squares of the pressure; the weights are those of the fitted curve, so that noise doesn't bend it.

    Args:
        time: of all samples [s], rising
        pressure: absolute [Pa], above 0 in what is fitted
        first, end: which samples, end exclusive; at least three
    Valid: for any law of the leak over a short end of the branch: 1/p is then close to a line.
    [Source: boyle]
    """
    t, p = time[first:end], pressure[first:end]
    t0 = float(t.mean())
    x = t - t0
    keep = p > 0
    b, a = np.polyfit(x[keep], 1.0 / p[keep], 1, w=p[keep] ** 2)
    s = 0.0
    inverse = np.eye(2)
    for _ in range(6):
        curve = _curve(a, b, x, p)
        gap = p - curve
        weight = -(curve**2) * keep
        normal = np.array(
            [[weight @ weight, weight @ (weight * x)], [weight @ (weight * x), (weight * x) @ (weight * x)]]
        )
        inverse = np.linalg.pinv(normal)
        da, db = inverse @ np.array([weight @ (gap * keep), (weight * x) @ (gap * keep)])
        a, b = a + da, b + db
        gap = p - _curve(a, b, x, p)
        s = math.sqrt(float(gap[keep] @ gap[keep]) / max(int(keep.sum()) - 2, 1))
        trimmed = np.abs(gap) <= TRIM * max(min(s, 1.5 * _spread(gap)), 1.0)
        if trimmed.sum() < 3 or ((trimmed == keep).all() and abs(da) < 1e-7 * abs(a)):
            break
        keep = trimmed
    return Branch(float(a), float(b), t0, s, inverse * s * s, first, end, float(t[-1]))


def _curve(a: float, b: float, x: Numbers, p: Numbers) -> Numbers:
    """The hyperbola, kept within ten times what was measured where a step of the fit goes astray."""
    top = float(p.max())
    found: Numbers = 1.0 / np.maximum(a + b * x, 0.1 / top)
    return found


def _spread(gap: Numbers) -> float:
    return 1.4826 * float(np.median(np.abs(gap - np.median(gap))))


def fit_end(time: Numbers, pressure: Numbers, first: int, end: int, sigma: float, share: float = SHARE) -> Branch:
    """Return the fit of the last 30 %, at least 6, of samples `first` to `end`, without those that leave the branch.

    Samples at the end more than 5 s under the fit are walked back over, and the fit is made again without them; so that they
    don't bend it, the fit which they are held against leaves out the last tenth.

    Args:
        time: of all samples [s]
        pressure: absolute [Pa]
        first, end: the samples of the branch, end exclusive
        sigma: noise of the log [Pa]; no scatter is taken for less
        share: which share of the branch is fitted
    """
    while True:
        count = max(LEAST, math.ceil(share * (end - first)))
        begin = max(first, end - count)
        found = fit(time, pressure, begin, end)
        for held in (
            found,
            fit(time, pressure, begin, end - max(2, count // 10)) if end - begin > LEAST + 2 else found,
        ):
            gap = pressure[begin:end] - held.at(time[begin:end])
            on = np.flatnonzero(gap >= -WALK * max(held.s, sigma))
            last = begin + int(on[-1]) + 1 if on.size else end
            if last < end:
                break
        if last == end or last - first < LEAST:
            return found
        end = last


@dataclass(frozen=True)
class Corner:
    """Where two branches meet: time [s], absolute pressure [Pa], their standard uncertainties."""

    time: float
    pressure: float
    u: float
    u_time: float


def corner(time: Numbers, pressure: Numbers, first: int, end: int) -> Corner | None:
    """Return the corner of a continuous curve of two parts, each with 1/p a line, by least squares; None for too few samples.

    Args:
        time: of all samples [s]
        pressure: absolute [Pa]
        first, end: the samples around the corner, end exclusive
    Valid: parts short against the curve of the branches beyond what 1/p straightens.
    [Source: derivation: a broken line by least squares]
    """
    t, p = time[first:end], pressure[first:end]
    if len(t) < 2 * LEAST:
        return None
    group = max(1, len(t) // _POINTS)
    t = t[: len(t) // group * group].reshape(-1, group).mean(axis=1)
    p = p[: len(p) // group * group].reshape(-1, group).mean(axis=1)
    t0 = float(t.mean())
    x, y, weight = t - t0, 1.0 / p, p**2
    marks = np.linspace(x[2], x[-3], _CORNERS)
    for _ in range(4):
        misfit, levels = _broken(x, y, weight, marks)
        best = int(np.argmin(misfit))
        around = marks[max(best - 1, 0)], marks[min(best + 1, len(marks) - 1)]
        found = float(marks[best]), levels[best], float(misfit[best])
        marks = np.linspace(*around, _CORNERS)
    mark, (level, fall, bend), misfit_best = found
    s = math.sqrt(misfit_best / max(len(x) - 4, 1))
    # The four unknowns, the corner's place among them: columns 1, x - mark, (x - mark)+, -bend where x > mark.
    after = x > mark
    design = np.column_stack([np.ones_like(x), x - mark, np.where(after, x - mark, 0.0), np.where(after, -bend, 0.0)])
    design *= weight[:, None]
    scale = np.sqrt((design * design).sum(axis=0))
    scale[scale == 0] = 1.0
    covariance = np.linalg.pinv((design / scale).T @ (design / scale)) / np.outer(scale, scale) * s * s
    # The level at the corner moves with its place along the part before it.
    row = np.array([1.0, 0.0, 0.0, fall])
    pressure_at = 1.0 / level
    u = pressure_at**2 * math.sqrt(max(float(row @ covariance @ row), 0.0))
    return Corner(mark + t0, pressure_at, u, math.sqrt(max(float(covariance[3, 3]), 0.0)))


def _broken(x: Numbers, y: Numbers, weight: Numbers, marks: Numbers) -> tuple[Numbers, Numbers]:
    """For each place of the corner the weighted sum of squares and level, slope before, change of slope."""
    before = x[None, :] - marks[:, None]
    design = np.stack(
        [np.broadcast_to(weight, before.shape), before * weight, np.maximum(before, 0.0) * weight], axis=1
    )
    target = y * weight
    normal = design @ design.transpose(0, 2, 1)
    scale = np.sqrt(normal[:, (0, 1, 2), (0, 1, 2)])
    normal = normal / (scale[:, :, None] * scale[:, None, :]) + 1e-12 * np.eye(3)
    found = np.linalg.solve(normal, ((design @ target) / scale)[:, :, None])[:, :, 0] / scale
    gap = target - (found[:, None, :] @ design)[:, 0, :]
    misfit: Numbers = (gap * gap).sum(axis=1)
    return misfit, found
