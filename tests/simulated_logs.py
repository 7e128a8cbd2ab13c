"""Logs simulated against real nitrogen (CoolProp), for the figures that are read off logs. Pressures in psi on the gauge.

Nothing here is of the program: the gas is CoolProp's, the leak's law is integrated, the gauge adds noise, lag and steps.
"""

from dataclasses import dataclass

import numpy as np
from CoolProp.CoolProp import AbstractState, DmassT_INPUTS, PropsSI

PSI, ATMOSPHERE = 6894.757293168, 101325.0
ROOM = 293.15
VOLUME = 0.7e-3
BULK, LINE_SHARE = 1.5e9, 1000.0  # what is left in the lines collapses in about a thousandth of the bleed


@dataclass(frozen=True)
class Bleed:
    """A slow bleed: precharge and start [psi], seconds to the knee, the law's exponent, and the gauge."""

    precharge: float = 1000.0
    start: float = 2050.0
    knee: float = 300.0
    law: float = 0.0  # Q ∝ p^law: 0 constant, 0.5 an orifice, 1 laminar
    step: float = 1.0
    noise: float = 14.5
    lag: float = 0.0
    figures: float = 0.0  # the least step shown
    after: float = 0.1  # how long it goes on after the knee, of the time to it; below 0: it ends before

    def true_flow(self) -> float:
        """The flow at the knee [m³/s]."""
        return _isothermal(self)[2]


def _isothermal(it):
    """Times, pressures (absolute) down to the knee, and the flow there, at one temperature."""
    p0, p2 = it.precharge * PSI + ATMOSPHERE, it.start * PSI + ATMOSPHERE
    p = np.geomspace(p2, p0, 600)
    density = PropsSI("D", "P", p, "T", np.full_like(p, ROOM), "Nitrogen")
    volume = VOLUME * density[-1] / density
    middle = np.sqrt(p[1:] * p[:-1])
    spent = np.concatenate([[0.0], np.cumsum(np.diff(volume) / (middle / p2) ** it.law)])
    flow = spent[-1] / it.knee  # at the start
    return spent / flow, p, flow * (p0 / p2) ** it.law


def bleed(it, rng, before=0.0):
    """Times and pressures [psi] of a bleed; `before`: seconds of level pressure before it begins."""
    time, pressure, _ = _isothermal(it)
    return recorded(it, rng, time + before, pressure)


def recorded(it, rng, time, pressure):
    """What a gauge makes of a fall to the knee (absolute pressures, pascals)."""
    fine = min(it.step / 5, 0.2) if it.lag else None
    end = time[-1] * (1 + it.after)
    collapse = time[-1] / LINE_SHARE
    knots = np.concatenate([time, [time[-1] + collapse, end + 1]])
    values = np.concatenate([pressure / PSI - ATMOSPHERE / PSI, [0.0, 0.0]])
    at = np.arange(rng.uniform(0, it.step), end, it.step)
    if it.lag:
        grid = np.arange(0.0, end, fine)
        true = np.interp(grid, knots, values)
        lagged = np.empty_like(true)
        held, share = true[0], 1 - np.exp(-fine / it.lag)
        for place, value in enumerate(true):
            held += share * (value - held)
            lagged[place] = held
        shown = np.interp(at, grid, lagged)
    else:
        shown = np.interp(at, knots, values)
    shown = shown + rng.normal(0, it.noise, len(at)) if it.noise else shown
    return at, np.round(shown / it.figures) * it.figures if it.figures else shown


def cooled_bleed(it, tau, points=3000):
    """A constant bleed whose gas takes heat up with a time constant `tau`: times and absolute pressures to the knee.

    First law for the gas, m du = -p dV + (m cv/τ)(T0 - T) dt, with CoolProp's u, cv and p, by the midpoint rule.
    """
    gas = AbstractState("HEOS", "Nitrogen")
    p0, p2 = it.precharge * PSI + ATMOSPHERE, it.start * PSI + ATMOSPHERE
    mass = VOLUME * PropsSI("D", "P", p0, "T", ROOM, "Nitrogen")
    small = mass / PropsSI("D", "P", p2, "T", ROOM, "Nitrogen")
    dt, dv = it.knee / points, (VOLUME - small) / points

    def rates(volume, temperature):
        gas.update(DmassT_INPUTS, mass / volume, temperature)
        # (∂u/∂v)T dv = (T (∂p/∂T)v - p) dv, so that cv dT = -T (∂p/∂T)v dv + cv (T0 - T)/τ dt
        slope = gas.first_partial_deriv(*_P_T_D)
        return gas.p(), -temperature * slope * dv / (mass * gas.cvmass()) + (ROOM - temperature) * dt / tau

    volume, temperature = small, ROOM
    times, found = [0.0], [p2]
    for count in range(points):
        _, change = rates(volume, temperature)
        _, change = rates(volume + dv / 2, temperature + change / 2)
        volume, temperature = volume + dv, temperature + change
        found.append(rates(volume, temperature)[0])
        times.append((count + 1) * dt)
    return np.array(times), np.array(found)


def _indexes():
    import CoolProp

    return CoolProp.iP, CoolProp.iT, CoolProp.iDmass


_P_T_D = _indexes()


def charging(
    rng, *, from_zero=True, cycles=3, step=0.1, noise=3.0, precharge=930.0, cut_in=1640.0, cut_out=2050.0, zero=30.0
):
    """A log of the pump: a first charge from zero, then cycles of slow applications; times, pressures, what is true.

    The pump gives a constant flow; the gas is held at one temperature while it charges, and pressure then falls by 2 %
    with a time constant of 60 s, as a charge that was quick does.
    """
    rate = 6.0e-6  # m³/s
    p_abs = np.linspace(precharge * PSI + ATMOSPHERE, (cut_out + 1) * PSI + ATMOSPHERE, 800)
    density = PropsSI("D", "P", p_abs, "T", np.full_like(p_abs, ROOM), "Nitrogen")
    filled = VOLUME * (1 - density[0] / density) / rate  # time to reach each pressure
    gauge = p_abs / PSI - ATMOSPHERE / PSI
    knots, values, true = [], [], {"cut-in": [], "cut-out": []}
    now = 0.0
    if from_zero:
        knots, values, now = [0.0, zero, zero + 0.02], [0.0, 0.0, precharge], zero + 0.02
    else:
        knots, values = [0.0], [cut_out - 30]
    for count in range(cycles):
        if from_zero and count == 0:
            start = 0.0
            true["charge-time"] = float(np.interp(cut_out, gauge, filled))
        else:
            fall = rng.uniform(40, 90)
            knots.append(now + fall)
            values.append(cut_in)
            now += fall
            true["cut-in"].append(cut_in)
            start = float(np.interp(cut_in, gauge, filled))
        end = float(np.interp(cut_out, gauge, filled))
        along = np.linspace(start, end, 60)
        knots += list(now + along - start + 1e-6)
        values += list(np.interp(along, filled, gauge))
        now += end - start
        true["cut-out"].append(cut_out)
        rest = np.linspace(1, 60, 30)
        knots += list(now + rest)
        values += list(cut_out - 40 * (1 - np.exp(-rest / 60)))
        now += 60
    at = np.arange(rng.uniform(0, step), now, step)
    return at, np.interp(at, knots, values) + rng.normal(0, noise, len(at)), true


def hold(rng, *, lasts=3000.0, step=1.0, noise=3.0, start=2050.0, settle=180.0, drop=80.0, leak=40.0, cooling=0.0):
    """A hold after a quick charge: a decay by `drop` psi, a leak of `leak` psi in 30 min, cooling in kelvins over the log."""
    at = np.arange(0.0, lasts, step)
    warm = ROOM + 5 - cooling * at / lasts
    level = start - drop * (1 - np.exp(-at / settle)) - leak * at / 1800.0
    absolute = (level * PSI + ATMOSPHERE) * warm / warm[0]
    return at, absolute / PSI - ATMOSPHERE / PSI + rng.normal(0, noise, len(at)), warm


def applications(rng, *, count=30, step=0.1, noise=3.0, start=1990.0, each=25.0, lamp=1260.0, period=7.0):
    """A log of applications, each 2 s on and `period` - 2 s off: times, pressures, levels after each, count to the lamp."""
    level, now = start, 20.0
    knots, values, levels = [0.0, 20.0], [start, start], [start]
    for _ in range(count):
        drop = each * rng.uniform(0.9, 1.1) * (level + 14.7) / start
        knots += [now + 0.4, now + period]
        level -= drop
        values += [level, level]
        levels.append(level)
        now += period
    at = np.arange(0.0, now, step)
    true = next((place for place, value in enumerate(levels) if value < lamp), None)
    clean = np.interp(at, knots, values)
    return at, clean + rng.normal(0, noise, len(at)), np.array(levels), true, (clean < lamp).astype(float)


def written(path, time, pressure, *, header="Time (s),Pressure (psi)", form="{:.3f},{:.2f}", more=()):
    """A log as a file: a row a sample, further columns in `more`."""
    rows = [form.format(*row) for row in zip(time, pressure, *more, strict=True)]
    path.write_text("\n".join([*([header] if header else []), *rows, ""]), encoding="utf-8")
    return path


def log_of(time, pressure, temperature=None, lamp=None):
    """Arrays [s, psi, K] as the program holds a log that it has read."""
    from pathlib import Path

    from estimator.pressure_logs.log_file import PressureLog

    return PressureLog(Path("simulated.csv"), "0" * 64, time, pressure * PSI, temperature, lamp, ())


def setting(settling=3.0, gauge=17.0):
    """What the figures rest on; a short settling time makes every bleed of a test a slow one."""
    from estimator.pressure_logs.figures import Setting

    return Setting(VOLUME, 1260 * PSI, gauge * PSI, 3000 * PSI, settling)
