"""Which kind of log it is, and its figures."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from estimator.errors import InputError, InputProblem
from estimator.pressure_logs import signal
from estimator.pressure_logs.applications import application_figures
from estimator.pressure_logs.bleed import bleed_figures
from estimator.pressure_logs.charging import charging_figures, rises
from estimator.pressure_logs.columns import ATMOSPHERE_PA
from estimator.pressure_logs.figures import Kind, LogFindings, Setting
from estimator.pressure_logs.hold import hold_figures
from estimator.pressure_logs.log_file import PressureLog

FIGURES: dict[Kind, Callable[[PressureLog, Setting, bool], LogFindings]] = {
    "bleed-down": bleed_figures,
    "charging": charging_figures,
    "hold": hold_figures,
    "applications": application_figures,
}
# A hold loses less than this share of its pressure; what loses more without a knee is a bleed that ended early.
HOLD_SHARE = 0.25
# Steps that make up this share of a fall are applications.
STEPS_SHARE = 0.5


def log_findings(log: PressureLog, setting: Setting, kind: Kind | None) -> LogFindings:
    """Return the figures of a log, of the kind that is given or guessed. Raises InputError for a log without pressure."""
    if float(log.pressure.max()) < ATMOSPHERE_PA:
        found = f"the highest pressure is {float(log.pressure.max()) / 1e5:.3g} bar"
        fix = "check channel and unit: --pressure-column, --pressure-unit"
        raise InputError([InputProblem(str(log.path), "the file", found, "a log is of a charged system", fix)])
    return FIGURES[kind or guess_kind(log)](log, setting, kind is None)


def guess_kind(log: PressureLog) -> Kind:
    """Return the kind of a log: charging rises, a bleed-down collapses, applications step down, a hold loses little."""
    sigma = signal.noise(log.pressure)
    first = float(np.median(log.pressure[:5]))
    if rises(log, sigma) and float(np.ptp(log.pressure)) > 0.1 * float(log.pressure.max()):
        return "charging"
    start = signal.fall_begins(log.pressure, sigma)
    if signal.collapse(log.time, log.pressure, sigma, start) is not None:
        return "bleed-down"
    fall = first - float(np.median(log.pressure[-5:]))
    steps = signal.steps(log.time, log.pressure, sigma)
    if len(steps.sizes) > 1 and sum(steps.sizes) >= STEPS_SHARE * fall > 0:
        return "applications"
    return "hold" if fall < HOLD_SHARE * first else "bleed-down"
