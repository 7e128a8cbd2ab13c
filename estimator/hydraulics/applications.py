"""Brake applications without recharging: the pressure after each, and how many.

Absolute pressures. The charge has settled at cut-out; applications follow one another faster than heat can flow. The
pressure after the k-th application is also the one with which the k-th application acts.
"""

from __future__ import annotations

import math

from estimator.hydraulics.accumulator import EMPTYING_SHARE
from estimator.hydraulics.domain import not_negative, positive
from estimator.hydraulics.gas import ATMOSPHERE_PA, LOST_PRECHARGE_PA, fast_exponent


def pressure_after_volume(
    volume_m3: float, precharge_pa: float, cut_out_pa: float, drawn_m3: float, near_pa: float, temperature_k: float
) -> float:
    """The pressure left when a volume has been drawn quickly from a settled charge.

    charged = V0 p0/p2
    emptied = charged + 0.95 (V0 - charged)
    gas = charged + drawn
    first_n = fast_exponent(near, p2, T)
    estimate = p2 (charged/gas)^first_n
    n = fast_exponent(estimate, p2, T)
    p = p2 (charged/gas)^n, at least the atmosphere;  the atmosphere when gas is more than emptied, p0 is not above two
        atmospheres (the gas is lost), or p0 is p2 or more

    Args:
        volume_m3: gas volume at precharge, V0 [m³]
        precharge_pa: absolute precharge at temperature_k, p0 [Pa]
        cut_out_pa: absolute pressure of the settled charge, p2 [Pa], to 18 MPa
        drawn_m3: volume drawn since [m³]
        near_pa: absolute pressure near the answer, such as the one before this application [Pa]; it only starts the
            estimate
        temperature_k: gas temperature of the settled charge, T [K], -40 to 110 °C
    Returns:
        absolute pressure [Pa]
    Valid: as fast_exponent; the pressure is 4.4 % below to 0.2 % above that of real nitrogen down to 600 psi,
        8.0 % below to 1.4 % above down to 300 psi; -40 to 0 °C: 9.5 % below to 0.2 % above down to 600 psi.
    Raises:
        DomainError: as fast_exponent; a volume that isn't above 0; a negative volume drawn
    [Source: span-2000]
    Example:
        >>> psi = 6894.757293168
        >>> round(pressure_after_volume(750.0, 1000 * psi, 2200 * psi, 42.6, 2200 * psi, 293.15) / psi)  # real: 1799
        1789
    """
    positive(volume_m3=volume_m3)
    not_negative(precharge_pa=precharge_pa, drawn_m3=drawn_m3)
    first_exponent = fast_exponent(near_pa, cut_out_pa, temperature_k)
    if drawn_m3 == 0:
        return cut_out_pa
    if not LOST_PRECHARGE_PA < precharge_pa < cut_out_pa:
        return ATMOSPHERE_PA
    charged = volume_m3 * precharge_pa / cut_out_pa
    emptied = charged + EMPTYING_SHARE * (volume_m3 - charged)
    gas = charged + drawn_m3
    if gas > emptied:
        return ATMOSPHERE_PA
    estimate = cut_out_pa * (charged / gas) ** first_exponent
    exponent = fast_exponent(estimate, cut_out_pa, temperature_k)
    return max(ATMOSPHERE_PA, cut_out_pa * math.pow(charged / gas, exponent))


def pressures_after_applications(
    volume_m3: float,
    precharge_pa: float,
    cut_out_pa: float,
    application_m3: float,
    count: int,
    temperature_k: float,
) -> tuple[float, ...]:
    """The pressure before the first application and after each, without recharging.

    p[0] = p2
    p[k] = pressure_after_volume(drawn = k v, near = p[k-1])

    Args:
        volume_m3: gas volume at precharge [m³]
        precharge_pa: absolute precharge at temperature_k [Pa]
        cut_out_pa: absolute pressure of the settled charge, p2 [Pa], to 18 MPa
        application_m3: volume of one application, v [m³]
        count: how many applications [1]
        temperature_k: gas temperature of the settled charge [K], -40 to 110 °C
    Returns:
        count + 1 absolute pressures [Pa]; the atmosphere once the accumulator is empty
    Valid: as pressure_after_volume.
    Raises:
        DomainError: as pressure_after_volume; an application that takes no volume
    [Source: span-2000]
    Example:
        >>> psi = 6894.757293168  # real nitrogen: 2200, 2093, 1995, 1904
        >>> [round(p / psi) for p in pressures_after_applications(750.0, 1000 * psi, 2200 * psi, 10.0, 3, 293.15)]
        [2200, 2090, 1988, 1895]
        >>> [round(p / psi) for p in pressures_after_applications(750.0, 0.0, 2200 * psi, 10.0, 1, 293.15)]
        [2200, 15]
    """
    positive(application_m3=application_m3)
    not_negative(count=count)
    pressures = [cut_out_pa]
    for done in range(1, int(count) + 1):
        drawn = done * application_m3
        pressures.append(
            pressure_after_volume(volume_m3, precharge_pa, cut_out_pa, drawn, pressures[-1], temperature_k)
        )
    return tuple(pressures)
