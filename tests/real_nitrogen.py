"""Real nitrogen, as the judge of the accumulator formulas: CoolProp's equation of state (Span and others 2000).

Pressures in pascal (absolute), temperatures in kelvin.
"""

from functools import cache

from CoolProp.CoolProp import PropsSI

PSI = 6894.757293168


@cache
def density(pressure_pa, temperature_k):
    return PropsSI("D", "P", pressure_pa, "T", temperature_k, "Nitrogen")


@cache
def pressure(density_kg_m3, temperature_k):
    return PropsSI("P", "D", density_kg_m3, "T", temperature_k, "Nitrogen")


@cache
def density_after(pressure_pa, start_pressure_pa, start_temperature_k):
    """Density at a pressure reached without heat exchange from a settled state."""
    entropy = PropsSI("S", "P", start_pressure_pa, "T", start_temperature_k, "Nitrogen")
    return PropsSI("D", "P", pressure_pa, "S", entropy, "Nitrogen")


def pressure_after(density_kg_m3, start_pressure_pa, start_temperature_k):
    """Pressure at a density reached without heat exchange from a settled state."""
    entropy = PropsSI("S", "P", start_pressure_pa, "T", start_temperature_k, "Nitrogen")
    return PropsSI("P", "D", density_kg_m3, "S", entropy, "Nitrogen")


def fast_volume(volume_m3, precharge_pa, lower_pa, upper_pa, temperature_k):
    """What a settled charge gives without heat exchange."""
    mass = volume_m3 * density(precharge_pa, temperature_k)
    charged = mass / density(upper_pa, temperature_k)
    return min(volume_m3, mass / density_after(lower_pa, upper_pa, temperature_k)) - charged


def slow_volume(volume_m3, precharge_pa, lower_pa, upper_pa, temperature_k):
    """What a charge gives at one temperature."""
    mass = volume_m3 * density(precharge_pa, temperature_k)
    charged = mass / density(upper_pa, temperature_k)
    return min(volume_m3, mass / density(lower_pa, temperature_k)) - charged


def settled_after_top_up(lower_pa, upper_pa, temperature_k):
    """To what a quick top-up falls back as the gas cools."""
    return pressure(density_after(upper_pa, lower_pa, temperature_k), temperature_k)
