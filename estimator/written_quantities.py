"""Quantities as people write them: parsed with pint, refused in words."""

from __future__ import annotations

import functools
import math
import re
from typing import Any

from estimator.quantities import UNITS, Quantity, shown_name

# Each kind: the SI unit in which it is kept, as pint spells it, and an example for the messages.
_KINDS = {
    "pressure": ("pascal", '"2050 psi" or "141 bar"'),
    "length": ("meter", '"25.4 mm" or "1 in"'),
    "volume": ("meter ** 3", '"0.75 L" or "46 in^3"'),
    "temperature": ("kelvin", '"20 °C" or "68 °F"'),
    "time": ("second", '"30 min" or "20 s"'),
    "force": ("newton", '"500 N" or "125 lbf"'),
    "mass": ("kilogram", '"1650 kg" or "3640 lb"'),
    "torque": ("newton * meter", '"90 N·m" or "66 ft·lbf"'),
    "energy": ("joule", '"640 kJ"'),
    "specific heat": ("joule / kilogram / kelvin", '"450 J/(kg·K)"'),
    "angle": ("radian", '"18°" or "18 deg"'),
    "rotation": ("1 / second", '"800 rpm"'),
    "speed": ("meter / second", '"20 mph" or "32 km/h"'),
    "acceleration": ("meter / second ** 2", '"2.44 m/s²"'),
    "area": ("meter ** 2", '"12.5 cm^2"'),
    "flow": ("meter ** 3 / second", '"6 mL/s"'),
    "volume per length": ("meter ** 2", '"1.4 mL/m" or "0.42 cm^3/ft"'),
    "compressibility": ("1 / pascal", '"0.0000000005 1/Pa"'),
    "ratio": ("", '"85%" or "0.85"'),
    "count": ("", '"6"'),
}
_QUANTITY = re.compile(r"^\s*([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)\s*(.*?)\s*$")


def parse_quantity(text: str, kind: str) -> Quantity:
    """What a person wrote, as a quantity of the kind asked for.

    Raises ValueError with a sentence that says what was found, what is allowed, and an example.

    >>> round(parse_quantity("2200 psi", "pressure").si)
    15168466
    """
    value, unit = _number_and_unit(text, wanted(kind))
    if not unit and kind in ("ratio", "count"):
        return Quantity.of(value, "1" if kind == "ratio" else "count")
    if not unit:
        raise ValueError(f'"{text}" has no unit; {wanted(kind)}')
    _refuse_unknown(unit, text, wanted(kind))
    if not unit_is(unit, kind):
        raise ValueError(f'"{text}" is not {_article(kind)}; {wanted(kind)}')
    return _quantity(value, unit, kind)


def parse_any_quantity(text: str) -> Quantity:
    """What a person wrote, of whatever kind its unit tells; a number without a unit is a ratio or a count.

    Raises ValueError in words, as `parse_quantity` does.

    >>> str(parse_any_quantity("1.5 in"))
    '1.5 in'
    """
    any_kind = 'enter a number with its unit, for example "2050 psi", "1.5 mm", "18°" or "4"'
    value, unit = _number_and_unit(text, any_kind)
    if not unit:
        return Quantity.of(value, "1")
    _refuse_unknown(unit, text, any_kind)
    kind = next((kind for kind in _KINDS if unit_is(unit, kind)), None)
    if kind is None:
        raise ValueError(f'"{text}" is no kind of quantity that is used here; {any_kind}')
    return _quantity(value, unit, kind)


def unit_is(unit: str, kind: str) -> bool:
    """Whether a unit measures this kind of quantity. A bare number ("1") may be a ratio or a count.

    >>> unit_is("psi", "pressure"), unit_is("psi", "length"), unit_is("1", "count")
    (True, False, True)
    """
    if unit in UNITS:
        return UNITS[unit].kind == kind or (unit == "1" and kind == "count")
    parsed = _parse_unit(unit)
    if parsed is None:
        return False
    registry = _registry()
    if parsed.dimensionality != registry.get_dimensionality(_KINDS[kind][0]):
        return False
    # Angles, ratios and counts have no dimension: they are told apart by what pint takes them back to.
    root = registry.get_base_units(parsed, check_nonmult=False)[1]
    roots = {"angle": registry.radian, "ratio": registry.dimensionless, "count": registry.count}
    return bool(root == roots.get(kind, root))


def wanted(kind: str) -> str:
    """What a message asks of a person where a quantity of this kind belongs."""
    return f"enter {_article(kind)}, for example {_KINDS[kind][1]}"


def _article(kind: str) -> str:
    return f"{'an' if kind[0] in 'aeiou' else 'a'} {kind}"


def _number_and_unit(text: str, wanted: str) -> tuple[float, str]:
    if re.search(r"\d,\d", text):
        raise ValueError(f'"{text[:60]}" has a comma in its number; write the decimal point as a point; {wanted}')
    match = _QUANTITY.match(text)
    if match is None or len(text) > 60:
        raise ValueError(f'"{text[:60]}" is not a number with a unit; {wanted}')
    value = float(match[1])
    if not math.isfinite(value):
        raise ValueError(f'"{text}" is too large to be true; {wanted}')
    return value, shown_name(match[2])


def _quantity(value: float, unit: str, kind: str) -> Quantity:
    if unit in UNITS:
        return Quantity.of(value, unit)
    parsed, si, registry = _parse_unit(unit), _KINDS[kind][0], _registry()
    if kind == "rotation" and "radian" in str(registry.get_base_units(parsed)[1]):
        si = "revolution / second"
    zero, one = (float(registry.Quantity(number, parsed).to(si).magnitude) for number in (0.0, 1.0))
    return Quantity(value=value, unit=unit, factor=one - zero, offset=zero)


def _refuse_unknown(unit: str, text: str, wanted: str) -> None:
    if unit not in UNITS and _parse_unit(unit) is None:
        meant = next((name for name in UNITS if name.casefold() == unit.casefold()), "")
        hint = f' (did you mean "{meant}"?)' if meant else ""
        raise ValueError(f'"{text}": "{unit}" is not a known unit{hint}; {wanted}')


@functools.cache
def _registry() -> Any:
    import pint

    return pint.UnitRegistry(cache_folder=":auto:", autoconvert_offset_to_baseunit=True)


@functools.lru_cache(maxsize=512)
def _parse_unit(unit: str) -> Any:
    """A unit as pint understands it; None where it doesn't, or where it is a difference of temperatures."""
    if "delta" in unit:
        return None
    spelled = unit.replace("·", "*").replace("²", "**2").replace("³", "**3").replace("°", "deg").replace("%", "percent")
    try:
        return _registry().Unit(spelled)
    except Exception:  # pint raises many kinds, down to tokenizer errors
        return None
