"""Quantities as people write them, and the units the program shows.

A quantity keeps the number and unit that were written, and the factor and offset that lead to SI:
`si = value * factor + offset`. Parsing what people write takes pint; everything after that, reading a workbook back
included, needs only these two numbers.
"""

from __future__ import annotations

import functools
import math
import re
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel, ConfigDict

PSI = 0.45359237 * 9.80665 / 0.0254**2
INCH = 0.0254


@dataclass(frozen=True)
class Unit:
    """A unit the program shows: `si = value * factor + offset`; `decimals` is how finely it is printed."""

    kind: str
    factor: float
    offset: float = 0.0
    decimals: int = 2

    @property
    def step(self) -> float:
        """The least step that it is printed in."""
        return float(10**-self.decimals)


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
    "years": Unit("time", 365.25 * 86400, decimals=1),
    "N": Unit("force", 1.0, decimals=0),
    "lbf": Unit("force", 4.4482216152605, decimals=1),
    "kg": Unit("mass", 1.0, decimals=1),
    "lb": Unit("mass", 0.45359237, decimals=0),
    "N·m": Unit("torque", 1.0, decimals=0),
    "ft·lbf": Unit("torque", 1.3558179483314004, decimals=0),
    "J": Unit("energy", 1.0, decimals=0),
    "kJ": Unit("energy", 1e3, decimals=1),
    "J/(kg·K)": Unit("specific heat", 1.0, decimals=0),
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
# Spellings that people use beside the ones that the program shows.
_ALIASES = {"degC": "°C", "degF": "°F", "deg": "°", "degrees": "°", "rev/min": "rpm", "a": "years", "year": "years"}
_QUANTITY = re.compile(r"^\s*([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)\s*(.*?)\s*$")


class Quantity(BaseModel):
    """A number with its unit as written, and the way to SI. `si = value * factor + offset`."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    value: float
    unit: str
    factor: float
    offset: float = 0.0

    @property
    def si(self) -> float:
        return self.value * self.factor + self.offset

    def __str__(self) -> str:
        return f"{self.value:.12g}{after_number(self.unit)}"

    @classmethod
    def of(cls, value: float, unit: str) -> Quantity:
        """A quantity in one of the units that the program shows."""
        known = UNITS[unit]
        return cls(value=value, unit=unit, factor=known.factor, offset=known.offset)


_IN_SI = {unit.kind: name for name, unit in UNITS.items() if (unit.factor, unit.offset) == (1.0, 0.0)}
_IN_SI |= {"angle": "rad", "rotation": "1/s", "volume per length": "m²"}


def shown_name(unit: str) -> str:
    """The unit that the program shows for a spelling of it.

    >>> shown_name("degC"), shown_name("a"), shown_name("psi")
    ('°C', 'years', 'psi')
    """
    return _ALIASES.get(unit, unit)


def after_number(unit: str) -> str:
    """A unit as it stands after its number.

    >>> after_number("psi"), after_number("%"), after_number("count")
    (' psi', '%', '')
    """
    return {"%": "%", "°": "°", "1": "", "count": ""}.get(unit, f" {unit}")


def si_unit(unit: str) -> str:
    """The SI unit in which what is shown in a unit is kept.

    >>> si_unit("psi"), si_unit("mL"), si_unit("°")
    ('Pa', 'm³', 'rad')
    """
    return _IN_SI[UNITS[unit].kind]


def inward(si: float, unit: str, side: str) -> float:
    """A limit in SI as it is printed in a unit: never laxer than it is. side: "low" or "high".

    >>> inward(to_si(797.1, "psi"), "psi", "low"), inward(to_si(1057.6, "psi"), "psi", "high")
    (798.0, 1057.0)
    >>> inward(to_si(3.0, "mm"), "mm", "low")
    3.0
    """
    steps = 10.0 ** UNITS[unit].decimals
    exact = round(from_si(si, unit) * steps, 6)
    return float(math.ceil(exact) if side == "low" else math.floor(exact)) / steps


def printed(value: float, unit: str, more: int = 0) -> str:
    """A number as finely as its unit is shown and `more` decimals beyond, thousands apart, without zeros at its end.

    >>> printed(1057.6, "psi"), printed(2.0, "mm"), printed(-0.2, "psi")
    ('1,058', '2', '0')
    """
    text = f"{value:,.{UNITS[unit].decimals + more}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return text.removeprefix("-") if not text.strip("-0.,") else text


def limits_in_words(low: float | str, high: float | str, unit: str) -> str:
    """Limits in SI, words where there is none, as they are printed without their unit; "" where there is neither.

    >>> limits_in_words(to_si(797.1, "psi"), to_si(1057.6, "psi"), "psi"), limits_in_words("", 0.00301, "mm")
    ('798 to 1,057', 'at most 3.01')
    """
    said = [
        "" if isinstance(si, str) else printed(inward(si, unit, side), unit)
        for side, si in (("low", low), ("high", high))
    ]
    if all(said):
        return " to ".join(said)
    return f"at least {said[0]}" if said[0] else f"at most {said[1]}" if said[1] else ""


def to_si(value: float, unit: str) -> float:
    """A number in one of the shown units, in SI."""
    known = UNITS[unit]
    return value * known.factor + known.offset


def from_si(si: float, unit: str) -> float:
    """An SI number in one of the shown units."""
    known = UNITS[unit]
    return (si - known.offset) / known.factor


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
