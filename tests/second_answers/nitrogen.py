"""Gas and what it gives, as only tests ask for it: pressures, volumes and counts. Absolute pressures throughout."""

from __future__ import annotations

import math

from estimator.hydraulics.accumulator import fast_usable_volume, slow_usable_volume
from estimator.hydraulics.domain import Band, not_negative, positive, within
from estimator.hydraulics.gas import ATMOSPHERE_PA, charging_exponent, pressure_by_temperature_alone


def absolute_pressure(gauge_pressure_pa: float) -> float:
    """The absolute pressure of what a gauge reads.

    p = p_gauge + 101 325 Pa

    Args:
        gauge_pressure_pa: reading of a gauge that shows 0 in open air [Pa], at least -101 325
    Returns:
        absolute pressure [Pa]
    Valid: at sea level; at 1,600 m of altitude the answer is 0.018 MPa (2.6 psi) too high.
    Raises:
        DomainError: below a vacuum
    [Source: si-brochure]
    Example:
        >>> absolute_pressure(0.0)
        101325.0
    """
    within(-ATMOSPHERE_PA, math.inf, "a vacuum is the lowest pressure", gauge_pressure_pa=gauge_pressure_pa)
    return gauge_pressure_pa + ATMOSPHERE_PA


def hot_precharge(precharge_pa: float, temperature_k: float, hot_temperature_k: float) -> float:
    """The precharge of a hot accumulator, with what real nitrogen adds to the gas law.

    by_gas_law = p T'/T
    correction = 0.065 (p/10 MPa) ((T' - T)/100 K)
    p' = by_gas_law (1 + correction)

    Args:
        precharge_pa: absolute precharge at temperature_k [Pa], to 18 MPa
        temperature_k: gas temperature of that precharge [K], 0 to 110 °C
        hot_temperature_k: gas temperature asked for [K], 0 to 110 °C
    Returns:
        absolute precharge at hot_temperature_k [Pa]
    Valid: read between 0 and 40 °C, asked for between 0 and 110 °C, 300 to 1,400 psi: within 1.1 % of real nitrogen.
    Raises:
        DomainError: pressure or temperature out of range
    [Source: span-2000]
    Example:
        >>> round(hot_precharge(6.9e6, 293.15, 383.15) / 1e6, 2)  # the gas law alone says 9.02
        9.38
    """
    return pressure_by_temperature_alone(precharge_pa, temperature_k, hot_temperature_k)


def settled_pressure(lower_pa: float, upper_pa: float, temperature_k: float) -> float:
    """The pressure to which a quick top-up falls back by itself, with no leak, as the heated gas cools.

    m = charging_exponent(p1, p2, T)
    p = p1 (p2/p1)^(1/m)

    Args:
        lower_pa: absolute settled pressure before the top-up, p1 [Pa]
        upper_pa: absolute pressure at its end, p2 [Pa], to 18 MPa
        temperature_k: temperature to which the gas returns, T [K], 0 to 110 °C
    Returns:
        absolute pressure once the gas has settled [Pa]
    Valid: 0 to 110 °C, to 2,400 psi: within 8 psi of real nitrogen from 1,100 psi up, within 40 psi from 300 psi up.
    Raises:
        DomainError: pressure or temperature out of range, or p1 above p2
    [Source: span-2000]
    Example:
        >>> from estimator.quantities import PSI
        >>> atmosphere = 101325.0
        >>> settled = settled_pressure(1800 * PSI + atmosphere, 2200 * PSI + atmosphere, 293.15)
        >>> round((settled - atmosphere) / PSI)  # gauge; real nitrogen gives 2038
        2038
    """
    exponent = charging_exponent(lower_pa, upper_pa, temperature_k)
    return lower_pa * math.pow(upper_pa / lower_pa, 1.0 / exponent)


def gas_volume(volume_m3: float, precharge_pa: float, pressure_pa: float, exponent: float = 1.0) -> float:
    """The volume of the gas at a pressure above its precharge.

    V = V0 (p0/p)^(1/n), at most V0

    Args:
        volume_m3: gas volume at precharge, V0 [m³]
        precharge_pa: absolute precharge, p0 [Pa]
        pressure_pa: absolute pressure, p [Pa]
        exponent: n [1]: 1 for a settled charge, as the handbooks say 1.4 for a quick change from the precharge
    Returns:
        gas volume [m³]
    Valid: ideal gas. At 2,200 psi and 20 °C a settled gas takes 3 % more room than this.
    Raises:
        DomainError: a volume, pressure or exponent that isn't above 0, a negative precharge
    [Source: closing-unit-notes]
    Example:
        >>> round(gas_volume(10.0, 1000.0, 1200.0), 2)
        8.33
    """
    positive(volume_m3=volume_m3, pressure_pa=pressure_pa, exponent=exponent)
    not_negative(precharge_pa=precharge_pa)
    return volume_m3 * math.pow(min(1.0, precharge_pa / pressure_pa), 1.0 / exponent)


def usable_volume(
    volume_m3: float, precharge_pa: float, lower_pa: float, upper_pa: float, temperature_k: float
) -> Band:
    """The usable volume between two pressures as a band: fast_usable_volume to slow_usable_volume.

    low = fast_usable_volume, high = slow_usable_volume

    Args:
        volume_m3: gas volume at precharge, V0 [m³]
        precharge_pa: absolute precharge at temperature_k, p0 [Pa]
        lower_pa: absolute pressure at the end of the discharge, p1 [Pa]
        upper_pa: absolute pressure of the settled charge, p2 [Pa], to 18 MPa
        temperature_k: gas temperature, T [K], -40 to 110 °C
    Returns:
        the low and the high end [m³]; both 0 when the gas is lost or the precharge is p2 or more
    Valid: as its two ends.
    Raises:
        DomainError: as its two ends
    [Source: span-2000]
    Example:
        >>> usable_volume(0.75e-3, 101325.0, 12e6, 15e6, 293.15)  # no precharge left: cut-out is reached all the same
        Band(low=0.0, high=0.0)
    """
    fast = fast_usable_volume(volume_m3, precharge_pa, lower_pa, upper_pa, temperature_k)
    slow = slow_usable_volume(volume_m3, precharge_pa, lower_pa, upper_pa)
    return Band(fast, slow)


def number_of_applications(
    volume_m3: float,
    precharge_pa: float,
    lower_pa: float,
    cut_out_pa: float,
    application_m3: float,
    temperature_k: float,
) -> Band:
    """How many applications a settled charge gives before a pressure is passed.

    low = floor(fast usable volume / v)
    high = floor(slow usable volume / v)

    Args:
        volume_m3: gas volume at precharge [m³]
        precharge_pa: absolute precharge at temperature_k [Pa]
        lower_pa: absolute pressure that mustn't be passed: cut-in, lamp, or that of secondary performance [Pa]
        cut_out_pa: absolute pressure of the settled charge [Pa], to 18 MPa
        application_m3: volume of one application, v [m³]
        temperature_k: gas temperature of the settled charge [K], -40 to 110 °C
    Returns:
        whole numbers [1]: applied quickly, and with time for the gas to warm
    Valid: as usable_volume.
    Raises:
        DomainError: as usable_volume; an application that takes no volume
    [Source: span-2000]
    Example:
        >>> psi = 6894.757293168
        >>> number_of_applications(750.0, 1000 * psi, 1100 * psi, 2200 * psi, 10.0, 293.15)
        Band(low=17.0, high=33.0)
    """
    positive(application_m3=application_m3)
    usable = usable_volume(volume_m3, precharge_pa, lower_pa, cut_out_pa, temperature_k)
    return Band(float(math.floor(usable.low / application_m3)), float(math.floor(usable.high / application_m3)))
