"""The pedal circuit: pressure, travel, and the volume that trapped air gives up."""

from __future__ import annotations

import math

from estimator.hydraulics.domain import not_negative, positive, within
from estimator.hydraulics.gas import ATMOSPHERE_PA


def piston_area(bore_m: float) -> float:
    """The area of one piston.

    A = π d²/4

    Args:
        bore_m: diameter d [m]
    Returns:
        area [m²]
    Valid: round pistons.
    Raises:
        DomainError: a bore that isn't above 0
    [Source: definition]
    Example:
        >>> round(piston_area(0.0381) * 1e4, 2)
        11.4
    """
    positive(bore_m=bore_m)
    return math.pi * bore_m**2 / 4.0


def pedal_pressure(force_n: float, pedal_ratio: float, bore_m: float, efficiency: float = 1.0) -> float:
    """The pressure that a foot makes in the pedal circuit.

    p = F i η / A

    Args:
        force_n: on the pedal pad, F [N]
        pedal_ratio: pad travel over push-rod travel, i [1]
        bore_m: of the master cylinder [m]
        efficiency: of linkage and seals, less return springs, η [1]
    Returns:
        gauge pressure [Pa]
    Valid: a bled circuit, above the springs' own force.
    Raises:
        DomainError: a negative force; a ratio or bore that isn't above 0; an efficiency outside 0 to 1
    [Source: definition]
    Example:
        >>> round(pedal_pressure(500.0, 4.0, 0.01905) / 1e6, 2)
        7.02
    """
    not_negative(force_n=force_n)
    positive(pedal_ratio=pedal_ratio)
    within(0.0, 1.0, "an efficiency is a share of 1", efficiency=efficiency)
    return force_n * pedal_ratio * efficiency / piston_area(bore_m)


def pedal_travel(displaced_m3: float, bore_m: float, pedal_ratio: float, free_travel_m: float = 0.0) -> float:
    """The travel of the pedal pad that a displaced volume asks for.

    s = free + i V/A

    Args:
        displaced_m3: pistons, hose swell, compression and air of the pedal circuit together, V [m³]
        bore_m: of the master cylinder [m]
        pedal_ratio: i [1]
        free_travel_m: of the pad until the port is closed [m]
    Returns:
        travel of the pad [m]
    Valid: rigid linkage and bracket; within the stroke of the cylinder.
    Raises:
        DomainError: a negative volume or travel; a ratio or bore that isn't above 0
    [Source: definition]
    Example:
        >>> round(pedal_travel(2.0e-6, 0.01905, 4.0, 0.003) * 1e3, 1)
        31.1
    """
    not_negative(displaced_m3=displaced_m3, free_travel_m=free_travel_m)
    positive(pedal_ratio=pedal_ratio)
    return free_travel_m + pedal_ratio * displaced_m3 / piston_area(bore_m)


def air_compression(air_m3: float, pressure_pa: float) -> float:
    """The volume that trapped air gives up under pressure.

    V = V_air (1 - p_atm/p_abs),  p_abs = p + p_atm

    Args:
        air_m3: air at atmospheric pressure, V_air [m³]
        pressure_pa: gauge pressure applied, p [Pa]
    Returns:
        volume [m³]
    Valid: slow application (one temperature); no air dissolves.
    Raises:
        DomainError: a negative volume or pressure
    [Source: boyle]
    Example:
        >>> round(air_compression(1e-6, 101325.0) * 1e6, 2)
        0.5
    """
    not_negative(air_m3=air_m3, pressure_pa=pressure_pa)
    return air_m3 * pressure_pa / (pressure_pa + ATMOSPHERE_PA)
