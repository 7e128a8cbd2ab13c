"""A slow bleed: the precharge at the knee, the leak there, or the bound that a log without a knee gives."""

from __future__ import annotations

import math

import numpy as np

from estimator.pressure_logs import signal
from estimator.pressure_logs.branch import SHARE, Branch, fit_end
from estimator.pressure_logs.columns import ATMOSPHERE_PA
from estimator.pressure_logs.figures import Figure, Line, LogFindings, Setting, Standing, duration
from estimator.pressure_logs.log_file import Numbers, PressureLog
from estimator.quantities import PSI

# A bleed over 30 settling times is slow; from 15 on it adds 2 % (real nitrogen: tests/test_log_bleeds.py).
SLOW, FAIR, FAIR_SHARE = 30.0, 15.0, 0.02
# The knee of gas still cold reads low by up to 1.3 % at 30 settling times, falling as their number.
COLD_SHARE = 0.013
# A diaphragm that closes the port with 5 % of the fluid shut in reads 41 psi high at 950: as likely either way.
PORT_SHARE = 41 / 950 / math.sqrt(3)
# What the fit itself errs by: 2 psi, 5 psi below 300.
MODEL_PA, LOW_MODEL_PA, LOW_PA = 2 * PSI, 5 * PSI, 300 * PSI
VOLUME_SHARE, LAW_SHARE = 0.02, 0.08 / math.sqrt(3)
LEAST_BEFORE = 7
# What is left in the lines is gone within about a thousandth of the bleed; twice that, two samples and 2 s of lag are allowed.
DROP_SHARE = 0.002


def bleed_figures(log: PressureLog, setting: Setting, guessed: bool) -> LogFindings:
    """Return precharge and leak at the knee of a slow bleed, or what bounds the precharge.

    The fluid side gives fluid while gas pushes it out: 1/p rises as a line, then at p = p0 the gas side is at its end and
    the pressure is gone at once. p0 is the fit at the middle between the last sample before and the first after;
    u² = fit² + (|dp/dt| Δt/√12)² + model² + cold² + port² + gauge².

    Args:
        log: the recorded gauge
        setting: gas volume, gauge, settling time
        guessed: whether the kind of log was guessed
    Valid: a settled charge at the start, other users isolated, one accumulator open. From 30 settling times on a reading;
        to 15 with 2 % more; faster an indication, which decides nothing. The screw stays as it is until the drop: opened wide
        above the knee the pressure drops too, and only a slow drop gives it away.
    [Source: boyle; the last steady reading as the precharge: trade]
    """
    time, pressure = log.time, log.pressure + ATMOSPHERE_PA
    sigma = signal.noise(log.pressure)
    start = signal.fall_begins(log.pressure, sigma)
    last = signal.collapse(time, log.pressure, sigma, start)
    end = len(time) if last is None else last + 1
    if end - start < LEAST_BEFORE:
        what = f"{end - start} samples before the drop" if last is not None else f"{end - start} samples of the fall"
        remark = f"precharge not measured: only {what}; the precharge is lost, or the log is too short"
        return LogFindings(log, "bleed-down", guessed, (), (), (remark,))
    branch = _end_of_fall(time, pressure, start, end, sigma)
    knee = last is not None
    at = float(time[branch.end - 1] + time[branch.end]) / 2 if knee else float(time[branch.end - 1])
    gap = float(time[branch.end] - time[branch.end - 1]) if knee else 0.0
    lasted = _lasted(time, pressure, branch, start, at)
    standing, said = _standing(knee, lasted / setting.settling, setting.settling)
    if knee and (slow := _slow_drop(time, pressure, branch, lasted)):
        standing, said = "indication", f"{said}; {slow}"
    level = float(branch.at(at))
    steps = _shown_steps(log.pressure, branch)
    where = "knee" if knee else "no knee; the end of the fall"
    precharge = Figure(
        "precharge",
        "precharge",
        "pressure",
        level - ATMOSPHERE_PA,
        _parts(branch, at, gap, lasted / setting.settling, setting, steps),
        standing,
        f"{where} at {duration(at)}, {branch.end - branch.first:,} samples fitted; {said}",
        at,
    )
    curve = Line(*_curve(branch, float(time[branch.first]), at))
    figures, remarks = [precharge], []
    if knee and setting.gas_volume is not None:
        figures.append(_leak(branch, at, precharge, setting.gas_volume, steps))
    elif knee:
        remarks.append("no flow at the knee: the car's data give no gas volume")
    return LogFindings(log, "bleed-down", guessed, tuple(figures), (curve,), tuple(remarks))


def first_charge(log: PressureLog, setting: Setting, first: int, end: int, zero_for: float) -> Figure | None:
    """Return the precharge to which a gauge jumps in a first charge from zero: the corner below the rise, None without one.

    Args:
        log: the recorded gauge
        setting: gauge, settling time
        first, end: the samples of the rise from zero
        zero_for: how long the log shows zero before it [s]
    Valid: gas settled at zero for 20 settling times; else an indication, for letting the pressure out chills the gas.
    [Source: derivation: the rise is the bleed backwards]
    """
    time, pressure = -log.time[first:end][::-1], (log.pressure[first:end] + ATMOSPHERE_PA)[::-1]
    sigma = signal.noise(log.pressure)
    last = signal.collapse(time, pressure - ATMOSPHERE_PA, sigma, 0)
    if last is None or last < LEAST_BEFORE:
        return None
    begin = min(int(np.searchsorted(time, time[last] - 6.0)), last + 1 - LEAST_BEFORE)
    branch = fit_end(time, pressure, max(begin, 0), last + 1, sigma, share=1.0)
    at = float(time[branch.end - 1] + time[branch.end]) / 2
    settled = zero_for >= 20 * setting.settling
    model = LOW_MODEL_PA if float(branch.at(at)) < LOW_PA else MODEL_PA
    half = abs(branch.slope(at)) * float(time[branch.end] - time[branch.end - 1]) / math.sqrt(12)
    return Figure(
        "precharge",
        "precharge, first charge",
        "pressure",
        float(branch.at(at)) - ATMOSPHERE_PA,
        (("fit", math.hypot(branch.u(at), half)), ("model", model), ("gauge", setting.gauge_u)),
        "reading" if settled else "indication",
        f"jump from zero at {duration(-at)}; zero for {duration(zero_for)} before it"
        + ("" if settled else f", {duration(20 * setting.settling)} needed for settled gas"),
        -at,
    )


def _parts(
    branch: Branch, at: float, gap: float, times: float, setting: Setting, steps: float
) -> tuple[tuple[str, float], ...]:
    level = float(branch.at(at)) - ATMOSPHERE_PA
    cold = level * COLD_SHARE * SLOW / max(times, 1.0)
    return (
        ("fit", math.hypot(branch.u(at), abs(branch.slope(at)) * gap / math.sqrt(12))),
        ("steps shown", steps),
        ("model", LOW_MODEL_PA if level < LOW_PA else MODEL_PA),
        ("cold gas", cold if times >= SLOW else math.hypot(cold, FAIR_SHARE * level)),
        ("port closing early", PORT_SHARE * level),
        ("gauge", setting.gauge_u),
    )


def _end_of_fall(time: Numbers, pressure: Numbers, start: int, end: int, sigma: float) -> Branch:
    """The fit of the end of a bleed: its last 30 % in samples, or in 1/p where it waited before."""
    last = float(np.median(pressure[max(end - 5, start) : end]))
    level = 1.0 / ((1.0 - SHARE) / last + SHARE / float(pressure[start]))
    above = np.flatnonzero(signal.smooth(pressure[start:end]) > level)
    begin = start + int(above[-1]) if above.size else start
    if end - begin < SHARE * (end - start) / 2:
        return fit_end(time, pressure, begin, end, sigma, share=1.0)
    return fit_end(time, pressure, start, end, sigma)


def _shown_steps(pressure: Numbers, branch: Branch) -> float:
    """What the step of the shown figures adds: less, the more steps the fit crosses."""
    step = signal.step_of(pressure)
    crossed = float(np.ptp(branch.at(np.array([branch.t0 * 2 - branch.t_end, branch.t_end])))) / step if step else 1.0
    return step / math.sqrt(12) / max(crossed, 1.0)


def _standing(knee: bool, times: float, settling: float) -> tuple[Standing, str]:
    """What the figure may decide, by how slow the bleed was."""
    enough = "" if times >= SLOW else f"; {duration(SLOW * settling)} or more is slow enough"
    said = f"bleed of {times:.0f} settling times of {duration(settling)}{enough}"
    if knee:
        return ("reading" if times >= FAIR else "indication"), said
    return ("at most" if times >= SLOW else "indication"), said


def _lasted(time: Numbers, pressure: Numbers, branch: Branch, start: int, at: float) -> float:
    """How long the bleed took: as it did, or as it would have at its last rate where it was faster at its end."""
    at_last_rate = (1.0 / float(branch.at(at)) - 1.0 / float(pressure[start])) / branch.b if branch.b > 0 else math.inf
    return min(at - float(time[start]), at_last_rate)


def _slow_drop(time: Numbers, pressure: Numbers, branch: Branch, lasted: float) -> str:
    """What is said of a drop that takes longer than one at the knee: a screw opened wide above it looks alike."""
    good = branch.end - 1
    gone = ATMOSPHERE_PA + 0.2 * (float(branch.at(float(time[good]))) - ATMOSPHERE_PA)
    below = np.flatnonzero(signal.smooth(pressure[good:]) < gone)
    took = float(time[good + int(below[0])] - time[good]) if below.size else math.inf
    step = float(np.median(np.diff(time[branch.first : branch.end])))
    if took <= 2 * step + 2.0 + DROP_SHARE * lasted:
        return ""
    return f"the drop took {duration(took)}: too slow for a knee; the screw may have been opened further"


def _leak(branch: Branch, at: float, precharge: Figure, volume: float, steps: float) -> Figure:
    """The flow at the knee, Q = b p0 V0, b the slope of 1/p."""
    p0 = precharge.value + ATMOSPHERE_PA
    flow = branch.b * p0 * volume
    parts = (
        ("fit", volume * p0 * math.hypot(branch.u_b, steps / p0**2 / (branch.t_end - branch.t0))),
        ("precharge", flow * precharge.u / p0),
        ("gas volume", flow * VOLUME_SHARE),
        ("law of the leak", flow * LAW_SHARE),
    )
    rests = f"slope of 1/p at the knee, gas volume {volume * 1e3:.3g} L"
    return Figure("leak", "flow at the knee", "flow", flow, parts, "indication", rests, at)


def _curve(branch: Branch, begin: float, end: float) -> tuple[Numbers, Numbers]:
    time = np.linspace(begin, end, 60)
    return time, branch.at(time) - ATMOSPHERE_PA
