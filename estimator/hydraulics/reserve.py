"""What is left in an accumulator, and what its behavior betrays of its precharge. Absolute pressures throughout."""

from __future__ import annotations

from estimator.errors import DomainError
from estimator.hydraulics.accumulator import EMPTYING_SHARE, fast_usable_volume
from estimator.hydraulics.domain import Band, not_negative, positive, rising
from estimator.hydraulics.gas import charging_exponent, fast_exponent


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


def inferred_precharge(
    volume_m3: float, drawn_m3: float, lower_pa: float, upper_pa: float, temperature_k: float
) -> Band:
    """The precharge that a volume drawn between two pressures betrays, if it lies below the lower one.

    n = fast_exponent(p1, p2, T)
    low = ΔV / (V0 (1/p1 - 1/p2))                 (the gas had time)
    if_fast = ΔV p2 / (V0 ((p2/p1)^(1/n) - 1))    (it had none)
    highest = p2 (1 - ΔV/V0)
    high = min(if_fast, highest)

    Args:
        volume_m3: gas volume at precharge, V0 [m³]
        drawn_m3: fluid drawn from the settled charge, ΔV [m³]
        lower_pa: absolute pressure at the end, p1 [Pa]
        upper_pa: absolute pressure of the settled charge, p2 [Pa], to 18 MPa
        temperature_k: gas temperature of the settled charge, T [K], -40 to 110 °C
    Returns:
        lowest and highest absolute precharge at temperature_k [Pa] that agree with the volume
    Valid: as usable_volume. A precharge above the lower pressure can give the same volume: inferred_high_precharge.
        The error of a gauge passes one to one into the precharge found with it.
    Raises:
        DomainError: more fluid than this accumulator can give between these pressures at any precharge; as
            fast_exponent
    [Source: span-2000]
    Example:
        >>> psi = 6894.757293168
        >>> found = inferred_precharge(750.0, 50.0, 1800 * psi, 2200 * psi, 293.15)  # real: 689 to 1177
        >>> round(found.low / psi), round(found.high / psi)
        (660, 1214)
    """
    exponent = _checked(volume_m3, drawn_m3, lower_pa, upper_pa, temperature_k)
    low = drawn_m3 / (volume_m3 * (1.0 / lower_pa - 1.0 / upper_pa))
    if_fast = drawn_m3 * upper_pa / (volume_m3 * ((upper_pa / lower_pa) ** (1.0 / exponent) - 1.0))
    highest = upper_pa * (1.0 - drawn_m3 / volume_m3)
    return Band(low, min(if_fast, highest))


def inferred_high_precharge(
    volume_m3: float, drawn_m3: float, lower_pa: float, upper_pa: float, temperature_k: float
) -> Band:
    """The other answer to a volume drawn between two pressures: a precharge so high that the fluid ran out.

    high = p2 (1 - ΔV/V0)
    low = p2 (1 - ΔV/(0.95 V0))

    Args:
        volume_m3: gas volume at precharge, V0 [m³]
        drawn_m3: fluid drawn from the settled charge, ΔV [m³]
        lower_pa: absolute pressure at the end, p1 [Pa]
        upper_pa: absolute pressure of the settled charge, p2 [Pa], to 18 MPa
        temperature_k: gas temperature of the settled charge, T [K], -40 to 110 °C
    Returns:
        lowest and highest absolute precharge at temperature_k [Pa], above the lower pressure
    Valid: as usable_volume.
    Raises:
        DomainError: as inferred_precharge
    [Source: span-2000]
    Example:
        >>> psi = 6894.757293168
        >>> found = inferred_high_precharge(750.0, 50.0, 1800 * psi, 2200 * psi, 293.15)
        >>> round(found.low / psi), round(found.high / psi)
        (2046, 2053)
    """
    _checked(volume_m3, drawn_m3, lower_pa, upper_pa, temperature_k)
    high = upper_pa * (1.0 - drawn_m3 / volume_m3)
    low = upper_pa * (1.0 - drawn_m3 / (EMPTYING_SHARE * volume_m3))
    return Band(max(low, lower_pa), high)


def precharge_from_charge_volume(volume_m3: float, charged_m3: float, upper_pa: float, temperature_k: float) -> Band:
    """The precharge that the fluid taken from empty to cut-out betrays (flow of the pump times charge time).

    room = 1 - ΔV/V0
    high = p2 room                              (charged slowly)
    m = charging_exponent(high, p2, T)
    low = p2 room^m                             (charged faster than heat can leave)

    Args:
        volume_m3: gas volume at precharge, V0 [m³]
        charged_m3: fluid taken up from zero to upper_pa, ΔV [m³]
        upper_pa: absolute pressure reached, p2 [Pa], to 18 MPa
        temperature_k: gas temperature before charging, T [K], 0 to 110 °C
    Returns:
        lowest and highest absolute precharge at temperature_k [Pa]
    Valid: 0 to 110 °C, precharge 300 to 1,400 psi, to 2,400 psi: the low end is 8.7 % below to 4.9 % above what real
        nitrogen charged without heat exchange had, the high end 0.7 % below to 6.4 % above at one temperature.
    Raises:
        DomainError: as much fluid as the accumulator holds, or more: its gas is lost; as charging_exponent
    [Source: span-2000]
    Example:
        >>> psi = 6894.757293168
        >>> found = precharge_from_charge_volume(750.0, 400.0, 2200 * psi, 293.15)  # real: 679 to 1000
        >>> round(found.low / psi), round(found.high / psi)
        (667, 1027)
    """
    positive(volume_m3=volume_m3, upper_pa=upper_pa)
    not_negative(charged_m3=charged_m3)
    room = 1.0 - charged_m3 / volume_m3
    if room <= 0:
        raise DomainError(
            f"charged_m3 is {charged_m3:g}: the accumulator holds {volume_m3:g}; with as much fluid its gas is lost"
        )
    high = upper_pa * room
    return Band(upper_pa * room ** charging_exponent(high, upper_pa, temperature_k), high)


def precharge_window(
    cut_in_pa: float, maximum_pa: float, least_cut_in_ratio: float, greatest_maximum_ratio: float
) -> Band:
    """The precharges that keep both ratios: the bladder never strikes the port, and is never crushed.

    low = p_max / greatest ratio of maximum to precharge
    high = p_cut-in / least ratio of cut-in to precharge

    Args:
        cut_in_pa: absolute cut-in pressure, the lowest in normal work [Pa]
        maximum_pa: absolute highest pressure [Pa]
        least_cut_in_ratio: cut-in over precharge, at least [1]; catalogues: 1.1
        greatest_maximum_ratio: maximum over precharge, at most [1]; catalogues: 4 for bladders, 8 for small diaphragms
    Returns:
        lowest and highest absolute precharge at the working temperature of the gas [Pa]
    Valid: any gas accumulator with a bladder or diaphragm; a piston has no such limits.
    Raises:
        DomainError: ratios that leave no window; a pressure or ratio that isn't above 0; cut-in not below maximum
    [Source: accumulator-maker-ratios]
    Example:
        >>> precharge_window(12.5e6, 15.0e6, 1.25, 4.0)
        Band(low=3750000.0, high=10000000.0)
    """
    positive(least_cut_in_ratio=least_cut_in_ratio, greatest_maximum_ratio=greatest_maximum_ratio, cut_in_pa=cut_in_pa)
    rising("cut-in lies below the maximum", cut_in_pa=cut_in_pa, maximum_pa=maximum_pa)
    low, high = maximum_pa / greatest_maximum_ratio, cut_in_pa / least_cut_in_ratio
    if low > high:
        raise DomainError(f"no precharge keeps both ratios: {low:g} Pa at least and {high:g} Pa at most")
    return Band(low, high)


def _checked(volume: float, drawn: float, lower: float, upper: float, temperature: float) -> float:
    positive(volume_m3=volume)
    not_negative(drawn_m3=drawn)
    rising("the discharge ends at the lower pressure", lower_pa=lower, upper_pa=upper)
    exponent = fast_exponent(lower, upper, temperature)
    most = volume * (1.0 - lower / upper)
    if drawn > most:
        raise DomainError(
            f"drawn_m3 is {drawn:g}: at any precharge this accumulator gives at most {most:g} between {lower:g} and "
            f"{upper:g} Pa; count again, or look for fluid from elsewhere"
        )
    return exponent
