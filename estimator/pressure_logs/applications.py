"""Applications with the engine stopped: the pressure after each, and the count to the lamp."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from estimator.pressure_logs import signal
from estimator.pressure_logs.figures import Figure, LogFindings, Setting, duration
from estimator.pressure_logs.log_file import PressureLog
from estimator.quantities import PSI

# Steps get smaller as the pressure falls: below this many times the least that stands out some may be lost.
STAND_OUT = 1.5


def application_figures(log: PressureLog, setting: Setting, guessed: bool) -> LogFindings:
    """Return the settled pressure before and after each application, and how many until the lamp.

    The level between two applications is the median of what the log shows there, without the second nearest to each.
    The count is up to the application in which the lamp comes on, by a lamp column; without one, up to the first level
    below the lamp's stated pressure, an indication: the switch may be off its point.

    Args:
        log: the recorded gauge
        setting: lamp pressure, gauge
        guessed: whether the kind of log was guessed
    Valid: applications at least 5 s apart, each well above the noise of the mean of 2.5 s.
    [Source: definition]
    """
    sigma = signal.noise(log.pressure)
    found = signal.steps(log.time, log.pressure, sigma)
    steps = found.places
    if not steps:
        remark = "no applications in this log: the pressure does not step down"
        return LogFindings(log, "applications", guessed, (), (), (remark,))
    levels = _levels(log, steps, sigma)
    usual = float(np.median(found.sizes))
    if usual < STAND_OUT * found.least:
        remark = (
            f"applications not counted: steps of about {usual / PSI:.0f} psi are lost in noise of {sigma / PSI:.1f} psi; "
            "record more samples a second, or shield the cable"
        )
        return LogFindings(log, "applications", guessed, (), (), (remark,))
    figures = []
    for count, (at, level, u) in enumerate(levels):
        title = (
            f"pressure after {count} application{'s' if count != 1 else ''}" if count else "pressure before the first"
        )
        parts = (("fit", u), ("gauge", setting.gauge_u))
        figures.append(
            Figure(f"after.{count}", title, "pressure", level, parts, "reading", f"level at {duration(at)}", at)
        )
    lit = _lamp_lit(log)
    if lit is not None:
        count = sum(log.time[step] <= log.time[lit] + 1.0 for step in steps)
        figures.append(Figure("applications", "applications to the lamp", "count", count, (), "reading", "lamp column"))
        near = slice(max(lit - 2, 0), lit + 1)
        level = float(np.median(log.pressure[near]))
        parts = (("step", float(np.ptp(log.pressure[near])) / math.sqrt(12)), ("gauge", setting.gauge_u))
        rests = f"lamp column, at {duration(float(log.time[lit]))}"
        figures.append(
            Figure("lamp-pressure", "lamp pressure", "pressure", level, parts, "reading", rests, float(log.time[lit]))
        )
    else:
        figures += _by_stated(levels, setting)
    remarks = () if lit is not None else ("no lamp in this log: the count is to the lamp's stated pressure",)
    return LogFindings(log, "applications", guessed, tuple(figures), (), remarks)


def _levels(log: PressureLog, steps: tuple[int, ...], sigma: float) -> list[tuple[float, float, float]]:
    """Time, level and standard uncertainty between the steps."""
    edges = [float(log.time[0]) - 1.0, *(float(log.time[step]) for step in steps), float(log.time[-1]) + 1.0]
    found = []
    for begin, end in pairwise(edges):
        first, last = np.searchsorted(log.time, (begin + 1.0, end - 1.0))
        if last <= first:
            first = min(int(np.searchsorted(log.time, (begin + end) / 2)), len(log.time) - 1)
            last = first + 1
        part = log.pressure[first:last]
        scatter = max(sigma, float(part.std()))
        found.append(
            (float(log.time[first:last].mean()), float(np.median(part)), 1.2533 * scatter / math.sqrt(len(part)))
        )
    return found


def _lamp_lit(log: PressureLog) -> int | None:
    """The first sample at which the lamp is on, after it was off; None where the log has no such."""
    if log.lamp is None:
        return None
    on = np.nan_to_num(log.lamp) > 0.5
    off = np.flatnonzero(~on)
    later = np.flatnonzero(on & (np.arange(len(on)) > (off[0] if off.size else len(on))))
    return int(later[0]) if later.size else None


def _by_stated(levels: list[tuple[float, float, float]], setting: Setting) -> list[Figure]:
    below = [count for count, (_, level, _) in enumerate(levels) if setting.lamp and level < setting.lamp]
    if not below or not below[0]:
        return []
    count = below[0]
    at, level, u = levels[count]
    before = levels[count - 1][1]
    each = max(before - level, 1.0)
    spread = math.hypot(u, setting.gauge_u) / each
    rests = f"first level below the stated lamp pressure, at {duration(at)}"
    parts = (("levels", spread),)
    return [
        Figure(
            "applications", "applications to the stated lamp pressure", "count", count, parts, "indication", rests, at
        )
    ]
