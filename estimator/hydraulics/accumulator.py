"""What an accumulator holds: gas volume, usable volume as a band, reserve, and the precharge that a volume betrays.

Pressures are absolute. The precharge is that at the temperature of the gas in question (gas.precharge_at_temperature).
The fast end of a band decides for safety: a settled charge used up faster than heat can flow into the gas.
"""

from __future__ import annotations

import math

from estimator.hydraulics.domain import not_negative, positive, rising
from estimator.hydraulics.gas import LOST_PRECHARGE_PA, REFERENCE_PRESSURE_PA, fast_exponent

EMPTYING_SHARE = 0.95
SLOW_CORRECTION = 0.015


def fast_usable_volume(
    volume_m3: float, precharge_pa: float, lower_pa: float, upper_pa: float, temperature_k: float
) -> float:
    """The fluid that a settled charge gives in quick applications: the end of the band that decides for safety.

    charged = V0 p0/p2
    n = fast_exponent(p1, p2, T)
    expanded = charged (p2/p1)^(1/n)
    emptied = charged + 0.95 (V0 - charged)
    ΔV = min(expanded, emptied) - charged;  0 when the gas is lost (p0 not above two atmospheres) or p0 is p2 or more

    Args:
        volume_m3: gas volume at precharge, V0 [m³]
        precharge_pa: absolute precharge at temperature_k, p0 [Pa]
        lower_pa: absolute pressure at the end of the discharge, p1 [Pa]
        upper_pa: absolute pressure of the settled charge, p2 [Pa], to 18 MPa
        temperature_k: gas temperature of the settled charge, T [K], -40 to 110 °C
    Returns:
        usable volume, fast end [m³]
    Valid: 0 to 110 °C, 1,100 to 2,400 psi, precharge 300 to 1,400 psi: 6.4 % below to 0.7 % above real nitrogen
        (settled, then without heat exchange); -40 to 0 °C: 13.9 % below to 0.7 % above. The last 5 % are left out because
        hot nitrogen with its precharge inside the window takes up to 4.8 % more room than the gas law says.
    Raises:
        DomainError: as fast_exponent; a volume that isn't above 0, a negative precharge
    [Source: span-2000]
    Example:
        >>> psi = 6894.757293168
        >>> round(fast_usable_volume(750.0, 1000 * psi, 1800 * psi, 2200 * psi, 293.15), 1)  # real nitrogen: 42.6
        41.2
    """
    positive(volume_m3=volume_m3)
    not_negative(precharge_pa=precharge_pa)
    exponent = fast_exponent(lower_pa, upper_pa, temperature_k)
    if not LOST_PRECHARGE_PA < precharge_pa < upper_pa:
        return 0.0
    charged = volume_m3 * precharge_pa / upper_pa
    expanded = charged * math.pow(upper_pa / lower_pa, 1.0 / exponent)
    emptied = charged + EMPTYING_SHARE * (volume_m3 - charged)
    return min(expanded, emptied) - charged


def slow_usable_volume(volume_m3: float, precharge_pa: float, lower_pa: float, upper_pa: float) -> float:
    """The fluid that a charge gives when the gas has time to take heat up: leakage, parking, the slow end of the band.

    isothermal = min(V0, V0 p0/p1) - V0 p0/p2
    correction = 0.015 (√(p1 p2) - p0)/10 MPa
    ΔV = isothermal (1 - correction);  0 when the gas is lost (p0 not above two atmospheres) or p0 is p2 or more

    Args:
        volume_m3: gas volume at precharge, V0 [m³]
        precharge_pa: absolute precharge at the temperature of the gas, p0 [Pa]
        lower_pa: absolute pressure at the end of the discharge, p1 [Pa]
        upper_pa: absolute pressure of the settled charge, p2 [Pa]
    Returns:
        usable volume, slow end [m³]
    Valid: 0 to 110 °C, 1,100 to 2,400 psi, precharge 300 to 1,400 psi: 0.0 to 6.4 % above real nitrogen at one
        temperature; -40 to 0 °C: 3.1 % below to 13.0 % above.
    Raises:
        DomainError: a volume or pressure that isn't above 0, a negative precharge, p1 above p2
    [Source: span-2000]
    Example:
        >>> psi = 6894.757293168
        >>> round(slow_usable_volume(750.0, 1000 * psi, 1800 * psi, 2200 * psi), 1)  # real nitrogen: 72.5
        75.0
    """
    positive(volume_m3=volume_m3, lower_pa=lower_pa, upper_pa=upper_pa)
    not_negative(precharge_pa=precharge_pa)
    if lower_pa != upper_pa:
        rising("the discharge ends at the lower pressure", lower_pa=lower_pa, upper_pa=upper_pa)
    if not LOST_PRECHARGE_PA < precharge_pa < upper_pa:
        return 0.0
    isothermal = volume_m3 * (min(1.0, precharge_pa / lower_pa) - precharge_pa / upper_pa)
    correction = SLOW_CORRECTION * (math.sqrt(lower_pa * upper_pa) - precharge_pa) / REFERENCE_PRESSURE_PA
    return isothermal * (1.0 - correction)
