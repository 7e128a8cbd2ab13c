"""Uncertainty of readings and decisions near a limit. All numbers of one call are in one unit, whichever it is.

A reading is within a limit only if it is better than the limit by its expanded uncertainty U, outside only if it is
worse by U, and between the two too close to call.
"""

from __future__ import annotations

import math

from estimator.errors import DomainError
from estimator.hydraulics.domain import finite, not_negative, positive, within

COVERAGE_FACTOR = 2.0
WITHIN_LIMIT = "within limit"
TOO_CLOSE = "too close to call"
OUTSIDE_LIMIT = "outside limit"


def gauge_uncertainty(accuracy_class: float, span: float) -> float:
    """The standard uncertainty that a gauge's class leaves, anywhere on its scale.

    a = class x span
    u = a/√3

    Args:
        accuracy_class: greatest error as a share of the span, 0.016 for class 1.6 [1]
        span: of the scale [unit of the reading]
    Returns:
        standard uncertainty [unit of the reading]
    Valid: within the calibration date, near 20 °C, steady pressure, for a rectangular distribution.
    Raises:
        DomainError: a class outside 0 to 0.1, a span that isn't above 0
    [Source: jcgm-100]
    Example:
        >>> round(gauge_uncertainty(0.016, 4000.0), 2)  # psi
        36.95
    """
    within(0.0, 0.1, "a class of 10 % is no gauge", accuracy_class=accuracy_class)
    positive(span=span)
    return accuracy_class * span / math.sqrt(3.0)


def resolution_uncertainty(resolution: float) -> float:
    """The standard uncertainty that the finest step read leaves.

    a = step/2
    u = a/√3

    Args:
        resolution: finest step that is read [unit of the reading]
    Returns:
        standard uncertainty [unit of the reading]
    Valid: a rectangular distribution over one step.
    Raises:
        DomainError: a negative step
    [Source: jcgm-100]
    Example:
        >>> round(resolution_uncertainty(50.0), 2)
        14.43
    """
    not_negative(resolution=resolution)
    return resolution / 2.0 / math.sqrt(3.0)


def combined_uncertainty(*standard_uncertainties: float) -> float:
    """Independent standard uncertainties together.

    u = √(u1² + u2² + …)

    Args:
        standard_uncertainties: each one [unit of the reading]
    Returns:
        standard uncertainty [unit of the reading]
    Valid: independent contributions, each with a sensitivity of 1.
    Raises:
        DomainError: a negative one, or none at all
    [Source: jcgm-100]
    Example:
        >>> combined_uncertainty(3.0, 4.0)
        5.0
    """
    if not standard_uncertainties:
        raise DomainError("no uncertainty was given: an unknown one isn't 0")
    for number, value in enumerate(standard_uncertainties, start=1):
        not_negative(**{f"uncertainty {number}": value})
    return math.sqrt(math.fsum(value * value for value in standard_uncertainties))


def expanded_uncertainty(standard_uncertainty: float) -> float:
    """The expanded uncertainty, which is also the guard band.

    U = 2 u

    Args:
        standard_uncertainty: u [unit of the reading]
    Returns:
        U [unit of the reading]
    Valid: about 95 % of readings when one contribution doesn't outweigh all others.
    Raises:
        DomainError: a negative uncertainty
    [Source: ilac-g8]
    Example:
        >>> expanded_uncertainty(20.0)
        40.0
    """
    not_negative(standard_uncertainty=standard_uncertainty)
    return COVERAGE_FACTOR * standard_uncertainty


def temperature_uncertainty(pressure_pa: float, temperature_k: float, temperature_uncertainty_k: float) -> float:
    """What the uncertainty of a gas temperature adds to that of a pressure carried to another temperature.

    u_p = p u_T/T

    Args:
        pressure_pa: absolute, p [Pa]
        temperature_k: measured gas temperature, T [K]
        temperature_uncertainty_k: standard uncertainty of it, u_T: a difference [ΔK]
    Returns:
        standard uncertainty of the pressure [Pa]
    Valid: the gas law (gas.precharge_at_temperature).
    Raises:
        DomainError: a pressure or temperature that isn't above 0, a negative uncertainty
    [Source: jcgm-100]
    Example:
        >>> round(temperature_uncertainty(7e6, 293.15, 2.0))
        47757
    """
    positive(pressure_pa=pressure_pa, temperature_k=temperature_k)
    not_negative(temperature_uncertainty_k=temperature_uncertainty_k)
    return pressure_pa * temperature_uncertainty_k / temperature_k


def guard_band_verdict(reading: float, lower: float | None, upper: float | None, expanded: float) -> str:
    """The words for a reading against one limit or two.

    margin = min(upper - reading, reading - lower), of the limits given
    within limit when margin ≥ U; outside limit when margin ≤ -U; too close to call between
    (a hair of 1e-12 of the largest number is forgiven, so that 0.1 + 0.2 never decides)

    Args:
        reading: the measured value [unit of the reading]
        lower: lower limit, or None [unit of the reading]
        upper: upper limit, or None [unit of the reading]
        expanded: U [unit of the reading]; 0 for a plain comparison
    Returns:
        within limit, too close to call, or outside limit
    Valid: too close to call counts as a fault until it is measured again or better. With U = 2 u at most 2.28 % of
        readings called within limit come from values beyond a one-sided limit.
    Raises:
        DomainError: no limit; a lower limit above the upper; a negative U; anything that isn't a number
    [Source: ilac-g8]
    Example:
        >>> guard_band_verdict(2150.0, None, 2200.0, 40.0), guard_band_verdict(2230.0, None, 2200.0, 40.0)
        ('within limit', 'too close to call')
    """
    not_negative(expanded=expanded)
    limits = _check_limits(reading, lower, upper)
    margins = [reading - lower] if lower is not None else []
    margins += [upper - reading] if upper is not None else []
    size = max(abs(reading), expanded, *(abs(limit) for limit in limits))
    hair = 1e-12 * size
    margin = min(margins)
    if margin >= expanded - hair:
        return WITHIN_LIMIT
    return OUTSIDE_LIMIT if margin <= -expanded + hair else TOO_CLOSE


def conformity(reading: float, lower: float | None, upper: float | None, standard_uncertainty: float) -> float:
    """The probability that the measured quantity lies within its limits.

    p = Φ((upper - y)/u) - Φ((lower - y)/u),  Φ(z) = (1 + erf(z/√2))/2;  an absent limit is without end

    Args:
        reading: y [unit of the reading]
        lower: lower limit, or None [unit of the reading]
        upper: upper limit, or None [unit of the reading]
        standard_uncertainty: u [unit of the reading]
    Returns:
        probability [1]
    Valid: a normal distribution about the reading, nothing known before it.
    Raises:
        DomainError: no limit; a lower limit above the upper; an uncertainty that isn't above 0
    [Source: jcgm-106]
    Example:
        >>> round(conformity(-5.47, None, -5.40, 0.05), 2), round(conformity(13.6, 12.5, 16.3, 1.8), 2)
        (0.92, 0.66)
    """
    positive(standard_uncertainty=standard_uncertainty)
    _check_limits(reading, lower, upper)
    below_upper = 1.0 if upper is None else _normal((upper - reading) / standard_uncertainty)
    below_lower = 0.0 if lower is None else _normal((lower - reading) / standard_uncertainty)
    return below_upper - below_lower


def gauge_too_coarse(lower: float, upper: float, expanded: float) -> bool:
    """Whether a gauge can't find a reading within a window, however good it is.

    2 U ≥ upper - lower

    Args:
        lower: lower limit [unit of the reading]
        upper: upper limit [unit of the reading]
        expanded: U of the gauge [unit of the reading]
    Returns:
        yes or no
    Valid: two-sided limits.
    Raises:
        DomainError: a lower limit that isn't below the upper, a negative U
    [Source: ilac-g8]
    Example:
        >>> gauge_too_coarse(1750.0, 1850.0, 60.0)
        True
    """
    not_negative(expanded=expanded)
    if not lower < upper:
        raise DomainError(f"the lower limit {lower:g} must lie below the upper limit {upper:g}")
    return COVERAGE_FACTOR * expanded >= upper - lower


def _check_limits(reading: float, lower: float | None, upper: float | None) -> list[float]:
    limits = {"lower": lower, "upper": upper}
    given = {name: limit for name, limit in limits.items() if limit is not None}
    if not given:
        raise DomainError("no limit was given: a reading can't be judged against nothing")
    finite(reading=reading, **given)
    if len(given) == 2 and given["lower"] > given["upper"]:
        raise DomainError(f"the lower limit {lower:g} lies above the upper limit {upper:g}")
    return list(given.values())


def _normal(z: float) -> float:
    return math.erfc(-z / math.sqrt(2.0)) / 2.0
