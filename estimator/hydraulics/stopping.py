"""Stopping distances, and the decelerations that distances stand for."""

from __future__ import annotations

from estimator.errors import DomainError
from estimator.hydraulics.domain import not_negative, positive

KMH_PER_M_S = 3.6


def stopping_distance(
    speed_m_s: float, deceleration_m_s2: float, reaction_s: float = 0.0, build_up_s: float = 0.0
) -> float:
    """The distance of a stop whose deceleration builds up in a straight line.

    rolling = v (t_reaction + t_build/2)
    braking = v²/(2 a)
    saved = a t_build²/24
    S = rolling + braking - saved

    Args:
        speed_m_s: v [m/s]
        deceleration_m_s2: once built up, a [m/s²]
        reaction_s: of the driver, t_reaction [s]
        build_up_s: until the full deceleration, t_build [s]
    Returns:
        distance [m]
    Valid: a constant deceleration on the flat, reached before the car stands.
    Raises:
        DomainError: a deceleration that isn't above 0; a negative speed or time; a build-up longer than the stop
    [Source: derivation]
    Example:
        >>> round(stopping_distance(100 / 3.6, 6.0, 0.75, 0.2), 2)
        87.9
    """
    not_negative(speed_m_s=speed_m_s, reaction_s=reaction_s, build_up_s=build_up_s)
    positive(deceleration_m_s2=deceleration_m_s2)
    if deceleration_m_s2 * build_up_s > 2.0 * speed_m_s:
        raise DomainError(f"build_up_s is {build_up_s:g}: the car would stand before the brakes are fully on")
    rolling = speed_m_s * (reaction_s + build_up_s / 2.0)
    braking = speed_m_s**2 / (2.0 * deceleration_m_s2)
    saved = deceleration_m_s2 * build_up_s**2 / 24.0
    return rolling + braking - saved


def stopping_time(
    speed_m_s: float, deceleration_m_s2: float, reaction_s: float = 0.0, build_up_s: float = 0.0
) -> float:
    """The time of a stop whose deceleration builds up in a straight line.

    t = t_reaction + t_build/2 + v/a

    Args:
        speed_m_s: v [m/s]
        deceleration_m_s2: once built up, a [m/s²]
        reaction_s: t_reaction [s]
        build_up_s: t_build [s]
    Returns:
        time [s]
    Valid: as stopping_distance.
    Raises:
        DomainError: as stopping_distance
    [Source: gillespie]
    Example:
        >>> round(stopping_time(88.0, 2000 * 32.2 / 3635), 3)  # ft/s, ft/s²
        4.967
    """
    stopping_distance(speed_m_s, deceleration_m_s2, reaction_s, build_up_s)
    return reaction_s + build_up_s / 2.0 + speed_m_s / deceleration_m_s2


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


def mean_fully_developed_deceleration(
    first_speed_m_s: float, second_speed_m_s: float, first_distance_m: float, second_distance_m: float
) -> float:
    """The mean fully developed deceleration of a measured stop.

    a = (vb² - ve²)/(2 (se - sb)),  vb = 0.8 v0, ve = 0.1 v0

    Args:
        first_speed_m_s: vb [m/s]
        second_speed_m_s: ve [m/s]
        first_distance_m: driven from the start of the stop to vb, sb [m]
        second_distance_m: driven to ve, se [m]
    Returns:
        deceleration [m/s²]
    Valid: speeds and distances to 1 %.
    Raises:
        DomainError: speeds that don't fall, or distances that don't rise
    [Source: un-r13]
    Example:
        >>> round(mean_fully_developed_deceleration(80 / 3.6, 10 / 3.6, 20.0, 60.0), 2)
        6.08
    """
    not_negative(first_speed_m_s=first_speed_m_s, second_speed_m_s=second_speed_m_s)
    not_negative(first_distance_m=first_distance_m, second_distance_m=second_distance_m)
    if not second_speed_m_s < first_speed_m_s:
        raise DomainError(f"second_speed_m_s is {second_speed_m_s:g}: it must lie below {first_speed_m_s:g}")
    if not first_distance_m < second_distance_m:
        raise DomainError(f"second_distance_m is {second_distance_m:g}: it must lie above {first_distance_m:g}")
    return (first_speed_m_s**2 - second_speed_m_s**2) / (2.0 * (second_distance_m - first_distance_m))
