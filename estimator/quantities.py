"""Quantities, and the units the program shows.

A quantity keeps the number and unit that were written, and the factor and offset that lead to SI:
`si = value * factor + offset`. Parsing what people write takes pint (`written_quantities.py`); everything after that,
reading a workbook back included, needs only these two numbers.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

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
    "s": Unit("time", 1.0, decimals=0),
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

# Spellings that people use beside the ones that the program shows.
_ALIASES = {"degC": "°C", "degF": "°F", "deg": "°", "degrees": "°", "rev/min": "rpm", "a": "years", "year": "years"}
_IN_TEXT = re.compile(r"\b([0-9]+(?:\.[0-9]+)?) (mph|lbf|mm|psi|°C|N·m)(?![\w/·²])")


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


def twelve_digits(x: float) -> float:
    """Return a number as workbooks hold it: to twelve significant digits.

    >>> twelve_digits(0.1 + 0.2)
    0.3
    """
    return float(f"{x:.12g}")


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


def text_in_units(text: str, units: Mapping[str, str]) -> str:
    """A text whose quantities are brought to the unit of their kind, to whole numbers from 10 on, else to two digits.

    >>> text_in_units("125 lbf on the pedal, from 20 mph, 10 mm off", {"force": "N", "speed": "km/h", "length": "in"})
    '556 N on the pedal, from 32 km/h, 0.39 in off'
    """

    def brought(found: re.Match[str]) -> str:
        unit = units.get(UNITS[found[2]].kind, found[2])
        if unit == found[2]:
            return found[0]
        value = from_si(to_si(float(found[1]), found[2]), unit)
        return f"{value:,.0f} {unit}" if abs(value) >= 10 else f"{value:.2g} {unit}"

    return _IN_TEXT.sub(brought, text)


def to_si(value: float, unit: str) -> float:
    """A number in one of the shown units, in SI."""
    known = UNITS[unit]
    return value * known.factor + known.offset


def from_si(si: float, unit: str) -> float:
    """An SI number in one of the shown units."""
    known = UNITS[unit]
    return (si - known.offset) / known.factor
