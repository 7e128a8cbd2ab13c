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
