"""The kinds of field that records are made of. Each takes what a person wrote ("2050 psi") and what a record holds
(value, unit, factor, offset); each refuses in words."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal, InvalidOperation
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints

from estimator.quantities import UNITS, Quantity, shown_name
from estimator.written_quantities import parse_any_quantity, parse_quantity, unit_is, wanted

EntryValue = str | float | dt.date
UNKNOWN_FAMILY = "not known"
Family = Literal["glycol", "mineral", "silicone", "not known"]
PartFamily = Literal["glycol", "mineral", "silicone", "any"]
Condition = Literal["new", "rebuilt", "used"]
Wheel = Literal["front-left", "front-right", "rear-left", "rear-right"]
PlaceKind = Literal["car", "axle", "wheel", "caliper", "system", "pedal-circuit", "accumulator"]
TaxClass = Literal["labor", "parts", "supplies", "disposal", "sublet", "core"]


class Model(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)


def read_quantity(value: Any, kind: str | None) -> Any:
    """A quantity from what a person wrote or a record holds; of any kind where `kind` is None. Raises ValueError."""
    if isinstance(value, Quantity):
        return value
    if isinstance(value, dict) and {"value", "unit", "factor"} <= set(value):
        quantity = Quantity.model_validate(value)
        known = UNITS.get(quantity.unit)
        if known and (known.factor, known.offset) != (quantity.factor, quantity.offset):
            raise ValueError(f"the way from {quantity.unit} to SI is not the one used here")
        if known and kind and not unit_is(quantity.unit, kind):
            raise ValueError(f'"{quantity}" is not a quantity of the kind {kind}')
        return quantity
    if isinstance(value, bool) or not isinstance(value, str | int | float | Decimal):
        raise ValueError('write it as a text in quotes with its unit, for example "2050 psi"')
    return parse_any_quantity(str(value)) if kind is None else parse_quantity(str(value), kind)


def quantity_of(kind: str, low: str | None = None, high: str | None = None) -> tuple[Any, ...]:
    """What makes a field take quantities of one kind, whose value lies between two written ones."""
    least, most = (None if text is None else parse_quantity(text, kind) for text in (low, high))

    def check(quantity: Quantity) -> Quantity:
        slack = 1e-9 * abs(quantity.si)
        if least is not None and quantity.si < least.si - slack:
            raise ValueError(f'"{quantity}" is too small to be true; the minimum is {least}')
        if most is not None and quantity.si > most.si + slack:
            raise ValueError(f'"{quantity}" is too large to be true; the maximum is {most}')
        return quantity

    before = BeforeValidator(lambda value: read_quantity(value, kind))
    return before, AfterValidator(check), Field(description=wanted(kind))


def _decimal(value: Any) -> Decimal:
    if isinstance(value, bool) or not isinstance(value, str | int | float | Decimal):
        raise ValueError("enter a decimal number, for example 118.00")
    text = str(value)
    if "," in text:
        raise ValueError(f'"{text}" has a comma in its number; write the decimal point as a point, for example 118.00')
    try:
        number = Decimal(text)
    except InvalidOperation:
        raise ValueError(f'"{text}" is not a number; write for example 118.00') from None
    if not number.is_finite():
        raise ValueError(f'"{text}" is not a number; write for example 118.00')
    return number


def amount_of(low: str, high: str) -> tuple[Any, ...]:
    """What makes a field take decimal numbers between two."""

    def check(number: Decimal) -> Decimal:
        if not Decimal(low) <= number <= Decimal(high):
            raise ValueError(f"{number} is out of range; allowed: {low} to {high}")
        return number

    described = Field(description=f"enter a decimal number from {low} to {high}, for example 18.50")
    return BeforeValidator(_decimal), AfterValidator(check), described


def shown_unit(kind: str) -> tuple[Any, ...]:
    """What makes a field take the name of a unit in which this kind is shown."""
    allowed = [name for name, unit in UNITS.items() if unit.kind == kind]

    def check(name: str) -> str:
        if name not in allowed:
            raise ValueError(f'"{name}" can\'t be shown as a unit of {kind}; allowed: {", ".join(allowed)}')
        return name

    return AfterValidator(shown_name), AfterValidator(check)


def plain_text(text: str) -> str:
    """The text, which holds no control character; line breaks and tabs may stand. Raises ValueError."""
    if any((ord(letter) < 32 and letter not in "\n\t") or letter in "\x7f\ufffe\uffff" for letter in text):
        raise ValueError("the text holds a control character; write it without")
    return text


def _day(value: Any) -> Any:
    if isinstance(value, str):
        try:
            value = dt.date.fromisoformat(value)
        except ValueError:
            raise ValueError(f'"{value}" is not a date; write it as 2026-11-25') from None
    if isinstance(value, dt.datetime) or not isinstance(value, dt.date):
        raise ValueError("enter a date as 2026-11-25")
    if not 1900 <= value.year <= 2100:
        raise ValueError(f"{value} is too far from today to be true; allowed: years 1900 to 2100")
    return value


Day = Annotated[dt.date, BeforeValidator(_day), Field(description="enter a date as 2026-11-25")]
YesNo = Annotated[bool, Field(strict=True, description="enter true or false, without quotes")]
ID_PATTERN = r"^[a-z][a-z0-9]*(-[a-z0-9]+)*$"
OPTIONAL_ID_PATTERN = r"^([a-z][a-z0-9]*(-[a-z0-9]+)*)?$"
DOCUMENT_PATTERN = r"^[A-Za-z0-9][A-Za-z0-9-]*$"
COUNTRY_PATTERN = r"^[A-Z]{2}$"
CURRENCY_PATTERN = r"^[A-Z]{3}$"
Id = Annotated[str, StringConstraints(pattern=ID_PATTERN, max_length=48)]
OptionalId = Annotated[str, StringConstraints(pattern=OPTIONAL_ID_PATTERN, max_length=48)]
DocumentNumber = Annotated[str, StringConstraints(pattern=DOCUMENT_PATTERN, max_length=32)]
Country = Annotated[str, StringConstraints(pattern=COUNTRY_PATTERN)]
Currency = Annotated[str, StringConstraints(pattern=CURRENCY_PATTERN)]
Text = Annotated[str, StringConstraints(max_length=2000, strip_whitespace=True), AfterValidator(plain_text)]
Words = Annotated[
    str, StringConstraints(min_length=1, max_length=2000, strip_whitespace=True), AfterValidator(plain_text)
]
Money = Annotated[Decimal, *amount_of("0", "1000000")]
Percent = Annotated[Decimal, *amount_of("0", "1000")]
AccuracyClass = Annotated[Decimal, *amount_of("0", "10")]
Pieces = Annotated[Decimal, *amount_of("0.01", "1000")]
Count = Annotated[int, Field(ge=1, le=16, strict=True)]
AnyQuantity = Annotated[Quantity, BeforeValidator(lambda value: read_quantity(value, None))]
Pressure = Annotated[Quantity, *quantity_of("pressure", "0.1 bar", "700 bar")]
Burst = Annotated[Quantity, *quantity_of("pressure", "10 bar", "3000 bar")]
Strength = Annotated[Quantity, *quantity_of("pressure", "500 bar", "20000 bar")]
BulkModulus = Annotated[Quantity, *quantity_of("pressure", "1000 bar", "40000 bar")]
Bore = Annotated[Quantity, *quantity_of("length", "1 mm", "200 mm")]
Wheelbase = Annotated[Quantity, *quantity_of("length", "1 m", "6 m")]
Height = Annotated[Quantity, *quantity_of("length", "0.1 m", "2 m")]
TireRadius = Annotated[Quantity, *quantity_of("length", "0.15 m", "0.8 m")]
BrakeRadius = Annotated[Quantity, *quantity_of("length", "20 mm", "400 mm")]
PedalTravel = Annotated[Quantity, *quantity_of("length", "5 mm", "400 mm")]
Travel = Annotated[Quantity, *quantity_of("length", "0.001 mm", "10 mm")]
LineLength = Annotated[Quantity, *quantity_of("length", "10 mm", "10 m")]
Wall = Annotated[Quantity, *quantity_of("length", "0.1 mm", "10 mm")]
Driven = Annotated[Quantity, *quantity_of("length", "1 km", "2000000 km")]
Thickness = Annotated[Quantity, *quantity_of("length", "0.5 mm", "80 mm")]
Volume = Annotated[Quantity, *quantity_of("volume", "10 mL", "50 L")]
Displacement = Annotated[Quantity, *quantity_of("volume", "0.01 mL", "100 mL")]
Temperature = Annotated[Quantity, *quantity_of("temperature", "-40 °C", "150 °C")]
Mass = Annotated[Quantity, *quantity_of("mass", "300 kg", "10000 kg")]
RotorMass = Annotated[Quantity, *quantity_of("mass", "0.5 kg", "60 kg")]
Force = Annotated[Quantity, *quantity_of("force", "10 N", "3000 N")]
PedalRatio = Annotated[Quantity, *quantity_of("ratio", "1", "15")]
DriveRatio = Annotated[Quantity, *quantity_of("ratio", "0.05", "10")]
Friction = Annotated[Quantity, *quantity_of("ratio", "0.05", "0.9")]
Efficiency = Annotated[Quantity, *quantity_of("ratio", "0.1", "1")]
FrontShare = Annotated[Quantity, *quantity_of("ratio", "0.2", "0.8")]
Share = Annotated[Quantity, *quantity_of("ratio", "0", "1")]
FloorShare = Annotated[Quantity, *quantity_of("ratio", "50%", "100%")]
Angle = Annotated[Quantity, *quantity_of("angle", "0 °", "60 °")]
Speed = Annotated[Quantity, *quantity_of("rotation", "100 rpm", "6000 rpm")]
SettlingTime = Annotated[Quantity, *quantity_of("time", "1 s", "36000 s")]
Age = Annotated[Quantity, *quantity_of("time", "0 years", "50 years")]
Swell = Annotated[Quantity, *quantity_of("volume per length", "0 mL/m", "50 mL/m")]
Flow = Annotated[Quantity, *quantity_of("flow", "0 mL/s", "1000 mL/s")]
