"""How long the pump takes to charge, and what it takes up. Absolute pressures for the gas."""

from __future__ import annotations

from estimator.errors import DomainError
from estimator.hydraulics.domain import Band, not_negative, positive, within
from estimator.hydraulics.gas import charging_exponent


def pump_flow(displacement_m3: float, engine_speed_per_s: float, drive_ratio: float, efficiency: float) -> float:
    """What the pump delivers.

    Q = displacement x engine speed x drive ratio x volumetric efficiency

    Args:
        displacement_m3: volume per revolution of the pump [m³]
        engine_speed_per_s: revolutions of the engine per second [1/s]
        drive_ratio: pump revolutions per engine revolution [1]
        efficiency: volumetric efficiency, at the pressure in question [1]
    Returns:
        flow [m³/s]
    Valid: pumps of fixed displacement.
    Raises:
        DomainError: a negative number, or an efficiency outside 0 to 1
    [Source: definition]
    Example:
        >>> round(pump_flow(1.5e-6, 800 / 60, 0.5, 0.85) * 1e6, 2)  # mL/s
        8.5
    """
    not_negative(displacement_m3=displacement_m3, engine_speed_per_s=engine_speed_per_s, drive_ratio=drive_ratio)
    within(0.0, 1.0, "an efficiency is a share of 1", efficiency=efficiency)
    return displacement_m3 * engine_speed_per_s * drive_ratio * efficiency


def charge_volume(volume_m3: float, precharge_pa: float, upper_pa: float, temperature_k: float) -> Band:
    """The fluid that an empty accumulator takes up to a pressure.

    m = charging_exponent(p0, p2, T)
    low = V0 (1 - (p0/p2)^(1/m))     (charged faster than heat can leave)
    high = V0 (1 - p0/p2)            (charged slowly);  both V0 when the precharge is 0

    Args:
        volume_m3: gas volume at precharge, V0 [m³]
        precharge_pa: absolute precharge at temperature_k, p0 [Pa]
        upper_pa: absolute pressure reached, p2 [Pa], to 18 MPa
        temperature_k: gas temperature before charging, T [K], 0 to 110 °C
    Returns:
        lowest and highest volume [m³]; both 0 when the precharge is p2 or more
    Valid: 0 to 110 °C, precharge 300 to 1,400 psi, to 2,400 psi: the low end is 1.3 % below to 6.0 % above real
        nitrogen charged without heat exchange, the high end 0.2 % below to 5.1 % above it at one temperature.
    Raises:
        DomainError: as charging_exponent; a volume that isn't above 0, a negative precharge
    [Source: span-2000]
    Example:
        >>> psi = 6894.757293168
        >>> taken = charge_volume(750.0, 1000 * psi, 2200 * psi, 293.15)
        >>> round(taken.low), round(taken.high)
        (297, 409)
    """
    positive(volume_m3=volume_m3, upper_pa=upper_pa)
    not_negative(precharge_pa=precharge_pa)
    if precharge_pa == 0:
        return Band(volume_m3, volume_m3)
    if precharge_pa >= upper_pa:
        return Band(0.0, 0.0)
    compressed = precharge_pa / upper_pa
    exponent = charging_exponent(precharge_pa, upper_pa, temperature_k)
    return Band(volume_m3 * (1.0 - compressed ** (1.0 / exponent)), volume_m3 * (1.0 - compressed))


def charge_time(taken_m3: float, flow_m3_s: float, leakage_m3_s: float) -> float:
    """How long the pump takes to fill a volume, less what leaks meanwhile.

    t = V / (Q - Q_leak)

    Args:
        taken_m3: fluid taken up: accumulators, lines, pistons [m³]
        flow_m3_s: what the pump delivers, Q [m³/s]
        leakage_m3_s: what the system loses at rest, charged, Q_leak [m³/s]
    Returns:
        time [s]
    Valid: constant flow. Leakage at full pressure throughout makes the time a little too long.
    Raises:
        DomainError: a pump that delivers no more than leaks: cut-out is never reached; a negative number
    [Source: definition]
    Example:
        >>> round(charge_time(300e-6, 8.5e-6, 0.5e-6), 1)
        37.5
    """
    not_negative(taken_m3=taken_m3, flow_m3_s=flow_m3_s, leakage_m3_s=leakage_m3_s)
    if flow_m3_s <= leakage_m3_s:
        raise DomainError(
            f"flow_m3_s is {flow_m3_s:g} and leakage_m3_s {leakage_m3_s:g}: the pump delivers no more than leaks, so "
            "cut-out is never reached"
        )
    return taken_m3 / (flow_m3_s - leakage_m3_s)
