"""Quantities as people write them, and the units the program shows.

A quantity keeps the number and unit that were written, and the factor and offset that lead to SI:
`si = value * factor + offset`. Parsing what people write takes pint; everything after that, reading a workbook back
included, needs only these two numbers.
"""

from __future__ import annotations

import functools
import re
from dataclasses import dataclass

from pydantic import BaseModel, ConfigDict

PSI = 0.45359237 * 9.80665 / 0.0254**2
STANDARD_ATMOSPHERE_PA = 101_325.0
INCH = 0.0254


@dataclass(frozen=True)
class Unit:
    """A unit the program shows: `si = value * factor + offset`; `decimals` is how finely it is printed."""

    kind: str
    factor: float
    offset: float = 0.0
    decimals: int = 2


UNITS: dict[str, Unit] = {
    "psi": Unit("pressure", PSI, decimals=0),
    "kPa": Unit("pressure", 1e3, decimals=0),
    "bar": Unit("pressure", 1e5, decimals=1),
    "MPa": Unit("pressure", 1e6, decimals=2),
    "Pa": Unit("pressure", 1.0, decimals=0),
    "in": Unit("length", INCH, decimals=3),
    "mm": Unit("length", 1e-3, decimals=2),
    "m": Unit("length", 1.0, decimals=3),
    "ft": Unit("length", 0.3048, decimals=1),
    "mi": Unit("length", 1609.344, decimals=0),
    "km": Unit("length", 1e3, decimals=0),
    "mL": Unit("volume", 1e-6, decimals=1),
    "L": Unit("volume", 1e-3, decimals=3),
    "m³": Unit("volume", 1.0, decimals=6),
    "°C": Unit("temperature", 1.0, 273.15, decimals=1),
    "°F": Unit("temperature", 5 / 9, 273.15 - 32 * 5 / 9, decimals=1),
    "K": Unit("temperature", 1.0, decimals=1),
    "s": Unit("time", 1.0, decimals=1),
    "min": Unit("time", 60.0, decimals=1),
    "a": Unit("time", 365.25 * 86400, decimals=1),
    "N": Unit("force", 1.0, decimals=0),
    "lbf": Unit("force", 4.4482216152605, decimals=1),
    "kg": Unit("mass", 1.0, decimals=0),
    "lb": Unit("mass", 0.45359237, decimals=0),
    "N·m": Unit("torque", 1.0, decimals=0),
    "ft·lbf": Unit("torque", 1.3558179483314004, decimals=0),
    "°": Unit("angle", 0.017453292519943295, decimals=1),
    "rpm": Unit("rotation", 1 / 60, decimals=0),
    "mph": Unit("speed", 0.44704, decimals=1),
    "km/h": Unit("speed", 1 / 3.6, decimals=1),
    "m/s": Unit("speed", 1.0, decimals=2),
    "m/s²": Unit("acceleration", 1.0, decimals=2),
    "mm²": Unit("area", 1e-6, decimals=1),
    "m²": Unit("area", 1.0, decimals=6),
    "mL/s": Unit("flow", 1e-6, decimals=2),
    "m³/s": Unit("flow", 1.0, decimals=9),
    "mL/m": Unit("volume per length", 1e-6, decimals=2),
    "1/Pa": Unit("compressibility", 1.0, decimals=14),
    "%": Unit("ratio", 0.01, decimals=1),
    "1": Unit("ratio", 1.0, decimals=3),
    "count": Unit("count", 1.0, decimals=0),
}

# What pint calls the dimension of each kind; a kind that pint can't tell from another (ratio, angle, count) is told
# by the unit's own name.
_DIMENSIONS = {
    "pressure": "[pressure]",
    "length": "[length]",
    "volume": "[volume]",
    "temperature": "[temperature]",
    "time": "[time]",
    "force": "[force]",
    "mass": "[mass]",
    "torque": "[force] * [length]",
    "angle": "[]",
    "rotation": "1 / [time]",
    "speed": "[speed]",
    "acceleration": "[acceleration]",
    "area": "[area]",
    "flow": "[volume] / [time]",
    "volume per length": "[area]",
    "compressibility": "1 / [pressure]",
    "ratio": "[]",
    "count": "[]",
}
# The SI unit in which each kind is kept, as pint spells it.
_SI = {
    "pressure": "pascal",
    "length": "meter",
    "volume": "meter ** 3",
    "temperature": "kelvin",
    "time": "second",
    "force": "newton",
    "mass": "kilogram",
    "torque": "newton * meter",
    "angle": "radian",
    "rotation": "1 / second",
    "speed": "meter / second",
    "acceleration": "meter / second ** 2",
    "area": "meter ** 2",
    "flow": "meter ** 3 / second",
    "volume per length": "meter ** 2",
    "compressibility": "1 / pascal",
    "ratio": "",
    "count": "",
}
# An example for each kind, for the messages.
_EXAMPLES = {
    "pressure": '"2200 psi" or "152 bar"',
    "length": '"25.4 mm" or "1 in"',
    "volume": '"0.75 L" or "46 in^3"',
    "temperature": '"20 °C" or "68 °F"',
    "time": '"30 min" or "20 s"',
    "force": '"500 N" or "125 lbf"',
    "mass": '"1650 kg" or "3640 lb"',
    "torque": '"90 N·m" or "66 ft·lbf"',
    "angle": '"18°" or "18 deg"',
    "rotation": '"800 rpm"',
    "speed": '"20 mph" or "32 km/h"',
    "acceleration": '"2.44 m/s²"',
    "area": '"12.5 cm^2"',
    "flow": '"6 mL/s"',
    "volume per length": '"1.4 mL/m" or "0.42 cm^3/ft"',
    "compressibility": '"5e-10 1/Pa"',
    "ratio": '"85 %" or "0.85"',
    "count": '"6"',
}
_NUMBER = r"[+-]?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?"
_QUANTITY = re.compile(rf"^\s*({_NUMBER})\s*(.*?)\s*$")
_DECIMAL_COMMA = re.compile(r"\d,\d")


class Quantity(BaseModel):
    """A number with its unit as written, and the way to SI. `si = value * factor + offset`."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    value: float
    unit: str
    factor: float
    offset: float = 0.0

    @property
    def si(self) -> float:
        return self.value * self.factor + self.offset

    def __str__(self) -> str:
        return f"{self.value:g} {self.unit}".strip()

    @classmethod
    def of(cls, value: float, unit: str) -> Quantity:
        """A quantity in one of the units that the program shows."""
        known = UNITS[unit]
        return cls(value=value, unit=unit, factor=known.factor, offset=known.offset)


def to_si(value: float, unit: str) -> float:
    """A number in one of the shown units, in SI."""
    known = UNITS[unit]
    return value * known.factor + known.offset


def from_si(si: float, unit: str) -> float:
    """An SI number in one of the shown units."""
    known = UNITS[unit]
    return (si - known.offset) / known.factor


@functools.cache
def _registry():
    import pint

    registry = pint.UnitRegistry(cache_folder=":auto:", autoconvert_offset_to_baseunit=True)
    registry.formatter.default_format = "~"
    return registry


def parse_quantity(text: str, kind: str) -> Quantity:
    """What a person wrote, as a quantity of the kind asked for.

    Raises ValueError with a sentence that says what was found, what is allowed, and an example.

    >>> parse_quantity("2200 psi", "pressure").si
    15168466.04497...
    """
    shown = f'"{text}"'
    example = f"for example {_EXAMPLES[kind]}"
    if _DECIMAL_COMMA.search(text):
        raise ValueError(f"{shown} has a comma in its number; write the decimal point as a point, {example}")
    match = _QUANTITY.match(text)
    if match is None:
        raise ValueError(f"{shown} isn't a number with a unit; a {kind} is wanted, {example}")
    value, unit = float(match[1]), match[2]
    if unit in UNITS and UNITS[unit].kind == kind:
        return Quantity.of(value, unit)
    if not unit:
        if kind in ("ratio", "count"):
            return Quantity.of(value, "1" if kind == "ratio" else "count")
        raise ValueError(f"{shown} has no unit; a {kind} is wanted, {example}")
    factor, offset = _factor_and_offset(unit, kind, shown, example)
    return Quantity(value=value, unit=unit, factor=factor, offset=offset)


def _factor_and_offset(unit: str, kind: str, shown: str, example: str) -> tuple[float, float]:
    registry = _registry()
    spelled = unit.replace("·", "*").replace("²", "**2").replace("³", "**3").replace("°", "deg")
    spelled = {"degC": "degC", "degF": "degF", "deg": "degree", "%": "percent"}.get(spelled, spelled)
    try:
        parsed = registry.Unit(spelled)
        found = parsed.dimensionality
        wanted = registry.get_dimensionality(_DIMENSIONS[kind]) if _DIMENSIONS[kind] != "[]" else None
    except Exception:  # pint raises many kinds, down to tokenizer errors
        raise ValueError(f'{shown}: "{unit}" isn\'t a unit known here; a {kind} is wanted, {example}') from None
    if (wanted is None and found) or (wanted is not None and found != wanted):
        raise ValueError(f"{shown} isn't a {kind}: {unit} has the dimension {found}; a {kind} is wanted, {example}")
    if kind == "angle" and "deg" not in spelled and "rad" not in spelled:
        raise ValueError(f"{shown} isn't an angle; write {example}")
    si = "revolution / second" if kind == "rotation" and ("rev" in spelled or "rpm" in spelled) else _SI[kind]
    zero, one = (float(registry.Quantity(number, parsed).to(si).magnitude) for number in (0.0, 1.0))
    return one - zero, zero
