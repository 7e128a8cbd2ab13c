"""Stress and margins of pipes and hoses. Gauge pressures: the open air stands outside."""

from __future__ import annotations

from estimator.errors import DomainError
from estimator.hydraulics.domain import not_negative, positive, within

WORKING_SHARE_OF_BURST = 0.25


def wall_left(wall_m: float, lost_share: float) -> float:
    """The wall that corrosion or chafing has left.

    t = t0 (1 - lost)

    Args:
        wall_m: new wall, t0 [m]
        lost_share: share of the wall lost at the thinnest place [1]
    Returns:
        wall [m]
    Valid: general wear; a pit is a stress raiser beyond this.
    Raises:
        DomainError: a wall that isn't above 0, a share outside 0 to 1, or nothing left
    [Source: uk-mot]
    Example:
        >>> round(wall_left(0.71e-3, 1 / 3) * 1e3, 3)
        0.473
    """
    positive(wall_m=wall_m)
    within(0.0, 1.0, "a share of 1", lost_share=lost_share)
    left = wall_m * (1.0 - lost_share)
    if left <= 0:
        raise DomainError(f"lost_share is {lost_share:g}: no wall is left")
    return left


def thin_wall_stress(pressure_pa: float, outer_diameter_m: float, wall_m: float) -> float:
    """The hoop stress of a pipe as the thin-wall formula gives it, on the outer diameter (Barlow).

    S = p D / (2 t)

    Args:
        pressure_pa: gauge pressure inside, p [Pa]
        outer_diameter_m: D [m]
        wall_m: t [m]
    Returns:
        stress [Pa]
    Valid: any wall: taken on the outer diameter it is never below the greatest stress in the wall (thick_wall_stress).
    Raises:
        DomainError: a negative pressure; a dimension that isn't above 0; a wall of half the diameter or more
    [Source: barlow]
    Example:
        >>> round(thin_wall_stress(15.2e6, 4.7625e-3, 0.7112e-3) / 1e6, 1)
        50.9
    """
    not_negative(pressure_pa=pressure_pa)
    _check_pipe(outer_diameter_m, wall_m)
    return pressure_pa * outer_diameter_m / (2.0 * wall_m)


def thin_wall_pressure(stress_pa: float, outer_diameter_m: float, wall_m: float) -> float:
    """The pressure that brings a pipe to a stress: with the tensile strength, its burst pressure.

    p = 2 S t / D

    Args:
        stress_pa: tensile or yield strength, S [Pa]
        outer_diameter_m: D [m]
        wall_m: t [m]
    Returns:
        gauge pressure [Pa]
    Valid: as thin_wall_stress; sound pipe without bends, nicks or corrosion.
    Raises:
        DomainError: a stress or dimension that isn't above 0; a wall of half the diameter or more
    [Source: barlow]
    Example:
        >>> round(thin_wall_pressure(42000.0, 3 / 16, 0.028))
        12544
    """
    positive(stress_pa=stress_pa)
    _check_pipe(outer_diameter_m, wall_m)
    return 2.0 * stress_pa * wall_m / outer_diameter_m


def thick_wall_stress(pressure_pa: float, outer_diameter_m: float, wall_m: float) -> float:
    """The hoop stress at the bore of a pipe of any wall (Lamé).

    d = D - 2 t
    S = p (D² + d²) / (D² - d²)

    Args:
        pressure_pa: gauge pressure inside, p [Pa]
        outer_diameter_m: D [m]
        wall_m: t [m]
    Returns:
        greatest hoop stress [Pa]
    Valid: elastic, long pipe, no pressure outside.
    Raises:
        DomainError: a negative pressure; a dimension that isn't above 0; a wall of half the diameter or more
    [Source: bhandari]
    Example:
        >>> round(thick_wall_stress(15.2e6, 4.7625e-3, 0.7112e-3) / 1e6, 1)
        44.6
    """
    not_negative(pressure_pa=pressure_pa)
    _check_pipe(outer_diameter_m, wall_m)
    inner = outer_diameter_m - 2.0 * wall_m
    return pressure_pa * (outer_diameter_m**2 + inner**2) / (outer_diameter_m**2 - inner**2)


def factor_of_safety(burst_pa: float, pressure_pa: float) -> float:
    """How many times the pressure the burst pressure is.

    f = burst / p

    Args:
        burst_pa: burst pressure [Pa]
        pressure_pa: highest pressure in use, p [Pa]
    Returns:
        factor [1]; at least 4 is asked of a pipe, since its working pressure is burst/4
    Valid: gauge pressures.
    Raises:
        DomainError: a pressure that isn't above 0
    [Source: sae-j1065]
    Example:
        >>> round(factor_of_safety(12544.0, 2200.0), 1)
        5.7
    """
    positive(burst_pa=burst_pa, pressure_pa=pressure_pa)
    return burst_pa / pressure_pa


def _check_pipe(outer_diameter: float, wall: float) -> None:
    positive(outer_diameter_m=outer_diameter, wall_m=wall)
    if 2.0 * wall >= outer_diameter:
        raise DomainError(f"wall_m is {wall:g}: a pipe of diameter {outer_diameter:g} m would be solid")
