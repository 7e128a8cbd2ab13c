"""What the behavior of an accumulator betrays of its precharge. Absolute pressures throughout."""

from __future__ import annotations

from estimator.errors import DomainError
from estimator.hydraulics.accumulator import EMPTYING_SHARE
from estimator.hydraulics.domain import Band, not_negative, positive, rising
from estimator.hydraulics.gas import charging_exponent, fast_exponent


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
