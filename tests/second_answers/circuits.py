"""Which pistons each source feeds, the fluid that one application takes, and the air that a pedal betrays."""

from __future__ import annotations

from dataclasses import dataclass

from estimator.errors import DomainError
from estimator.hydraulics.domain import not_negative, positive, within
from estimator.hydraulics.gas import ATMOSPHERE_PA
from estimator.hydraulics.pedal import piston_area


@dataclass(frozen=True)
class Brake:
    """The pistons that one source feeds in one caliper.

    `piston_area_m2` is what clamps: all its pistons on one side of the disc together. `axle` is `front-axle` or
    `rear-axle`; `source` is a system's id or `pedal-circuit`.
    """

    wheel: str
    axle: str
    source: str
    piston_area_m2: float
    effective_radius_m: float
    friction: float
    behind_valve: bool = False

    def __post_init__(self) -> None:
        positive(piston_area_m2=self.piston_area_m2, effective_radius_m=self.effective_radius_m)
        within(0.0, 1.5, "no lining grips better", friction=self.friction)
        if self.axle not in ("front-axle", "rear-axle"):
            raise DomainError(f'axle is "{self.axle}": allowed is front-axle or rear-axle')


def clamping_area(bore_m: float, pistons: int, opposed: bool) -> float:
    """The area that clamps: the pistons on one side of the disc.

    A = pistons π d²/4, half of it when pistons oppose one another across the disc

    Args:
        bore_m: diameter of each piston, d [m]
        pistons: all pistons of this source in the caliper [1]
        opposed: whether half of them stand on the other side of the disc; a sliding caliper's don't
    Returns:
        area [m²]
    Valid: pistons of one bore.
    Raises:
        DomainError: a bore that isn't above 0, no piston, or an odd number of opposed ones
    [Source: definition]
    Example:
        >>> round(clamping_area(0.0381, 2, True) * 1e4, 2)
        11.4
    """
    positive(pistons=pistons)
    if opposed and pistons % 2:
        raise DomainError(f"pistons is {pistons}: opposed pistons come in pairs")
    one_side = pistons / 2.0 if opposed else float(pistons)
    return one_side * piston_area(bore_m)


def piston_displacement(bore_m: float, pistons: int, travel_m: float) -> float:
    """The fluid that the pistons of a caliper take in one application.

    V = pistons A travel

    Args:
        bore_m: diameter of each piston [m]
        pistons: all of them, on both sides of the disc [1]
        travel_m: movement of each piston [m]
    Returns:
        volume [m³]
    Valid: a travel that includes pad compression; worn knock-back or a warped disc adds to it.
    Raises:
        DomainError: a bore or number that isn't above 0, a negative travel
    [Source: definition]
    Example:
        >>> round(piston_displacement(0.0381, 4, 0.4e-3) * 1e6, 2)
        1.82
    """
    positive(pistons=pistons)
    not_negative(travel_m=travel_m)
    return pistons * piston_area(bore_m) * travel_m


def hose_swell(length_m: float, swell_m3_per_m: float) -> float:
    """The fluid that a hose takes as it swells.

    V = L s

    Args:
        length_m: free length, L [m]
        swell_m3_per_m: swell per length at the pressure applied, s [m³/m]
    Returns:
        volume [m³]
    Valid: a sound hose; an old one swells more.
    Raises:
        DomainError: a negative length or swell
    [Source: cfr-571-106]
    Example:
        >>> round(hose_swell(0.4, 1.4e-6) * 1e6, 2)
        0.56
    """
    not_negative(length_m=length_m, swell_m3_per_m=swell_m3_per_m)
    return length_m * swell_m3_per_m


def application_volume(
    displaced_m3: float, swell_m3: float, filled_m3: float, pressure_pa: float, bulk_modulus_pa: float
) -> float:
    """The fluid that one application takes from a source.

    compressed = filled p/K
    v = displaced + swell + compressed

    Args:
        displaced_m3: all pistons that the source feeds [m³]
        swell_m3: all hoses of the source [m³]
        filled_m3: volume of the lines and calipers under pressure [m³]
        pressure_pa: pressure applied, by the gauge, p [Pa]
        bulk_modulus_pa: of the fluid, K [Pa]
    Returns:
        volume [m³]
    Valid: bled circuits: a bubble adds its whole volume. Compression is linear to 5 % of K.
    Raises:
        DomainError: a negative volume or pressure, a modulus that isn't above 0, a pressure above 5 % of it
    [Source: hydraulic-handbook]
    Example:
        >>> round(application_volume(6e-6, 1e-6, 150e-6, 15e6, 1.5e9) * 1e6, 1)
        8.5
    """
    not_negative(displaced_m3=displaced_m3, swell_m3=swell_m3, filled_m3=filled_m3)
    positive(bulk_modulus_pa=bulk_modulus_pa)
    within(0.0, 0.05 * bulk_modulus_pa, "5 % of the bulk modulus", pressure_pa=pressure_pa)
    compressed = filled_m3 * pressure_pa / bulk_modulus_pa
    return displaced_m3 + swell_m3 + compressed


def trapped_air(
    travel_m: float, expected_travel_m: float, bore_m: float, pedal_ratio: float, pressure_pa: float
) -> float:
    """The air that a pedal travel longer than expected betrays.

    excess = (s - s_expected) A/i
    V_air = excess (p + p_atm)/p,  0 when the travel is no longer than expected

    Args:
        travel_m: pad travel measured at the pressure, s [m]
        expected_travel_m: for a bled circuit at that pressure, s_expected [m]
        bore_m: of the master cylinder [m]
        pedal_ratio: i [1]
        pressure_pa: gauge pressure in the pedal circuit, p [Pa]
    Returns:
        air at atmospheric pressure [m³]
    Valid: when nothing else lengthens the travel: knock-back, soft hoses and wrong pads do the same.
    Raises:
        DomainError: a negative travel; a pressure, ratio or bore that isn't above 0
    [Source: boyle]
    Example:
        >>> round(trapped_air(0.040, 0.031, 0.01905, 4.0, 5e6) * 1e6, 2)
        0.65
    """
    not_negative(travel_m=travel_m, expected_travel_m=expected_travel_m)
    positive(pedal_ratio=pedal_ratio, pressure_pa=pressure_pa)
    excess = max(0.0, travel_m - expected_travel_m) * piston_area(bore_m) / pedal_ratio
    return excess * (pressure_pa + ATMOSPHERE_PA) / pressure_pa
