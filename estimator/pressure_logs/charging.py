"""Charging by the pump: cut-in and cut-out of each cycle, charge time from zero, time between cut-ins."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from estimator.pressure_logs import signal
from estimator.pressure_logs.bleed import first_charge
from estimator.pressure_logs.branch import Corner, corner
from estimator.pressure_logs.columns import ATMOSPHERE_PA
from estimator.pressure_logs.figures import Figure, LogFindings, Setting, Standing, duration
from estimator.pressure_logs.log_file import PressureLog

# Around a corner each part is as long as this share of the rise.
SHARE = 0.3
ZERO_SHARE = 0.06  # of the highest pressure: a gauge at zero, within what it may err by


def swing(log: PressureLog, sigma: float) -> float:
    """Return the least swing that is a charge and not noise [Pa]: a tenth of the range, eight times the noise."""
    return max(0.1 * float(np.ptp(log.pressure)), 8 * sigma)


def rises(log: PressureLog, sigma: float) -> list[tuple[int, int]]:
    """Return the charges of a log: first and last sample of each rise."""
    turns = signal.turns(log.pressure, least := swing(log, sigma))
    return [(one, two) for one, two in pairwise(turns) if log.pressure[two] - log.pressure[one] >= least]


def charging_figures(log: PressureLog, setting: Setting, guessed: bool) -> LogFindings:
    """Return cut-in and cut-out of each charge, charge times, and the time between cut-ins.

    Cut-in is the corner at which the pump begins to charge, cut-out the one at which it stops: the level of a line in 1/p
    broken in two. Where the rise begins at zero its time to cut-out is the charge time, and the jump at its beginning
    indicates the precharge.

    Args:
        log: the recorded gauge
        setting: gauge, settling time
        guessed: whether the kind of log was guessed
    Valid: corners that the log shows: a rise that the log ends in has no cut-out, one that it begins in no cut-in.
    [Source: boyle, derivation]
    """
    found = rises(log, signal.noise(log.pressure))
    if not found:
        return LogFindings(log, "charging", guessed, (), (), ("no charge in this log: the pressure does not rise",))
    figures: list[Figure] = []
    begins: list[float] = []
    zero = ZERO_SHARE * float(log.pressure.max())
    tops = 0
    for first, last in found:
        from_zero = log.pressure[first] < zero
        top = _corner(log, first, last, at_end=True)
        if from_zero:
            figures += _from_zero(log, setting, first, last, top)
        if not from_zero and (low := _corner(log, first, last, at_end=False)) is not None:
            begins.append(low.time)
            figures.append(_level("cut-in", len(begins), low, setting, log, "pump begins"))
            if top is not None:
                spread = math.hypot(low.u_time, top.u_time)
                title = f"time from cut-in to cut-out, {len(begins)}"
                rests = "cut-in to cut-out of this charge"
                parts = (("corners", spread),)
                figures.append(
                    Figure(f"top-up-time.{len(begins)}", title, "time", top.time - low.time, parts, "reading", rests)
                )
        if top is not None:
            tops += 1
            figures.append(_level("cut-out", tops, top, setting, log, "pump stops"))
    figures += _intervals(begins)
    return LogFindings(log, "charging", guessed, tuple(figures))


def _corner(log: PressureLog, first: int, last: int, *, at_end: bool) -> Corner | None:
    """The corner at one end of a rise; None where the log has too little on either side of it."""
    time, at = log.time, last if at_end else first
    lasted = float(time[last] - time[first])
    reach = SHARE * lasted
    begin = int(np.searchsorted(time, time[at] - reach))
    end = int(np.searchsorted(time, time[at] + reach, side="right"))
    begin, end = (max(begin, first), end) if at_end else (begin, min(end, last + 1))
    other = end - at if at_end else at - begin
    if other < 4:
        return None
    return corner(time, log.pressure + ATMOSPHERE_PA, begin, end)


def _level(what: str, number: int, found: Corner, setting: Setting, log: PressureLog, how: str) -> Figure:
    value = found.pressure - ATMOSPHERE_PA
    beyond = max(value, float(log.pressure.max())) >= 0.999 * setting.gauge_top and what == "cut-out"
    standing: Standing = "at least" if beyond else "reading"
    rests = f"{how} at {duration(found.time)}" + ("; the gauge is at the end of its scale" if beyond else "")
    parts = (("fit", found.u), ("gauge", setting.gauge_u))
    return Figure(f"{what}.{number}", f"{what}, {number}", "pressure", value, parts, standing, rests, found.time)


def _from_zero(log: PressureLog, setting: Setting, first: int, last: int, top: Corner | None) -> list[Figure]:
    zero = ZERO_SHARE * float(log.pressure.max())
    below = np.flatnonzero(log.pressure[first : last + 1] < zero)
    leaves = first + int(below[-1])  # the last sample at zero
    begin = (float(log.time[leaves]) + float(log.time[min(leaves + 1, last)])) / 2
    half = float(log.time[min(leaves + 1, last)] - log.time[leaves]) / math.sqrt(12)
    found = []
    jump = first_charge(log, setting, first, last + 1, begin - float(log.time[0]))
    if jump is not None:
        found.append(jump)
    if top is not None:
        rests = f"from zero at {duration(begin)} to cut-out at {duration(top.time)}"
        parts = (("corners", math.hypot(top.u_time, half)),)
        found.append(Figure("charge-time", "charge time from zero", "time", top.time - begin, parts, "reading", rests))
    return found


def _intervals(begins: list[float]) -> list[Figure]:
    """The mean time between cut-ins, and its scatter."""
    if len(begins) < 2:
        return []
    between = np.diff(begins)
    mean = float(between.mean())
    scatter = float(between.std(ddof=1)) / math.sqrt(len(between)) if len(between) > 1 else 0.05 * mean
    rests = f"mean of {len(between)} between {len(begins)} cut-ins"
    return [Figure("pump-interval", "time between cut-ins", "time", mean, (("scatter", scatter),), "reading", rests)]
