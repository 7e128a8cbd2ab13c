"""The deceleration of each state of the brakes, from the car's source map, and the system pressure that it needs.

Everything is linear in the system pressure, with a bend where the deceleration valve closes. The pedal circuit
presses from the start, so that with it the valve closes at a lower system pressure: the cautious order.
Gauge pressures.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from estimator.errors import DomainError
from estimator.hydraulics.domain import not_negative, positive
from estimator.hydraulics.states import ValveState
from estimator.places import PEDAL_CIRCUIT
from tests.second_answers.braking import Axles, brake_force
from tests.second_answers.circuits import Brake
from tests.second_answers.deceleration import Valve, pressure_behind_valve


@dataclass(frozen=True)
class Gains:
    """What braking comes to per pascal of system pressure, and what the pedal circuit adds, as decelerations."""

    free_m_s2_pa: float
    behind_m_s2_pa: float
    pedal_m_s2: float


def gains(
    brakes: Iterable[Brake], alive: Iterable[str], mass_kg: float, tire_radius_m: float, pedal_pressure_pa: float
) -> Gains:
    """How much deceleration a state gives per pascal of system pressure, and from the pedal circuit.

    free = Σ brake_force(1 Pa)/m of the brakes of live systems not behind the valve
    behind = the same of those behind it
    pedal = Σ brake_force(pedal pressure)/m of the pedal circuit, if alive

    Args:
        brakes: the brakes of the car
        alive: the sources that have pressure
        mass_kg: m [kg]
        tire_radius_m: rolling radius [m]
        pedal_pressure_pa: gauge pressure of the pedal circuit [Pa]
    Returns:
        free, behind [m/s²/Pa] and pedal [m/s²]
    Valid: all live systems at one pressure; pistons of the pedal circuit aren't behind the valve.
    Raises:
        DomainError: as brake_force; a mass that isn't above 0; pedal-circuit pistons behind the valve
    [Source: disc-brake-torque]
    Example:
        >>> front = Brake("front-left", "front-axle", "system-1", 1e-3, 0.1, 0.4)
        >>> gains([front, front], ["system-1"], 1000.0, 0.32, 0.0).free_m_s2_pa
        5e-07
    """
    positive(mass_kg=mass_kg)
    alive = set(alive)
    free = behind = pedal = 0.0
    for brake in brakes:
        if brake.source not in alive:
            continue
        if brake.source == PEDAL_CIRCUIT:
            if brake.behind_valve:
                raise DomainError(
                    f"{brake.wheel}: pistons of the pedal circuit can't lie behind the deceleration valve"
                )
            pedal += brake_force(brake, pedal_pressure_pa, tire_radius_m) / mass_kg
        elif brake.behind_valve:
            behind += brake_force(brake, 1.0, tire_radius_m) / mass_kg
        else:
            free += brake_force(brake, 1.0, tire_radius_m) / mass_kg
    return Gains(free, behind, pedal)


def closing_pressure(gain: Gains, valve: Valve | None, valve_state: ValveState) -> float:
    """The system pressure at which the deceleration valve closes in a state of the brakes.

    p_c = max(0, (a_c - pedal)/(free + behind));  0 when stuck closed, without end when stuck open or absent

    Args:
        gain: as gains gives it [m/s²/Pa, m/s²]
        valve: its closing deceleration a_c [m/s²]; None where the car has none
        valve_state: working, stuck open or stuck closed
    Returns:
        gauge pressure [Pa]
    Valid: as gains.
    Raises:
        DomainError: another word for the valve's state
    [Source: derivation]
    Example:
        >>> round(closing_pressure(Gains(6e-7, 2e-7, 0.4), Valve(3.2), "working") / 1e6, 2)
        3.5
    """
    if valve_state not in ("working", "stuck open", "stuck closed"):
        raise DomainError(f'valve_state is "{valve_state}": allowed is working, stuck open or stuck closed')
    if valve_state == "stuck closed":
        return 0.0
    both = gain.free_m_s2_pa + gain.behind_m_s2_pa
    if valve is None or valve_state == "stuck open" or both == 0:
        return math.inf
    return max(0.0, (valve.closing_m_s2 - gain.pedal_m_s2) / both)


def deceleration_in_state(gain: Gains, pressure_pa: float, valve: Valve | None, valve_state: ValveState) -> float:
    """The deceleration of a state of the brakes with all its live systems at one pressure.

    p' = pressure_behind_valve(p, closing_pressure, share)
    a = pedal + free p + behind p'

    Args:
        gain: as gains gives it [m/s²/Pa, m/s²]
        pressure_pa: gauge pressure of the live systems, p [Pa]
        valve: None where the car has none
        valve_state: working, stuck open or stuck closed
    Returns:
        deceleration [m/s²]
    Valid: as gains; where no wheel locks (braking.deceleration_on_road).
    Raises:
        DomainError: a negative pressure; as closing_pressure
    [Source: derivation]
    Example:
        >>> round(deceleration_in_state(Gains(6e-7, 2e-7, 0.4), 8e6, Valve(3.2), "working"), 2)
        5.9
    """
    not_negative(pressure_pa=pressure_pa)
    closes = closing_pressure(gain, valve, valve_state)
    behind = pressure_behind_valve(pressure_pa, min(closes, pressure_pa), _share(valve))
    return gain.pedal_m_s2 + gain.free_m_s2_pa * pressure_pa + gain.behind_m_s2_pa * behind


def lowest_system_pressure(required_m_s2: float, gain: Gains, valve: Valve | None, valve_state: ValveState) -> float:
    """The lowest system pressure at which a state of the brakes still meets a deceleration.

    p_c = closing_pressure
    a_c = pedal + (free + behind) p_c
    p = max(0, (a - pedal)/(free + behind))               up to a_c
    p = p_c + (a - a_c)/(free + (1 - share) behind)       above it

    Args:
        required_m_s2: a [m/s²]
        gain: as gains gives it [m/s²/Pa, m/s²]
        valve: None where the car has none
        valve_state: working, stuck open or stuck closed
    Returns:
        gauge pressure [Pa]; 0 when the pedal circuit alone is enough
    Valid: as deceleration_in_state.
    Raises:
        DomainError: no pressure is enough in this state; a negative deceleration; as closing_pressure
    [Source: derivation]
    Example:
        >>> round(lowest_system_pressure(5.9, Gains(6e-7, 2e-7, 0.4), Valve(3.2), "working") / 1e6, 3)
        8.0
    """
    not_negative(required_m_s2=required_m_s2)
    if required_m_s2 <= gain.pedal_m_s2:
        return 0.0
    closes = closing_pressure(gain, valve, valve_state)
    both = gain.free_m_s2_pa + gain.behind_m_s2_pa
    if both > 0 and (required_m_s2 - gain.pedal_m_s2) / both <= closes:
        return (required_m_s2 - gain.pedal_m_s2) / both
    slope = gain.free_m_s2_pa + (1.0 - _share(valve)) * gain.behind_m_s2_pa
    if slope == 0:
        raise DomainError(f"required_m_s2 is {required_m_s2:g}: in this state no system pressure is enough")
    at_closing = gain.pedal_m_s2 + both * closes
    return closes + (required_m_s2 - at_closing) / slope


def axle_forces(
    brakes: Iterable[Brake],
    pressures_pa: Mapping[str, float],
    mass_kg: float,
    tire_radius_m: float,
    valve: Valve | None,
    valve_state: ValveState = "working",
) -> Axles:
    """The braking forces of both axles with each source at a pressure of its own; a source not named has none.

    open = Σ brake_force/m with every brake at its source's pressure
    until_closed = min(1, max(0, (a_c - pedal)/(open - pedal)))    (share of their rise until it closes)
    p' = p (until_closed + (1 - share)(1 - until_closed))          of the pistons behind it

    Args:
        brakes: the brakes of the car
        pressures_pa: gauge pressure of each source [Pa]
        mass_kg: m [kg]
        tire_radius_m: rolling radius [m]
        valve: its closing deceleration a_c [m/s²]; None where the car has none
        valve_state: working, stuck open or stuck closed
    Returns:
        force of the front and of the rear axle [N]
    Valid: systems that rise together; with all systems at one pressure it is deceleration_in_state.
    Raises:
        DomainError: as gains
    [Source: disc-brake-torque]
    Example:
        >>> front = Brake("front-left", "front-axle", "system-1", 1e-3, 0.1, 0.4)
        >>> rear = Brake("rear-left", "rear-axle", "system-2", 1e-3, 0.1, 0.4)
        >>> axle_forces([front, rear], {"system-1": 8e6, "system-2": 4e6}, 1000.0, 0.32, None)
        Axles(front=2000.0, rear=1000.0)
    """
    brakes = tuple(brakes)
    positive(mass_kg=mass_kg)
    full = [brake_force(brake, pressures_pa.get(brake.source, 0.0), tire_radius_m) for brake in brakes]
    pedal = sum(force for brake, force in zip(brakes, full, strict=True) if brake.source == PEDAL_CIRCUIT) / mass_kg
    opened = Gains((sum(full) / mass_kg) - pedal, 0.0, pedal)
    until_closed = min(1.0, closing_pressure(opened, valve, valve_state))
    passed = until_closed + (1.0 - _share(valve)) * (1.0 - until_closed)
    forces = {"front-axle": 0.0, "rear-axle": 0.0}
    for brake, force in zip(brakes, full, strict=True):
        forces[brake.axle] += force * passed if brake.behind_valve else force
    return Axles(forces["front-axle"], forces["rear-axle"])


def _share(valve: Valve | None) -> float:
    return 1.0 if valve is None else valve.share_held_back
