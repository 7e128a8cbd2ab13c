"""Heat of one stop, and wear projected to the discard thickness."""

from __future__ import annotations

from estimator.errors import DomainError
from estimator.hydraulics.domain import not_negative, positive, within


def stop_energy(mass_kg: float, speed_m_s: float, end_speed_m_s: float = 0.0) -> float:
    """The heat that a stop leaves in the brakes.

    E = m (v0² - v1²)/2

    Args:
        mass_kg: of the car as it is driven, m [kg]
        speed_m_s: at the start, v0 [m/s]
        end_speed_m_s: at the end, v1 [m/s]
    Returns:
        energy [J]
    Valid: on the flat, leaving out rolling and air drag (under a tenth) and turning masses (some percent).
    Raises:
        DomainError: a mass that isn't above 0, a negative speed, or a car that gains speed
    [Source: physics-exercise]
    Example:
        >>> stop_energy(1200.0, 30.0)
        540000.0
    """
    positive(mass_kg=mass_kg)
    not_negative(speed_m_s=speed_m_s, end_speed_m_s=end_speed_m_s)
    if end_speed_m_s > speed_m_s:
        raise DomainError(f"end_speed_m_s is {end_speed_m_s:g}: a stop doesn't end faster than it began")
    return mass_kg * (speed_m_s**2 - end_speed_m_s**2) / 2.0


def rotor_warming(energy_j: float, share: float, rotors_kg: float, specific_heat_j_kg_k: float) -> float:
    """How much warmer rotors get in one stop.

    ΔT = share E / (m c)

    Args:
        energy_j: of the stop, E [J]
        share: of it that these rotors take [1]
        rotors_kg: their mass together, m [kg]
        specific_heat_j_kg_k: c; cast iron 450 to 550 [J/(kg·K)]
    Returns:
        rise of the mean temperature, a difference [ΔK]
    Valid: one stop of a few seconds, no cooling; the rubbing surface is far hotter than the mean.
    Raises:
        DomainError: a negative energy, a share outside 0 to 1, a mass or specific heat that isn't above 0
    [Source: physics-exercise]
    Example:
        >>> rotor_warming(540000.0, 1.0, 4.0, 500.0)
        270.0
    """
    not_negative(energy_j=energy_j)
    within(0.0, 1.0, "a share of 1", share=share)
    positive(rotors_kg=rotors_kg, specific_heat_j_kg_k=specific_heat_j_kg_k)
    return share * energy_j / (rotors_kg * specific_heat_j_kg_k)


def wear_rate(first_m: float, second_m: float, distance_m: float) -> float:
    """What a lining or rotor loses over a distance.

    rate = (first - second)/distance

    Args:
        first_m: thickness at the first reading [m]
        second_m: thickness at the second [m]
        distance_m: driven between them [m]
    Returns:
        loss of thickness per distance [1]
    Valid: the same driver and roads; two readings at the same spot.
    Raises:
        DomainError: a thickness that grew; a distance that isn't above 0
    [Source: automotive-mathematics]
    Example:
        >>> round(wear_rate(12e-3, 6e-3, 37856e3) * 1e9, 3)  # mm in 1,000 km
        0.158
    """
    positive(first_m=first_m, distance_m=distance_m)
    not_negative(second_m=second_m)
    if second_m > first_m:
        raise DomainError(f"second_m is {second_m:g}: a part that wears doesn't grow; measure again")
    return (first_m - second_m) / distance_m


def distance_to_discard(thickness_m: float, discard_m: float, rate: float) -> float:
    """How far a part still goes before its discard thickness.

    distance = (thickness - discard)/rate, 0 once it is there

    Args:
        thickness_m: now [m]
        discard_m: at which it must be replaced [m]
        rate: loss of thickness per distance [1]
    Returns:
        distance [m]
    Valid: a projection: it holds as long as the driving does. Never a reason to let a lining go to its limit.
    Raises:
        DomainError: a rate that isn't above 0: nothing can be projected from no wear; a negative thickness
    [Source: automotive-mathematics]
    Example:
        >>> round(distance_to_discard(6e-3, 2e-3, 6e-3 / 37856.0))
        25237
    """
    not_negative(thickness_m=thickness_m, discard_m=discard_m)
    positive(rate=rate)
    return max(0.0, thickness_m - discard_m) / rate
