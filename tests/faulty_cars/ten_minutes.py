"""What is read of a system in the first ten minutes, without a gauge: presses to the lamp, pump starts while braking.

Real nitrogen that exchanges heat, step by step; other code than what foretells these readings. Ranges are ours: no source.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from tests.never_ground.charge import Charge
from tests.never_ground.sound_cars import ATMOSPHERE, application

if TYPE_CHECKING:
    from tests.faulty_cars.simulated import _System

STEP_S, PRESS_S, BRAKING_S, LONGEST_S = 0.5, (2.0, 4.5), 5.0, 300.0


def pressure_of(shells: list[Charge]) -> float:
    return max((shell.pressure for shell in shells), default=ATMOSPHERE)


def at_cut_in(system: _System, cut_in: float) -> list[Charge]:
    shells = system.gas()
    for shell in shells:
        shell.settle(shell.at(max(cut_in, ATMOSPHERE * 1.1), system.truth.ambient))
    return shells


def stroke(system: _System) -> float:
    return application(system.record, system.system.id) * system.truth.stroke * system.fault.stroke


def flow(system: _System) -> float:
    pump = system.system.pump
    turns = pump.idle_speed.si * pump.drive_ratio.si
    sound = pump.displacement.si * turns * pump.volumetric_efficiency.si
    return sound * system.truth.delivery * system.fault.delivery


def take(shells: list[Charge], fluid: float, seconds: float) -> None:
    """Fluid out of the shell of the highest pressure, or into that of the lowest; then let heat flow."""
    if fluid > 0:
        able = [shell for shell in shells if shell.volume + fluid < shell.shell]
        if able:
            max(able, key=lambda shell: shell.pressure).move(fluid, 0.0)
        else:
            for shell in shells:
                shell.settle(shell.shell)
    elif shells:
        lowest = min(shells, key=lambda shell: shell.pressure)
        if lowest.volume + fluid > 0.02 * lowest.shell:
            lowest.move(fluid, 0.0)
    for shell in shells:
        shell.move(0.0, seconds)


def presses(system: _System, cut_in: float, cut_out: float, lamp: float, stop: int) -> float:
    """Quick presses to the lamp, from wherever the pressure is as the engine is switched off."""
    rng = system.rng
    if not system.gas():
        return float(rng.random() < 0.3)
    shells = at_cut_in(system, cut_in + rng.random() ** 2 * (cut_out - cut_in) * 0.5)
    _charged(system, shells, cut_out)
    for _ in range(rng.randrange(4)):  # moving the car to its place
        take(shells, rng.uniform(0.2, 0.9) * stroke(system), rng.uniform(5, 40))
        if pressure_of(shells) < cut_in:
            _charged(system, shells, cut_out)
    pause, done = rng.uniform(*PRESS_S), 0
    extra = system.fault.back + system.fault.out
    while done < stop and pressure_of(shells) > lamp:
        drawn = stroke(system) * rng.gauss(1.0, 0.03) + pause * system.leak(pressure_of(shells), extra)
        before = [shell.volume for shell in shells]
        for _ in range(4):
            take(shells, drawn / 4, 0.0)
        take(shells, 0.0, pause)
        if all(shell.volume >= shell.shell for shell in shells) or before == [shell.volume for shell in shells]:
            return float(done)
        done += 1
    return float(done)


def expected_presses(system: _System, cut_in: float, cut_out: float, lamp: float) -> int:
    """As many as the form says to expect of a sound system, twice: from the middle between the settings, settled."""
    given = sum(
        shell.at(lamp, system.truth.ambient) - shell.at((cut_in + cut_out) / 2, system.truth.ambient)
        for shell in system.sound_gas()
    )
    return math.ceil(2 * 0.95 * given / (application(system.record, system.system.id) * 1.12))


def braking(system: _System, cut_in: float, cut_out: float) -> float:
    """Seconds from one pump start to the next, idling, a full press about every 5 s; the longest if it never stops."""
    rng = system.rng
    if not system.gas():
        return rng.uniform(1.0, 5.0)
    shells = at_cut_in(system, cut_in)
    if not any(shell.volume < shell.shell for shell in shells):
        return rng.uniform(1.0, 6.0)
    every = BRAKING_S * rng.gauss(1.0, 0.08)
    for _ in range(2):  # the second cycle is timed: the gas is as warm as it gets
        seconds, next_press, pumping = 0.0, rng.uniform(0.0, every), True
        while seconds < LONGEST_S:
            now = pressure_of(shells)
            if pumping and now >= cut_out:
                pumping = False
            elif not pumping and now <= cut_in:
                break
            fluid = system.leak(now, (0.0 if pumping else system.fault.back) + system.fault.out + system.fault.user)
            fluid = (fluid - (flow(system) if pumping else 0.0)) * STEP_S
            if seconds >= next_press:
                next_press += every
                fluid += stroke(system) * rng.gauss(1.0, 0.03)
            take(shells, fluid, STEP_S)
            seconds += STEP_S
    return min(LONGEST_S, max(0.0, seconds + rng.gauss(0.0, 1.0)))


def _charged(system: _System, shells: list[Charge], cut_out: float) -> None:
    seconds = 0.0
    while pressure_of(shells) < cut_out and seconds < 600:
        net = flow(system) - system.leak(pressure_of(shells), system.fault.out)
        if net <= 0:
            return
        take(shells, -net * STEP_S, STEP_S)
        seconds += STEP_S
