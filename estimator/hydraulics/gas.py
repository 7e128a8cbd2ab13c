"""The nitrogen charge of an accumulator: temperature, exponents, settling. Absolute pressures throughout.

The exponents are fits to real nitrogen (Span and others 2000, evaluated with CoolProp); tests/test_hydraulics_gas.py
fits them again and measures the errors stated here.
"""

from __future__ import annotations

import math

from estimator.hydraulics.domain import not_negative, positive, rising, within

ATMOSPHERE_PA = 101_325.0
LOST_PRECHARGE_PA = 2 * ATMOSPHERE_PA  # one atmosphere on the gauge can't be told from an open valve
REFERENCE_TEMPERATURE_K = 293.15
REFERENCE_WARMING_K = 100.0
REFERENCE_PRESSURE_PA = 10e6

FAST_EXPONENT_BASE = 1.485
FAST_EXPONENT_PER_PRESSURE = 0.200
FAST_EXPONENT_PER_TEMPERATURE = -0.145
FAST_EXPONENT_PER_COLD = 0.5
COLD_BELOW_K = 273.15

CHARGING_EXPONENT_BASE = 1.42
CHARGING_EXPONENT_PER_PRESSURE = 0.14
CHARGING_EXPONENT_PER_TEMPERATURE = -0.11

HEATING_CORRECTION = 0.065

HIGHEST_PRESSURE_PA = 18e6
COLDEST_K, HOTTEST_K = 273.14, 383.16  # 0 to 110 °C, a hair wider
FAST_COLDEST_K = 233.14  # -40 °C
_FITTED = "the range over which the fit to real nitrogen was measured"


def precharge_at_temperature(precharge_pa: float, temperature_k: float, new_temperature_k: float) -> float:
    """The precharge that the same gas has at another temperature, by the gas law.

    p' = p T'/T   (fluid side empty: the volume of the gas doesn't change)

    Args:
        precharge_pa: absolute precharge at temperature_k [Pa]
        temperature_k: gas temperature of that precharge [K]
        new_temperature_k: gas temperature asked for [K]
    Returns:
        absolute precharge at new_temperature_k [Pa]
    Valid: 0 to 40 °C, precharge to 1,400 psi: within 2 % of real nitrogen. Towards 110 °C real nitrogen rises up to
        7 % more; hot_precharge allows for that.
    Raises:
        DomainError: a negative pressure, or a temperature that isn't above 0 K
    [Source: precharge-page]
    Example:
        >>> from estimator.hydraulics.gas import ATMOSPHERE_PA
        >>> round((precharge_at_temperature(90e5 + ATMOSPHERE_PA, 313.15, 293.15) - ATMOSPHERE_PA) / 1e5, 1)
        84.2
    """
    not_negative(precharge_pa=precharge_pa)
    positive(temperature_k=temperature_k, new_temperature_k=new_temperature_k)
    return precharge_pa * new_temperature_k / temperature_k


def pressure_by_temperature_alone(pressure_pa: float, temperature_k: float, new_temperature_k: float) -> float:
    """The pressure of a closed, tight system whose gas changes temperature: heat and cold look like a leak.

    by_gas_law = p T'/T
    correction = 0.065 (p/10 MPa) ((T' - T)/100 K)
    p' = by_gas_law (1 + correction)

    Args:
        pressure_pa: absolute pressure at temperature_k [Pa], to 18 MPa
        temperature_k: gas temperature at the first reading [K], 0 to 110 °C
        new_temperature_k: gas temperature at the second [K], 0 to 110 °C
    Returns:
        absolute pressure at new_temperature_k with no leak at all [Pa]
    Valid: 1,100 to 2,400 psi, changes to 30 K: the change foreseen is 9 % below to 19 % above that of real nitrogen
        (the gas law alone errs by -8 to -30 %).
    Raises:
        DomainError: pressure or temperature out of range
    [Source: span-2000]
    Example:
        >>> round(pressure_by_temperature_alone(15.3e6, 313.15, 293.15) / 1e6, 2)  # 1 MPa lost, and no leak
        14.04
    """
    within(0.0, HIGHEST_PRESSURE_PA, _FITTED, pressure_pa=pressure_pa)
    _check_temperature(temperature_k=temperature_k, new_temperature_k=new_temperature_k)
    by_gas_law = pressure_pa * new_temperature_k / temperature_k
    warmer = (new_temperature_k - temperature_k) / REFERENCE_WARMING_K
    return by_gas_law * (1.0 + HEATING_CORRECTION * pressure_pa / REFERENCE_PRESSURE_PA * warmer)


def fast_exponent(lower_pa: float, upper_pa: float, temperature_k: float) -> float:
    """The exponent with which a settled charge gives its volume in quick applications.

    n = 1.485 + a √(p1 p2)/10 MPa - 0.145 (T - 293.15 K)/100 K
    a = 0.200 + 0.5 (273.15 K - T)/100 K below 0 °C, 0.200 above (`fast_exponent_slope`)

    Args:
        lower_pa: absolute pressure at the end of the discharge, p1 [Pa]
        upper_pa: absolute pressure of the settled charge, p2 [Pa], to 18 MPa
        temperature_k: gas temperature of the settled charge, T [K], -40 to 110 °C
    Returns:
        exponent n [1]
    Valid: 0 to 110 °C, 1,100 to 2,400 psi, precharge 300 to 1,400 psi: the usable volume found with it is 6.4 % below
        to 0.7 % above real nitrogen discharged without heat exchange. To 18 MPa at most 1.8 % above; down to 300 psi
        at most 8.6 % below. -40 to 0 °C: 13.9 % below to 0.7 % above. One fixed exponent can't do this: 1.4 errs by +8
        to +32 %.
    Raises:
        DomainError: pressure or temperature out of range, or p1 above p2
    [Source: span-2000]
    Example:
        >>> round(fast_exponent(12.4e6, 15.2e6, 293.15), 3)
        1.76
    """
    slope = fast_exponent_slope(temperature_k)
    return _exponent(lower_pa, upper_pa, temperature_k, FAST_EXPONENT_BASE, slope, FAST_EXPONENT_PER_TEMPERATURE)


def fast_exponent_slope(temperature_k: float) -> float:
    """What each 10 MPa adds to the exponent of quick applications; more below 0 °C, where nitrogen is nearer to a liquid.

    a = 0.200 + 0.5 max(0, 273.15 K - T)/100 K

    Args:
        temperature_k: gas temperature of the settled charge, T [K], -40 to 110 °C
    Returns:
        slope a [1], for 10 MPa
    Valid: as fast_exponent.
    Raises:
        DomainError: temperature out of range
    [Source: span-2000]
    Example:
        >>> fast_exponent_slope(293.15), round(fast_exponent_slope(253.15), 3)
        (0.2, 0.3)
    """
    within(FAST_COLDEST_K, HOTTEST_K, f"{_FITTED} (-40 to 110 °C)", temperature_k=temperature_k)
    colder = max(0.0, COLD_BELOW_K - temperature_k) / REFERENCE_WARMING_K
    return FAST_EXPONENT_PER_PRESSURE + FAST_EXPONENT_PER_COLD * colder


def charging_exponent(lower_pa: float, upper_pa: float, temperature_k: float) -> float:
    """The exponent of a quick charge: how far the gas is compressed before it cools.

    m = 1.42 + 0.14 √(p1 p2)/10 MPa - 0.11 (T - 293.15 K)/100 K

    Args:
        lower_pa: absolute settled pressure before the top-up, p1 [Pa]
        upper_pa: absolute pressure at its end, p2 [Pa], to 18 MPa
        temperature_k: temperature to which the gas returns, T [K], 0 to 110 °C
    Returns:
        exponent m [1]
    Valid: as settled_pressure.
    Raises:
        DomainError: pressure or temperature out of range, or p1 above p2
    [Source: span-2000]
    Example:
        >>> round(charging_exponent(12.5e6, 15.3e6, 293.15), 3)
        1.614
    """
    _check_temperature(temperature_k=temperature_k)
    return _exponent(
        lower_pa,
        upper_pa,
        temperature_k,
        CHARGING_EXPONENT_BASE,
        CHARGING_EXPONENT_PER_PRESSURE,
        CHARGING_EXPONENT_PER_TEMPERATURE,
    )


def _check_temperature(**temperatures: float) -> None:
    within(COLDEST_K, HOTTEST_K, f"{_FITTED} (0 to 110 °C)", **temperatures)


def _exponent(lower: float, upper: float, temperature: float, base: float, by_pressure: float, by_heat: float) -> float:
    positive(lower_pa=lower, upper_pa=upper)
    within(0.0, HIGHEST_PRESSURE_PA, _FITTED, upper_pa=upper)
    if lower != upper:
        rising("the lower pressure comes first", lower_pa=lower, upper_pa=upper)
    mean_pressure = math.sqrt(lower * upper) / REFERENCE_PRESSURE_PA
    warmer = (temperature - REFERENCE_TEMPERATURE_K) / REFERENCE_WARMING_K
    return base + by_pressure * mean_pressure + by_heat * warmer
