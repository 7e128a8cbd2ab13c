"""What a system would read in a given state: means and standard deviations from hydraulics/. SI, absolute pressures.

The spreads from car to car are ours, common practice, no source.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from estimator.diagnosis.causes.setup import LAMP, PSI, Expected, SystemSetup
from estimator.errors import DomainError
from estimator.hydraulics.accumulator import fast_usable_volume, slow_usable_volume
from estimator.hydraulics.charge import charge_time, charge_volume
from estimator.hydraulics.gas import ATMOSPHERE_PA, LOST_PRECHARGE_PA, REFERENCE_TEMPERATURE_K, charging_exponent

HOLD_S, STROKE_S = 1800.0, 7.0
# Of the first ten minutes: quick presses from an unknown pressure; while braking one every so many seconds, so far off.
PRESS_S, BRAKING_S, BRAKING_SPREAD = 3.0, 5.0, 0.1
# Presses end at so many times what a sound system gives: a lamp that stays dark then is a fault.
STOP_AT = 2.0
ML = 1e-6
# A sound system leaks this much more or less than stated; an application takes this share of what car.toml gives.
LEAK_SPREAD = 0.003 * ML
STROKE, STROKE_SPREAD = 1.12, 0.11
DELIVERY_SPREAD = 0.07
LONGEST_CYCLE_S, LONGEST_BRAKING_S = 600.0, 300.0
LEAST_FLOW = 0.04
# A pressure that leaks in proportion to itself: share of the leak at cut-out, on the average from zero to cut-out.
CHARGING_SHARE = 0.6


@dataclass(frozen=True)
class State:
    """A system in a state. gas: precharge of each shell as a share of the manufacturer's, None for a burst diaphragm;
    leak: beyond the normal, at cut-out, as it charges too if `always`; pressures are shifts; `gauge` and `stroke` factors."""

    gas: tuple[float | None, ...]
    leak: float = 0.0
    always: bool = False
    delivery: float = 1.0
    cut_out: float = 0.0
    cut_in: float = 0.0
    lamp: float = 0.0
    output: float = 0.0
    stroke: float = 1.0
    gauge: float = 1.0
    user_leak: float = 0.0
    spread: Mapping[str, float] = field(default_factory=dict, hash=False, compare=False)


def foretold(setup: SystemSetup, state: State) -> dict[str, Expected]:
    """Return what a system reads in a state: by the check, those that its data allow."""
    found = _settings(setup, state)
    if not setup.shells or setup.cut_out is None or setup.cut_in is None:
        return found
    gas = tuple(
        (shell.volume, None if share is None else shell.precharge * share)
        for shell, share in zip(setup.shells, state.gas, strict=True)
    )
    top = setup.cut_out + state.cut_out
    low = min(setup.cut_in + state.cut_in, 0.97 * top)
    works: tuple[tuple[str, Callable[..., Expected | None]], ...] = (
        ("charge-time", _charge),
        ("hold", _hold),
        ("applications", _count),
        ("cycle-interval", _cycle),
        ("first-presses", _presses),
        ("first-braking", _braking),
    )
    for check, work in works:
        try:
            item = work(setup, state, gas, low, top)
        except DomainError:
            continue
        if item is not None:
            found[check] = item
    if "hold" in found:
        found["hold"] = Expected(found["hold"].mean * state.gauge, found["hold"].sd)
    for check, sd in state.spread.items():
        if check in found:
            found[check] = Expected(found[check].mean, math.hypot(found[check].sd, sd))
    return found


Gas = tuple[tuple[float, float | None], ...]


def _settings(setup: SystemSetup, state: State) -> dict[str, Expected]:
    """The pressures that are set or filled in, as its gauges show them."""
    found = {}
    for shell, share in zip(setup.shells, state.gas, strict=True):
        gauge = max(0.0, shell.precharge * (share or 0.0) - ATMOSPHERE_PA)
        found[f"precharge.{shell.id}"] = Expected(gauge, 15 * PSI)
    hunts = 100 * PSI if None in state.gas else 0.0
    for check, setting, shift, sd in (
        ("cut-out", setup.cut_out, state.cut_out, math.hypot(setup.cut_out_sd, hunts)),
        ("cut-in", setup.cut_in, state.cut_in, math.hypot(setup.cut_in_sd, hunts)),
        ("lamp-pressure", setup.lamp, state.lamp, LAMP),
    ):
        if setting is not None:
            found[check] = Expected((setting - ATMOSPHERE_PA + shift) * state.gauge, sd)
    if setup.output is not None:
        found["distribution-output"] = Expected((setup.output.mean + state.output) * state.gauge, setup.output.sd)
    return found


@functools.cache
def settled(low: float, top: float) -> float:
    """The pressure to which a quick charge from one pressure to another falls back as its gas cools."""
    return low * math.pow(top / low, 1 / charging_exponent(low, top, REFERENCE_TEMPERATURE_K))


@functools.cache
def _taken(gas: Gas, top: float) -> tuple[float, float]:
    bands = [
        charge_volume(volume, precharge, top, REFERENCE_TEMPERATURE_K)
        for volume, precharge in gas
        if precharge is not None
    ]
    return sum(band.low for band in bands), sum(band.high for band in bands)


def _charge(setup: SystemSetup, state: State, gas: Gas, low: float, top: float) -> Expected | None:
    if setup.flow is None or setup.flow <= 0:
        return None
    least, most = _taken(gas, top)
    lost = setup.leakage + (state.leak if state.always else 0.0) * CHARGING_SHARE
    flow = setup.flow * state.delivery
    net = max(flow - lost, LEAST_FLOW * setup.flow)
    mean = charge_time((least + most) / 2, net, 0.0) + 2.0
    band = charge_time((most - least) / 2, net, 0.0) / math.sqrt(3)
    return Expected(mean, math.sqrt(band * band + (DELIVERY_SPREAD * mean) ** 2 + 1.0))


@functools.cache
def _fluid(gas: Gas, lower: float, upper: float) -> tuple[float, float]:
    if lower >= upper:
        return 0.0, 0.0
    kelvin = REFERENCE_TEMPERATURE_K
    alive = [(volume, precharge) for volume, precharge in gas if precharge is not None]
    fast = sum(fast_usable_volume(volume, precharge, lower, upper, kelvin) for volume, precharge in alive)
    slow = sum(slow_usable_volume(volume, precharge, lower, upper) for volume, precharge in alive)
    return min(fast, slow), max(fast, slow)


def _count(setup: SystemSetup, state: State, gas: Gas, low: float, top: float) -> Expected | None:
    """Applications from a charge that has settled more or less."""
    return _applications(setup, state, gas, (settled(low, top), top), STROKE_S)


def _presses(setup: SystemSetup, state: State, gas: Gas, low: float, top: float) -> Expected | None:
    """Presses from wherever the pressure was as the engine was switched off, at most as many as they are stopped at."""
    found = _applications(setup, state, gas, (low, top), PRESS_S)
    return found and Expected(min(found.mean, float(stop_at(setup) or found.mean)), found.sd)


@functools.cache
def stop_at(setup: SystemSetup) -> int | None:
    """At how many presses from an unknown pressure to stop: a lamp that is dark then is at fault. None for no data."""
    if setup.cut_out is None or setup.cut_in is None or not setup.shells:
        return None
    gas = tuple((shell.volume, shell.precharge * (shell.low + shell.high) / 2) for shell in setup.shells)
    sound = State(gas=(1.0,) * len(gas))
    found = _applications(setup, sound, gas, (setup.cut_in, setup.cut_out), PRESS_S)
    return None if found is None else math.ceil(STOP_AT * found.mean)


def _applications(
    setup: SystemSetup, state: State, gas: Gas, starts: tuple[float, float], seconds: float
) -> Expected | None:
    """Applications from between two pressures to the lamp, each with what leaks meanwhile."""
    if setup.application is None or setup.application <= 0 or setup.lamp is None:
        return None
    stroke = setup.application * state.stroke * STROKE + seconds * (setup.leakage + state.leak)
    lamp = setup.lamp + state.lamp
    counts, doubt = [], 0.0
    for start in starts:
        fast, slow = _fluid(gas, lamp, start)
        if fast <= 0 or slow <= 0:
            counts.append(0.0)
            continue
        counts.append(math.sqrt(fast * slow) / stroke)
        doubt = 0.5 * math.log(slow / fast) / math.sqrt(3)
    mean = sum(counts) / 2
    part = setup.application * state.stroke * STROKE / stroke * STROKE_SPREAD
    sd = math.sqrt((mean * doubt) ** 2 + (mean * part) ** 2 + (counts[1] - counts[0]) ** 2 / 12 + 0.8**2)
    return Expected(mean + 0.5, sd)


def _left(gas: Gas, start: float, leak: float, top: float) -> float:
    """The pressure left of a settled charge after the hold, its leak in proportion to the pressure."""
    rising = sorted(
        (item for item in gas if item[1] is not None and item[1] > LOST_PRECHARGE_PA), key=lambda item: -(item[1] or 0)
    )
    inverse = 1 / start**2
    left = HOLD_S
    alive = [(v, p) for v, p in rising if p is not None]
    while True:
        alive = [(v, p) for v, p in alive if p < 1 / math.sqrt(inverse)]
        if not alive:
            return ATMOSPHERE_PA
        energy = sum(v * p for v, p in alive)
        rate = 2 * leak / (energy * top)
        end = 1 / alive[0][1] ** 2
        step = (end - inverse) / rate if rate > 0 else math.inf
        if step >= left:
            return 1 / math.sqrt(inverse + rate * left)
        left -= step
        inverse = end


@functools.cache
def _loss(gas: Gas, start: float, leak: float, top: float) -> float:
    return start - _left(gas, start, leak, top)


def _hold(setup: SystemSetup, state: State, gas: Gas, low: float, top: float) -> Expected:
    leak = setup.leakage + state.leak
    rested = settled(low, top)
    start = (rested + top) / 2
    mean = _loss(gas, start, leak, top)
    ends = [_loss(gas, start, one, top) for one in (max(0.0, leak - LEAK_SPREAD), leak + LEAK_SPREAD)]
    whole = [_loss(gas, one, leak, top) for one in (rested, top)]
    parts = (12 * PSI, 0.12 * mean, (ends[1] - ends[0]) / 2, (whole[1] - whole[0]) / math.sqrt(12))
    return Expected(mean, math.sqrt(sum(part * part for part in parts)))


def _cycle(setup: SystemSetup, state: State, gas: Gas, low: float, top: float) -> Expected:
    """Seconds from a settled charge to cut-in, the engine idling and nothing touched; "none came" reads as the longest."""
    leak = setup.leakage + state.leak + state.user_leak
    start = settled(low, top)
    energy = sum(volume * precharge for volume, precharge in gas if precharge is not None and precharge < low)
    seconds = energy * top * (1 / low**2 - 1 / start**2) / (2 * leak) if leak > 0 else math.inf
    seconds = min(LONGEST_CYCLE_S, seconds + 2)
    return Expected(seconds, 0.3 * seconds + 3 if seconds < LONGEST_CYCLE_S else 0.05 * seconds)


def _braking(setup: SystemSetup, state: State, gas: Gas, low: float, top: float) -> Expected | None:
    """Seconds from one pump start to the next, idling, a press every 5 s; a pump that never stops reads as the longest."""
    if not setup.application or not setup.flow or min(setup.application, setup.flow) <= 0:
        return None
    least, most = _fluid(gas, low, top)
    press, flow, slowest = (
        setup.application * state.stroke * STROKE / BRAKING_S,
        setup.flow * state.delivery,
        setup.flow * LEAST_FLOW,
    )
    leak = setup.leakage + state.leak + state.user_leak

    def seconds(fluid: float, pressed: float = 1.0, delivered: float = 1.0) -> float:
        given, left = press * pressed + leak, flow * delivered - press * pressed - leak
        if left <= slowest:
            return LONGEST_BRAKING_S
        return min(LONGEST_BRAKING_S, fluid / given + fluid / left + 2.0)

    middle = (2 * least + most) / 3  # a cycle ends before much heat has flowed
    pressed = math.hypot(STROKE_SPREAD, BRAKING_SPREAD)
    parts = (
        (seconds(most) - seconds(least)) / math.sqrt(12),
        (seconds(middle, 1 + pressed) - seconds(middle, 1 - pressed)) / 2,
        (seconds(middle, 1.0, 1 + DELIVERY_SPREAD) - seconds(middle, 1.0, 1 - DELIVERY_SPREAD)) / 2,
    )
    # What a setting that is off a little makes of the fluid between cut-in and cut-out.
    settings = seconds(middle) * math.hypot(setup.cut_in_sd, setup.cut_out_sd) / (top - low)
    return Expected(seconds(middle), math.sqrt(sum(part * part for part in (*parts, settings, 3.0))))
