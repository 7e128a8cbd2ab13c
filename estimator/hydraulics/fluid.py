"""Fluids: families that are never mixed, boiling against class, and what heat and pressure do to them."""

from __future__ import annotations

from collections.abc import Mapping

from estimator.errors import DomainError, nearest
from estimator.hydraulics.domain import not_negative, positive, rising, within

FAMILY_OF_CLASS = {
    "dot-3": "glycol",
    "dot-4": "glycol",
    "dot-5.1": "glycol",
    "dot-5": "silicone",
    "iso-7308": "mineral",
}
FAMILIES = ("glycol", "mineral", "silicone")
FOR_PUMPED_SYSTEMS = ("glycol", "mineral")


def family_of(fluid_class: str) -> str:
    """The family of a fluid's class: families are never mixed, classes of one family may be.

    dot-3, dot-4, dot-5.1: glycol; dot-5: silicone; iso-7308: mineral

    Args:
        fluid_class: one of those words
    Returns:
        glycol, mineral or silicone
    Valid: what the label says; a drop of it in water tells glycol (mixes) from mineral and silicone (they don't).
    Raises:
        DomainError: another word
    [Source: cfr-571-116]
    Example:
        >>> family_of("dot-5.1"), family_of("dot-5")
        ('glycol', 'silicone')
    """
    if fluid_class not in FAMILY_OF_CLASS:
        raise DomainError(
            f'"{fluid_class}" isn\'t a class of brake fluid known here{nearest(fluid_class, FAMILY_OF_CLASS)}: '
            f"allowed is one of {', '.join(FAMILY_OF_CLASS)}"
        )
    return FAMILY_OF_CLASS[fluid_class]


def wrong_family(system_family: str, parts: Mapping[str, str]) -> tuple[str, ...]:
    """The fluids, seals and parts whose family isn't the system's: each of them is a stop.

    wrong where family differs; a part of no family ("") fits any

    Args:
        system_family: glycol, mineral or silicone, as the car's maker says
        parts: the name of each part and the family that it is for
    Returns:
        names of the wrong ones
    Valid: a wrong fluid swells or dissolves seals made for the other family, and isn't cured by flushing.
    Raises:
        DomainError: a word that isn't a family
    [Source: iso-9128]
    Example:
        >>> wrong_family("mineral", {"pump seals": "mineral", "caliper seals": "glycol", "pipe": ""})
        ('caliper seals',)
    """
    for family in (system_family, *parts.values()):
        if family and family not in FAMILIES:
            raise DomainError(
                f'"{family}" isn\'t a family of fluid{nearest(family, FAMILIES)}: allowed is {", ".join(FAMILIES)}'
            )
    if not system_family:
        raise DomainError("the system's own family of fluid isn't given")
    return tuple(name for name, family in parts.items() if family not in ("", system_family))


def suits_pumped_system(family: str) -> bool:
    """Whether a family of fluid suits pumps, charging valves and accumulators at all.

    glycol and mineral do; the silicone type is not necessarily suitable for central or pumped systems

    Args:
        family: glycol, mineral or silicone
    Returns:
        yes or no
    Valid: a general statement; the maker's fluid wins.
    Raises:
        DomainError: a word that isn't a family
    [Source: sae-j1705]
    Example:
        >>> suits_pumped_system("silicone")
        False
    """
    if family not in FAMILIES:
        raise DomainError(
            f'"{family}" isn\'t a family of fluid{nearest(family, FAMILIES)}: allowed is {", ".join(FAMILIES)}'
        )
    return family in FOR_PUMPED_SYSTEMS


def boiling_life_left(measured_k: float, dry_k: float, wet_k: float) -> float:
    """How much of the way from dry to wet boiling point a fluid still has before it.

    left = (T - T_wet) / (T_dry - T_wet)

    Args:
        measured_k: boiling point measured, T [K]
        dry_k: least dry boiling point of its class, T_dry [K]
        wet_k: least wet boiling point of its class, T_wet [K]
    Returns:
        share [1]: 1 or more as new, 0 at the wet boiling point, below 0 past it
    Valid: glycol fluids. Mineral fluid takes up no water: look for drops and cloud instead.
    Raises:
        DomainError: a dry boiling point that isn't above the wet one
    [Source: cfr-571-116]
    Example:
        >>> round(boiling_life_left(463.15, 503.15, 428.15), 3)  # 190 °C, DOT 4
        0.467
    """
    positive(measured_k=measured_k, wet_k=wet_k)
    rising("a fluid boils lower when it has taken up water", wet_k=wet_k, dry_k=dry_k)
    return (measured_k - wet_k) / (dry_k - wet_k)


def compression(pressure_pa: float, bulk_modulus_pa: float) -> float:
    """By what share of its volume a fluid gives way under pressure.

    share = p/K

    Args:
        pressure_pa: gauge pressure, p [Pa]
        bulk_modulus_pa: K [Pa]
    Returns:
        share of the volume [1]
    Valid: linear to 5 % of K; a fluid with bubbles gives way far more.
    Raises:
        DomainError: a pressure outside 0 to 5 % of the modulus
    [Source: hydraulic-handbook]
    Example:
        >>> compression(3000.0, 3.0e5)
        0.01
    """
    positive(bulk_modulus_pa=bulk_modulus_pa)
    within(0.0, 0.05 * bulk_modulus_pa, "5 % of the bulk modulus", pressure_pa=pressure_pa)
    return pressure_pa / bulk_modulus_pa


def confined_rise(expansion_per_k: float, warming_k: float, bulk_modulus_pa: float) -> float:
    """The pressure that a fluid builds up when it is warmed with nowhere to go: a blocked return, a stuck valve.

    Δp = α ΔT K

    Args:
        expansion_per_k: volume expansion, α [1/K]
        warming_k: rise of temperature, ΔT: a difference [ΔK]
        bulk_modulus_pa: K [Pa]
    Returns:
        rise of pressure [Pa]
    Valid: rigid walls: real lines and seals give way, so that it is an upper bound.
    Raises:
        DomainError: a negative expansion or warming, a modulus that isn't above 0
    [Source: hydraulic-handbook]
    Example:
        >>> round(confined_rise(4.6e-4, 50.0, 3.0e5))  # per °F, °F and psi
        6900
    """
    positive(bulk_modulus_pa=bulk_modulus_pa)
    not_negative(expansion_per_k=expansion_per_k, warming_k=warming_k)
    return expansion_per_k * warming_k * bulk_modulus_pa
