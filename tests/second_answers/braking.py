"""Braking forces, axle loads, adhesion, and stopping: the mechanics that any state of the brakes shares."""

from __future__ import annotations

from dataclasses import dataclass

from estimator.errors import DomainError
from estimator.hydraulics.domain import not_negative, positive, within
from tests.second_answers.circuits import Brake

STANDARD_GRAVITY_M_S2 = 9.80665


@dataclass(frozen=True)
class Axles:
    """A value at the front axle and at the rear axle."""

    front: float
    rear: float


def brake_force(brake: Brake, pressure_pa: float, tire_radius_m: float) -> float:
    """The braking force at the road from one brake.

    clamp = p A
    torque = 2 μ clamp r
    F = torque/R

    Args:
        brake: its clamping area A [m²], effective radius r [m] and friction μ [1]
        pressure_pa: gauge pressure of its source, p [Pa]
        tire_radius_m: rolling radius, R [m]
    Returns:
        force [N]
    Valid: disc brakes, pads bedded and below fade; the wheel isn't locked.
    Raises:
        DomainError: a negative pressure, a radius that isn't above 0
    [Source: disc-brake-torque]
    Example:
        >>> front = Brake("front-left", "front-axle", "system-1", 1.14e-3, 0.12, 0.38)
        >>> round(brake_force(front, 8e6, 0.32))
        2599
    """
    not_negative(pressure_pa=pressure_pa)
    positive(tire_radius_m=tire_radius_m)
    clamp = pressure_pa * brake.piston_area_m2
    torque = 2.0 * brake.friction * clamp * brake.effective_radius_m
    return torque / tire_radius_m


def deceleration_of_force(force_n: float, mass_kg: float) -> float:
    """The deceleration that a braking force gives.

    a = F/m

    Args:
        force_n: all braking forces together, F [N]
        mass_kg: of the car as it is tested, m [kg]
    Returns:
        deceleration [m/s²]
    Valid: on the flat, without drag, turning masses left out.
    Raises:
        DomainError: a negative force, a mass that isn't above 0
    [Source: gillespie]
    Example:
        >>> deceleration_of_force(6000.0, 1500.0)
        4.0
    """
    not_negative(force_n=force_n)
    positive(mass_kg=mass_kg)
    return force_n / mass_kg


def axle_loads(
    mass_kg: float,
    front_share: float,
    gravity_center_height_m: float,
    wheelbase_m: float,
    deceleration_m_s2: float,
    gravity_m_s2: float = STANDARD_GRAVITY_M_S2,
) -> Axles:
    """The loads of the axles while braking.

    moved = m a h/E
    front = m g front_share + moved
    rear = m g (1 - front_share) - moved

    Args:
        mass_kg: m [kg]
        front_share: front axle's share of the weight at rest [1]
        gravity_center_height_m: of the center of gravity, h [m]
        wheelbase_m: E [m]
        deceleration_m_s2: a [m/s²]
        gravity_m_s2: g [m/s²]
    Returns:
        load of the front and of the rear axle [N]
    Valid: on the flat, steady braking, until the rear axle lifts.
    Raises:
        DomainError: a dimension that isn't above 0, a share outside 0 to 1, a deceleration at which the rear lifts
    [Source: un-r13h]
    Example:
        >>> loads = axle_loads(1500.0, 0.55, 0.55, 2.75, 5.0)
        >>> round(loads.front), round(loads.rear)
        (9590, 5119)
    """
    positive(mass_kg=mass_kg, wheelbase_m=wheelbase_m, gravity_m_s2=gravity_m_s2)
    not_negative(gravity_center_height_m=gravity_center_height_m, deceleration_m_s2=deceleration_m_s2)
    within(0.0, 1.0, "a share of 1", front_share=front_share)
    moved = mass_kg * deceleration_m_s2 * gravity_center_height_m / wheelbase_m
    front = mass_kg * gravity_m_s2 * front_share + moved
    rear = mass_kg * gravity_m_s2 * (1.0 - front_share) - moved
    if rear < 0:
        raise DomainError(f"deceleration_m_s2 is {deceleration_m_s2:g}: the rear axle would lift before that")
    return Axles(front, rear)


def adhesion_used(force_n: float, load_n: float) -> float:
    """The adhesion that an axle uses; when it reaches that of the road, the axle locks.

    f = T/N

    Args:
        force_n: braking force of the axle, T [N]
        load_n: its load while braking, N [N]
    Returns:
        adhesion used [1]
    Valid: no wheel locked yet.
    Raises:
        DomainError: a negative force, a load that isn't above 0
    [Source: un-r13h]
    Example:
        >>> adhesion_used(4000.0, 8000.0)
        0.5
    """
    not_negative(force_n=force_n)
    positive(load_n=load_n)
    return force_n / load_n


def rear_locks_above(
    front_force_n: float,
    rear_force_n: float,
    front_share: float,
    gravity_center_height_m: float,
    wheelbase_m: float,
    gravity_m_s2: float = STANDARD_GRAVITY_M_S2,
) -> float:
    """The deceleration above which the rear axle locks before the front, for a fixed split of the forces.

    rear_force_share = T_rear/(T_front + T_rear)
    a = g (1 - front_share - rear_force_share) E/h

    Args:
        front_force_n: T_front, at any one pressure [N]
        rear_force_n: T_rear at the same pressure [N]
        front_share: front axle's share of the weight at rest [1]
        gravity_center_height_m: h [m]
        wheelbase_m: E [m]
        gravity_m_s2: g [m/s²]
    Returns:
        deceleration [m/s²]; below 0 when the rear locks first even on ice
    Valid: forces in proportion to one pressure: with the deceleration valve stuck open, or none.
    Raises:
        DomainError: negative forces or none at all; a dimension that isn't above 0
    [Source: un-r13h]
    Example:
        >>> round(rear_locks_above(7000.0, 2500.0, 0.55, 0.55, 2.75), 2)
        9.16
    """
    not_negative(front_force_n=front_force_n, rear_force_n=rear_force_n)
    positive(gravity_center_height_m=gravity_center_height_m, wheelbase_m=wheelbase_m, gravity_m_s2=gravity_m_s2)
    positive(all_forces_n=front_force_n + rear_force_n)
    within(0.0, 1.0, "a share of 1", front_share=front_share)
    rear_force_share = rear_force_n / (front_force_n + rear_force_n)
    return gravity_m_s2 * (1.0 - front_share - rear_force_share) * wheelbase_m / gravity_center_height_m


def deceleration_on_road(
    front_force_n: float,
    rear_force_n: float,
    mass_kg: float,
    front_share: float,
    gravity_center_height_m: float,
    wheelbase_m: float,
    adhesion: float,
    gravity_m_s2: float = STANDARD_GRAVITY_M_S2,
) -> float:
    """The deceleration that a road of given adhesion allows: the least of four cases.

    k = h/E
    neither axle locks: (T_front + T_rear)/m
    front locks: g (μ front_share + T_rear/(m g))/(1 - μ k)
    rear locks: g (T_front/(m g) + μ (1 - front_share))/(1 + μ k)
    both lock: g μ

    Args:
        front_force_n: braking force that the front brakes would give, T_front [N]
        rear_force_n: that the rear brakes would give, T_rear [N]
        mass_kg: m [kg]
        front_share: front axle's share of the weight at rest [1]
        gravity_center_height_m: h [m]
        wheelbase_m: E [m]
        adhesion: of the road, μ [1]
        gravity_m_s2: g [m/s²]
    Returns:
        deceleration [m/s²]
    Valid: a locked wheel keeps the whole adhesion: a real one loses a tenth to a third.
    Raises:
        DomainError: negative forces, a dimension that isn't above 0, an adhesion at which the rear would lift
    [Source: un-r13h]
    Example:
        >>> round(deceleration_on_road(9000.0, 3000.0, 1500.0, 0.55, 0.55, 2.75, 0.5), 2)
        4.9
    """
    not_negative(front_force_n=front_force_n, rear_force_n=rear_force_n, adhesion=adhesion)
    positive(mass_kg=mass_kg, wheelbase_m=wheelbase_m, gravity_m_s2=gravity_m_s2)
    not_negative(gravity_center_height_m=gravity_center_height_m)
    within(0.0, 1.0, "a share of 1", front_share=front_share)
    k = gravity_center_height_m / wheelbase_m
    if adhesion * k >= 1.0 - front_share:
        raise DomainError(f"adhesion is {adhesion:g}: the rear axle would lift at that deceleration")
    weight = mass_kg * gravity_m_s2
    neither = (front_force_n + rear_force_n) / weight
    front_locks = (adhesion * front_share + rear_force_n / weight) / (1.0 - adhesion * k)
    rear_locks = (front_force_n / weight + adhesion * (1.0 - front_share)) / (1.0 + adhesion * k)
    return gravity_m_s2 * min(neither, front_locks, rear_locks, adhesion)
