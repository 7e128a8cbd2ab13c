"""The fluid that is left above a floor when the lamp lights, however the pressure was come to."""

from __future__ import annotations

from estimator.errors import DomainError
from estimator.hydraulics.accumulator import fast_usable_volume


def reserve_left(
    volume_m3: float,
    precharge_pa: float,
    floor_pa: float,
    pressure_pa: float,
    cut_out_pa: float,
    temperature_k: float,
) -> float:
    """The fluid still to be had at a pressure before the floor is reached, however that pressure was come to.

    settled = fast_usable_volume(floor, p)                                        (it leaked down slowly)
    continued = fast_usable_volume(floor, cut-out) - fast_usable_volume(p, cut-out)  (it was braked down quickly)
    reserve = max(0, min(settled, continued))

    Args:
        volume_m3: gas volume at precharge [m³]
        precharge_pa: absolute precharge at temperature_k [Pa]
        floor_pa: absolute pressure below which nothing counts, such as that of secondary performance [Pa]
        pressure_pa: absolute pressure now [Pa], between floor and cut-out
        cut_out_pa: absolute cut-out pressure [Pa], to 18 MPa
        temperature_k: gas temperature of the settled charge [K], -40 to 110 °C
    Returns:
        volume [m³]; 0 when the gas is lost although cut-out is reached
    Valid: 0 to 110 °C, precharge 300 to 1,400 psi but below the pressure now, floor from 500 psi, to 2,400 psi: 7.2 %
        below to 1.3 % above real nitrogen; -40 to 0 °C: 15.5 % below to 1.3 % above. Precharge 45 to 300 psi, floor from
        400 psi: at most 2.7 % above.
    Raises:
        DomainError: as fast_usable_volume; a pressure that isn't between floor and cut-out
    [Source: span-2000]
    Example:
        >>> psi = 6894.757293168
        >>> left = reserve_left(750.0, 800 * psi, 900 * psi, 1300 * psi, 2200 * psi, 293.15)
        >>> round(left, 1)  # real nitrogen: 98.7, and 123.3 had it leaked down to here
        94.0
        >>> reserve_left(750.0, 14.7 * psi, 900 * psi, 2200 * psi, 2200 * psi, 293.15)
        0.0
    """
    if not floor_pa <= pressure_pa <= cut_out_pa:
        raise DomainError(
            f"pressure_pa is {pressure_pa:g}: allowed is {floor_pa:g} to {cut_out_pa:g}, from the floor to cut-out"
        )
    settled = fast_usable_volume(volume_m3, precharge_pa, floor_pa, pressure_pa, temperature_k)
    to_floor = fast_usable_volume(volume_m3, precharge_pa, floor_pa, cut_out_pa, temperature_k)
    to_here = fast_usable_volume(volume_m3, precharge_pa, pressure_pa, cut_out_pa, temperature_k)
    continued = to_floor - to_here
    return max(0.0, min(settled, continued))
