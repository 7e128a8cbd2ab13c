"""A hold: what a system loses in 30 min, and what of that warming or cooling makes."""

from __future__ import annotations

import math

import numpy as np

from estimator.errors import DomainError
from estimator.hydraulics.gas import pressure_by_temperature_alone
from estimator.pressure_logs import signal
from estimator.pressure_logs.columns import ATMOSPHERE_PA
from estimator.pressure_logs.figures import Figure, Line, LogFindings, Setting, Standing, duration
from estimator.pressure_logs.log_file import Numbers, PressureLog

HOLD_S = 1800.0
SETTLED = 5.0  # settling times after which the gas has taken its shell's temperature to 1 %
_WINDOW = 120.0
_TEMPERATURE_U = 0.5  # K, between two readings of one sensor: common practice, no source


def hold_figures(log: PressureLog, setting: Setting, guessed: bool) -> LogFindings:
    """Return the settled pressure, that 30 min later, and the loss; temperatures where the log has them.

    The hold begins five settling times after the log does, so that what a quick charge warmed has cooled. Each level is a
    line through 2 min of samples. With temperatures the loss is also given apart from what they make:
    p1 T2/T1 (1 + 0.065 (p1/10 MPa) (T2 - T1)/100 K) - p2. A bias of the gauge is alike in both readings and counted in full.

    Args:
        log: the recorded gauge
        setting: gauge, settling time
        guessed: whether the kind of log was guessed
    Valid: engine off at the beginning of the log, other users isolated, pedal untouched. A log too short for settling and
        30 min gives indications.
    [Source: span-2000]
    """
    settle = SETTLED * setting.settling
    whole = log.duration >= settle + HOLD_S
    standing: Standing = "reading" if whole else "indication"
    begin = settle if whole else min(settle, max(0.0, log.duration - HOLD_S))
    end = min(begin + HOLD_S, log.duration)
    (p1, u1), (p2, u2) = (_level(log, at) for at in (begin, end))
    needed = "" if whole else f"; {duration(settle + HOLD_S)} of log needed to settle and hold"
    rests = f"from {duration(begin)} to {duration(end)} of the log{needed}"
    gauge = ("gauge", setting.gauge_u)
    figures = [
        Figure("hold-start", "settled pressure", "pressure", p1, (("fit", u1), gauge), standing, rests, begin),
        Figure(
            "hold",
            f"pressure {duration(end - begin)} later",
            "pressure",
            p2,
            (("fit", u2), gauge),
            standing,
            rests,
            end,
        ),
        Figure("loss", "loss", "pressure", p1 - p2, (("fit", math.hypot(u1, u2)), gauge), standing, rests),
    ]
    if log.temperature is not None:
        figures.append(_apart(log, figures[0], figures[1], (begin, end)))
    line = Line(np.array([begin, end]), np.array([p1, p2]))
    remarks = () if log.temperature is not None else ("no temperature in this log: cooling looks like a leak",)
    return LogFindings(log, "hold", guessed, tuple(figures), (line,), remarks)


def temperature_at(log: PressureLog, at: float) -> float:
    """Return the mean temperature of 2 min of a log [K]."""
    assert log.temperature is not None
    return float(log.temperature[_window(log.time, at)].mean())


def _apart(log: PressureLog, start: Figure, end: Figure, times: tuple[float, float]) -> Figure:
    t1, t2 = (temperature_at(log, at) for at in times)
    p1, p2 = start.value + ATMOSPHERE_PA, end.value + ATMOSPHERE_PA
    rests = f"{start.rests_on}; temperature {t1 - 273.15:.1f} to {t2 - 273.15:.1f} °C"
    try:
        loss = pressure_by_temperature_alone(p1, t1, t2) - p2
    except DomainError:
        loss = p1 * t2 / t1 - p2
        rests += ", by the gas law alone: beyond what the correction was fitted to"
    changed = p1 - p2 - loss
    parts = (
        ("fit", math.hypot(start.parts[0][1], end.parts[0][1])),
        ("temperature", p1 * _TEMPERATURE_U / t1),
        ("correction", 0.19 * abs(changed)),
        start.parts[1],
    )
    return Figure("loss-apart", "loss apart from temperature", "pressure", loss, parts, start.standing, rests)


def _window(time: Numbers, at: float) -> slice:
    first = int(np.searchsorted(time, at - _WINDOW / 2))
    last = int(np.searchsorted(time, at + _WINDOW / 2, side="right"))
    while last - first < 6 and (first > 0 or last < len(time)):
        first, last = max(first - 1, 0), min(last + 1, len(time))
    return slice(first, last)


def _level(log: PressureLog, at: float) -> tuple[float, float]:
    """The pressure at a time by a line through the samples around it, and its standard uncertainty."""
    part = _window(log.time, at)
    x, p = log.time[part] - at, log.pressure[part]
    sigma = signal.noise(log.pressure)
    keep = np.ones(len(x), dtype=bool)
    for _ in range(3):
        design = np.column_stack([np.ones(int(keep.sum())), x[keep]])
        found = np.linalg.lstsq(design, p[keep], rcond=None)[0]
        gap = p - (found[0] + found[1] * x)
        s = max(math.sqrt(float(gap[keep] @ gap[keep]) / max(int(keep.sum()) - 2, 1)), sigma / 10)
        keep = np.abs(gap) <= 4 * s
    covariance = np.linalg.pinv(design.T @ design) * s * s
    return float(found[0]), math.sqrt(float(covariance[0, 0]))
