"""Leakage past lapped clearances, how long a system holds, and what a measured hold says. Absolute pressures.

Heat looks like a leak. A reading begins only after the gas has settled, and the gas temperature is read at both ends.
"""

from __future__ import annotations

import math

from estimator.errors import DomainError
from estimator.hydraulics.accumulator import slow_usable_volume
from estimator.hydraulics.domain import not_negative, positive, rising, within
from estimator.hydraulics.gas import LOST_PRECHARGE_PA, pressure_by_temperature_alone

VISCOSITY_UNIT_M2_S = 1e-6


def kinematic_viscosity(
    temperature_k: float,
    first_temperature_k: float,
    first_viscosity_m2_s: float,
    second_temperature_k: float,
    second_viscosity_m2_s: float,
) -> float:
    """The viscosity of a fluid at a temperature, from two that are known, by the ASTM D341 line.

    w(ν) = ln ln (ν/(mm²/s) + 0.7)
    slope = (w(ν2) - w(ν1)) / (ln T2 - ln T1)
    w = w(ν1) + slope (ln T - ln T1)
    ν = exp exp w - 0.7

    Args:
        temperature_k: temperature asked for, T [K]
        first_temperature_k: T1 [K]
        first_viscosity_m2_s: kinematic viscosity at T1, ν1 [m²/s]
        second_temperature_k: T2 [K]
        second_viscosity_m2_s: kinematic viscosity at T2, ν2 [m²/s]
    Returns:
        kinematic viscosity [m²/s]
    Valid: either fluid family, 1 to 20,000 mm²/s, between the two temperatures and some way beyond; below 2 mm²/s
        the standard adds a term, left out here, worth 0.4 % at 1.5 and 2 % at 1 mm²/s.
    Raises:
        DomainError: viscosities under 1 mm²/s or above 20,000, two equal temperatures, or a temperature not above 0 K
    [Source: astm-d341]
    Example:
        >>> round(kinematic_viscosity(353.0, 313.0, 32e-6, 373.0, 5.4e-6) * 1e6, 1)
        8.5
    """
    positive(
        temperature_k=temperature_k,
        first_temperature_k=first_temperature_k,
        second_temperature_k=second_temperature_k,
    )
    within(
        0.999 * VISCOSITY_UNIT_M2_S,
        20_000 * VISCOSITY_UNIT_M2_S,
        "the range of the line, 1 to 20,000 mm²/s",
        first_viscosity_m2_s=first_viscosity_m2_s,
        second_viscosity_m2_s=second_viscosity_m2_s,
    )
    if first_temperature_k == second_temperature_k:
        raise DomainError("first_temperature_k and second_temperature_k are the same: two points are needed for a line")
    first = math.log(math.log(first_viscosity_m2_s / VISCOSITY_UNIT_M2_S + 0.7))
    second = math.log(math.log(second_viscosity_m2_s / VISCOSITY_UNIT_M2_S + 0.7))
    slope = (second - first) / (math.log(second_temperature_k) - math.log(first_temperature_k))
    here = first + slope * (math.log(temperature_k) - math.log(first_temperature_k))
    return (math.exp(math.exp(here)) - 0.7) * VISCOSITY_UNIT_M2_S


def clearance_leakage(
    diameter_m: float,
    clearance_m: float,
    length_m: float,
    pressure_drop_pa: float,
    viscosity_pa_s: float,
    eccentricity: float = 0.0,
) -> float:
    """The leakage along the clearance of a lapped spool.

    Q = π d c³ Δp (1 + 1.5 ε²) / (12 μ L)

    Args:
        diameter_m: of the spool, d [m]
        clearance_m: radial clearance, c [m]
        length_m: length of the land, L [m]
        pressure_drop_pa: along the land, Δp [Pa]
        viscosity_pa_s: dynamic viscosity: kinematic x density, μ [Pa·s]
        eccentricity: offset of the spool over the clearance, ε [1]: 0 centered, 1 lying on the bore
    Returns:
        flow [m³/s]
    Valid: laminar flow, c much smaller than d, no wear steps, no dirt.
    Raises:
        DomainError: a dimension or viscosity that isn't above 0, a negative pressure drop, an eccentricity outside
            0 to 1, a clearance above a hundredth of the diameter
    [Source: fox-mcdonald]
    Example:
        >>> round(clearance_leakage(0.025, 5e-6, 0.015, 19e6, 0.018) * 1e9, 1)  # mm³/s
        57.6
    """
    positive(diameter_m=diameter_m, clearance_m=clearance_m, length_m=length_m, viscosity_pa_s=viscosity_pa_s)
    not_negative(pressure_drop_pa=pressure_drop_pa)
    within(0.0, 1.0, "0 is centered, 1 lies on the bore", eccentricity=eccentricity)
    within(0.0, diameter_m / 100.0, "a lapped clearance is far smaller than its bore", clearance_m=clearance_m)
    centered = math.pi * diameter_m * clearance_m**3 * pressure_drop_pa / (12.0 * viscosity_pa_s * length_m)
    return centered * (1.0 + 1.5 * eccentricity**2)


def hold_time(
    volume_m3: float, precharge_pa: float, lower_pa: float, upper_pa: float, leakage_at_upper_m3_s: float
) -> float:
    """How long a settled charge holds with the pedal untouched, when leakage is in proportion to the pressure.

    t = V0 p0 p2 (1/p1² - 1/p2²) / (2 Q2)

    Args:
        volume_m3: gas volume at precharge, V0 [m³]
        precharge_pa: absolute precharge at the temperature of the gas, p0 [Pa]
        lower_pa: absolute pressure at the end, p1 [Pa], not below the precharge
        upper_pa: absolute pressure at the start, p2 [Pa]
        leakage_at_upper_m3_s: leakage at p2, Q2 [m³/s]
    Returns:
        time [s]
    Valid: constant temperature, laminar leakage, ideal gas: 1.7 to 8.3 % longer than with real nitrogen at
        1,100 to 2,400 psi.
    Raises:
        DomainError: a lost precharge, or one above the lower pressure; no leakage; p1 not below p2
    [Source: fox-mcdonald]
    Example:
        >>> round(hold_time(0.75e-3, 7e6, 13.9e6, 15.2e6, 0.05e-6) / 60, 1)
        11.3
    """
    positive(volume_m3=volume_m3, leakage_at_upper_m3_s=leakage_at_upper_m3_s)
    _check_charge(precharge_pa, lower_pa, upper_pa)
    ends = 1.0 / lower_pa**2 - 1.0 / upper_pa**2
    return volume_m3 * precharge_pa * upper_pa * ends / (2.0 * leakage_at_upper_m3_s)


def leakage_from_hold(
    volume_m3: float,
    precharge_pa: float,
    first_pressure_pa: float,
    first_temperature_k: float,
    second_pressure_pa: float,
    second_temperature_k: float,
    time_s: float,
    settled_s: float,
    settling_time_s: float,
) -> float:
    """The mean leakage that a measured hold betrays, less what the change of temperature alone explains.

    without_leak = pressure_by_temperature_alone(first pressure, first temperature, second temperature)
    lost = slow_usable_volume(second pressure, without_leak), 0 when the pressure fell no further than that
    Q = lost / t

    Args:
        volume_m3: gas volume at precharge [m³]
        precharge_pa: absolute precharge at second_temperature_k [Pa]
        first_pressure_pa: absolute pressure at the start [Pa]
        first_temperature_k: gas temperature at the start [K], 0 to 110 °C
        second_pressure_pa: absolute pressure at the end [Pa]
        second_temperature_k: gas temperature at the end [K], 0 to 110 °C
        time_s: time between the readings, t [s]
        settled_s: time between the end of charging and the first reading [s]
        settling_time_s: time that this accumulator needs to settle [s]
    Returns:
        flow [m³/s]
    Valid: both readings after the gas has settled. With 1 % of the gas volume lost: 1 to 5 % above real nitrogen at one
        temperature, within 14 % when the temperatures differ by 5 K, 25 % when by 10 K.
    Raises:
        DomainError: the first reading came too early: a quick top-up from 1800 to 2200 psi settles to 2038 psi by
            itself; as slow_usable_volume
    [Source: span-2000]
    Example:
        >>> flow = leakage_from_hold(0.75e-3, 7e6, 15e6, 293.15, 14.5e6, 293.15, 1800.0, 1200.0, 900.0)
        >>> round(flow * 1e9, 1)  # mm³/s
        6.6
    """
    positive(volume_m3=volume_m3, time_s=time_s, second_pressure_pa=second_pressure_pa)
    not_negative(settled_s=settled_s, settling_time_s=settling_time_s)
    if settled_s < settling_time_s:
        raise DomainError(
            f"settled_s is {settled_s:g}: the gas needs {settling_time_s:g} s to settle; an earlier reading takes "
            "cooling for a leak (a quick top-up from 1800 to 2200 psi settles to 2038 psi by itself)"
        )
    without_leak = pressure_by_temperature_alone(first_pressure_pa, first_temperature_k, second_temperature_k)
    if second_pressure_pa >= without_leak:
        return 0.0
    return slow_usable_volume(volume_m3, precharge_pa, second_pressure_pa, without_leak) / time_s


def _check_charge(precharge: float, lower: float, upper: float) -> None:
    rising("the pressure falls as it leaks", lower_pa=lower, upper_pa=upper)
    within(LOST_PRECHARGE_PA, lower, "from a charge that isn't lost to the lower pressure", precharge_pa=precharge)
