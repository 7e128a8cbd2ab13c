"""The deceleration-sensitive valve: a ball on a ramp that closes the way to rear pistons above a deceleration.

Closed, it holds back the stated share of any further pressure from the pistons behind it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from estimator.hydraulics.domain import Band, not_negative, positive, within
from tests.second_answers.braking import STANDARD_GRAVITY_M_S2

STEEPEST_RAD = math.radians(60.0) + 1e-9  # 60°, a hair more: the last digit of two angles added must not decide


@dataclass(frozen=True)
class Valve:
    """The deceleration at which the valve closes, and the share of further pressure that it holds back."""

    closing_m_s2: float
    share_held_back: float = 1.0

    def __post_init__(self) -> None:
        not_negative(closing_m_s2=self.closing_m_s2)
        within(0.0, 1.0, "a share of 1", share_held_back=self.share_held_back)


def closing_deceleration(
    ramp_angle_rad: float,
    pitch_rad: float = 0.0,
    downhill_rad: float = 0.0,
    gravity_m_s2: float = STANDARD_GRAVITY_M_S2,
) -> float:
    """The deceleration at which a ball on a ramp closes the valve.

    a = g (cos(downhill) tan(ramp - pitch) - sin(downhill))

    Args:
        ramp_angle_rad: of the ramp to the car's floor, which is also the angle of the bench tilt test [rad]
        pitch_rad: how far the car's nose dips under that braking [rad]
        downhill_rad: slope of the road, above 0 downhill [rad]
        gravity_m_s2: g [m/s²]
    Returns:
        deceleration along the road [m/s²], never below 0
    Valid: a ball that rolls freely in clean fluid, quasi-steady braking.
    Raises:
        DomainError: an angle of the ramp outside 0 to 60°, a pitch or slope beyond 30°
    [Source: derivation]
    Example:
        >>> round(closing_deceleration(math.radians(18.0)) / 9.80665, 3)
        0.325
    """
    within(0.0, STEEPEST_RAD, "ramps of such valves", ramp_angle_rad=ramp_angle_rad)
    within(-math.radians(30.0), math.radians(30.0), "roads and cars", pitch_rad=pitch_rad, downhill_rad=downhill_rad)
    positive(gravity_m_s2=gravity_m_s2)
    on_the_flat = math.tan(ramp_angle_rad - pitch_rad)
    return max(0.0, gravity_m_s2 * (math.cos(downhill_rad) * on_the_flat - math.sin(downhill_rad)))


def pressure_behind_valve(pressure_pa: float, closing_pressure_pa: float, share_held_back: float) -> float:
    """The pressure at the pistons behind the valve.

    p' = min(p, p_c) + (1 - share) max(0, p - p_c)

    Args:
        pressure_pa: gauge pressure of the source, p [Pa]
        closing_pressure_pa: at which the valve closed, p_c [Pa]
        share_held_back: of further pressure [1]
    Returns:
        gauge pressure [Pa]
    Valid: rising pressure; on release the valve lets pressure out freely.
    Raises:
        DomainError: a negative pressure, a share outside 0 to 1
    [Source: derivation]
    Example:
        >>> pressure_behind_valve(8e6, 5e6, 0.7)
        5900000.0
    """
    not_negative(pressure_pa=pressure_pa, closing_pressure_pa=closing_pressure_pa)
    within(0.0, 1.0, "a share of 1", share_held_back=share_held_back)
    further = max(0.0, pressure_pa - closing_pressure_pa)
    return min(pressure_pa, closing_pressure_pa) + (1.0 - share_held_back) * further


def closing_band(
    ramp_angle_rad: float,
    tolerance_rad: float,
    pitch_rad: float = 0.0,
    downhill_rad: float = 0.0,
    gravity_m_s2: float = STANDARD_GRAVITY_M_S2,
) -> Band:
    """The decelerations at which a valve whose tilt test is within tolerance may close.

    low = closing_deceleration(ramp - tolerance), high = closing_deceleration(ramp + tolerance)

    Args:
        ramp_angle_rad: angle of the bench tilt test [rad]
        tolerance_rad: allowed on it, either way [rad]
        pitch_rad: how far the car's nose dips under that braking [rad]
        downhill_rad: slope of the road, above 0 downhill [rad]
        gravity_m_s2: g [m/s²]
    Returns:
        lowest and highest deceleration [m/s²]
    Valid: as closing_deceleration.
    Raises:
        DomainError: a tolerance below 0 or above the angle; as closing_deceleration
    [Source: derivation]
    Example:
        >>> band = closing_band(math.radians(18.0), math.radians(2.0))
        >>> round(band.low, 2), round(band.high, 2)
        (2.81, 3.57)
    """
    within(0.0, ramp_angle_rad, "a tolerance is smaller than its angle", tolerance_rad=tolerance_rad)
    low = closing_deceleration(ramp_angle_rad - tolerance_rad, pitch_rad, downhill_rad, gravity_m_s2)
    high = closing_deceleration(ramp_angle_rad + tolerance_rad, pitch_rad, downhill_rad, gravity_m_s2)
    return Band(low, high)


def share_kept_from_rear(pressure_pa: float, closing_pressure_pa: float, share_held_back: float) -> float:
    """What share of their full force the pistons behind the valve don't give at a pressure.

    kept = 1 - pressure_behind_valve/p

    Args:
        pressure_pa: gauge pressure of the source, p [Pa]
        closing_pressure_pa: at which the valve closed [Pa]
        share_held_back: of further pressure [1]
    Returns:
        share [1]
    Valid: as pressure_behind_valve.
    Raises:
        DomainError: a pressure that isn't above 0; as pressure_behind_valve
    [Source: derivation]
    Example:
        >>> round(share_kept_from_rear(8e6, 5e6, 0.7), 4)
        0.2625
    """
    positive(pressure_pa=pressure_pa)
    return 1.0 - pressure_behind_valve(pressure_pa, closing_pressure_pa, share_held_back) / pressure_pa
