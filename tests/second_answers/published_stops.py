"""Stops as rules print them, from speed and distance or by a coefficient."""

from __future__ import annotations

from estimator.hydraulics.domain import not_negative, positive
from tests.second_answers.stopping import KMH_PER_M_S


def mean_deceleration(speed_m_s: float, distance_m: float) -> float:
    """The constant deceleration that stops a car from a speed in a distance.

    a = v²/(2 S)

    Args:
        speed_m_s: v [m/s]
        distance_m: S [m]
    Returns:
        deceleration [m/s²]
    Valid: with reaction and build-up in the distance, it is less than the deceleration once built up.
    Raises:
        DomainError: a negative speed, a distance that isn't above 0
    [Source: cfr-570]
    Example:
        >>> round(mean_deceleration(20 * 0.44704, 25 * 0.3048) / 9.80665, 3)  # 20 mph in 25 ft
        0.535
    """
    not_negative(speed_m_s=speed_m_s)
    positive(distance_m=distance_m)
    return speed_m_s**2 / (2.0 * distance_m)


def regulation_distance(speed_m_s: float, linear: float, quadratic: float) -> float:
    """The stopping distance that a regulation's formula allows, in m from km/h.

    V = 3.6 v
    S = linear V + quadratic V²

    Args:
        speed_m_s: v [m/s]
        linear: of the formula, in m per km/h [1]
        quadratic: of the formula, in m per (km/h)² [1]
    Returns:
        distance [m]
    Valid: the speeds for which the regulation gives the formula.
    Raises:
        DomainError: a negative speed or coefficient
    [Source: cfr-571-135]
    Example:
        >>> round(regulation_distance(100 / 3.6, 0.10, 0.0158), 1)
        168.0
    """
    not_negative(speed_m_s=speed_m_s, linear=linear, quadratic=quadratic)
    speed_km_h = KMH_PER_M_S * speed_m_s
    return linear * speed_km_h + quadratic * speed_km_h**2


def deceleration_of_coefficient(quadratic: float) -> float:
    """The mean fully developed deceleration that a regulation's coefficient stands for.

    a = 1/(25.92 c)   (25.92 = 2 x 3.6²)

    Args:
        quadratic: c of S = 0.1 V + c V², in m per (km/h)² [1]
    Returns:
        deceleration [m/s²]
    Valid: S in m, V in km/h.
    Raises:
        DomainError: a coefficient that isn't above 0
    [Source: un-r13]
    Example:
        >>> round(deceleration_of_coefficient(0.0158), 2)
        2.44
    """
    positive(quadratic=quadratic)
    return 1.0 / (2.0 * KMH_PER_M_S**2 * quadratic)
