"""Quantities as people write them: every unit shown against pint, parsing there and back, kinds told apart."""

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.quantities import PSI, UNITS, Quantity, from_si, to_si
from estimator.written_quantities import parse_any_quantity, parse_quantity, unit_is

REGISTRY = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
# How pint spells each unit that the program shows, and the SI unit it is kept in.
IN_PINT = {
    "psi": ("psi", "pascal"),
    "kPa": ("kilopascal", "pascal"),
    "bar": ("bar", "pascal"),
    "MPa": ("megapascal", "pascal"),
    "Pa": ("pascal", "pascal"),
    "in": ("inch", "meter"),
    "mm": ("millimeter", "meter"),
    "m": ("meter", "meter"),
    "ft": ("foot", "meter"),
    "mi": ("mile", "meter"),
    "km": ("kilometer", "meter"),
    "mL": ("milliliter", "meter ** 3"),
    "L": ("liter", "meter ** 3"),
    "m³": ("meter ** 3", "meter ** 3"),
    "°C": ("degC", "kelvin"),
    "°F": ("degF", "kelvin"),
    "K": ("kelvin", "kelvin"),
    "s": ("second", "second"),
    "min": ("minute", "second"),
    "years": ("julian_year", "second"),
    "N": ("newton", "newton"),
    "lbf": ("force_pound", "newton"),
    "kg": ("kilogram", "kilogram"),
    "lb": ("pound", "kilogram"),
    "N·m": ("newton * meter", "newton * meter"),
    "ft·lbf": ("foot * force_pound", "newton * meter"),
    "J": ("joule", "joule"),
    "kJ": ("kilojoule", "joule"),
    "J/(kg·K)": ("joule / kilogram / kelvin", "joule / kilogram / kelvin"),
    "°": ("degree", "radian"),
    "rpm": ("revolution / minute", "revolution / second"),
    "mph": ("mile / hour", "meter / second"),
    "km/h": ("kilometer / hour", "meter / second"),
    "m/s": ("meter / second", "meter / second"),
    "m/s²": ("meter / second ** 2", "meter / second ** 2"),
    "mm²": ("millimeter ** 2", "meter ** 2"),
    "m²": ("meter ** 2", "meter ** 2"),
    "mL/s": ("milliliter / second", "meter ** 3 / second"),
    "m³/s": ("meter ** 3 / second", "meter ** 3 / second"),
    "mL/m": ("milliliter / meter", "meter ** 2"),
    "1/Pa": ("1 / pascal", "1 / pascal"),
    "%": ("percent", "dimensionless"),
    "1": ("dimensionless", "dimensionless"),
    "count": ("count", "count"),
}


def test_each_shown_unit_is_compared():
    assert set(IN_PINT) == set(UNITS)


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize("value", [0.0, 1.0, -40.0, 2200.0])
def test_shown_units_lead_to_si_as_pint_has_it(unit, value):
    spelled, si = IN_PINT[unit]
    expected = REGISTRY.Quantity(value, spelled).to(si).magnitude
    assert to_si(value, unit) == pytest.approx(expected, rel=1e-14, abs=1e-12)
    assert from_si(to_si(value, unit), unit) == pytest.approx(value, rel=1e-12, abs=1e-11)


def test_exact_constants():
    # The pound and the inch are defined (international yard and pound agreement, 1959), as is standard gravity (CGPM
    # 1901): source from memory, the arithmetic is here.
    assert pytest.approx(6894.757293168361, rel=1e-15) == PSI
    assert UNITS["lbf"].factor == 0.45359237 * 9.80665
    assert UNITS["°"].factor == math.pi / 180


@pytest.mark.parametrize("unit", UNITS)
def test_what_is_shown_is_understood_again(unit):
    quantity = Quantity.of(12.5, unit)
    assert parse_quantity(str(quantity), UNITS[unit].kind) == quantity
    assert parse_any_quantity(str(quantity)).si == quantity.si
    assert Quantity.model_validate(quantity.model_dump(mode="json")) == quantity


@given(st.decimals(min_value=0, max_value=999_999, places=4, allow_nan=False), st.sampled_from(sorted(UNITS)))
def test_parsing_goes_there_and_back(number, unit):
    quantity = parse_quantity(f"{number} {unit}", UNITS[unit].kind)
    assert quantity.value == float(number)
    assert parse_quantity(str(quantity), UNITS[unit].kind).si == pytest.approx(quantity.si, rel=1e-11)


@pytest.mark.parametrize(
    ("text", "kind", "si"),
    [
        ("2200 psi", "pressure", 2200 * PSI),
        ("152 bar", "pressure", 15.2e6),
        ("15.2MPa", "pressure", 15.2e6),
        ("9 kgf/cm^2", "pressure", 9 * 98_066.5),
        ("46 in^3", "volume", 46 * 0.0254**3),
        ("750 cc", "volume", 750e-6),
        ("20 °C", "temperature", 293.15),
        ("68 degF", "temperature", 293.15),
        ("-4 °F", "temperature", 253.15),
        ("18°", "angle", math.radians(18)),
        ("18 deg", "angle", math.radians(18)),
        ("0.5 rad", "angle", 0.5),
        ("800 rpm", "rotation", 800 / 60),
        ("800 rev/min", "rotation", 800 / 60),
        ("83.8 rad/s", "rotation", 83.8 / math.tau),
        ("66 ft·lbf", "torque", 66 * 0.3048 * 4.4482216152605),
        ("66 lbf·ft", "torque", 66 * 0.3048 * 4.4482216152605),
        ("0.42 cm^3/ft", "volume per length", 0.42e-6 / 0.3048),
        ("12 years", "time", 12 * 365.25 * 86400),
        ("85 %", "ratio", 0.85),
        ("0.85", "ratio", 0.85),
        ("6", "count", 6),
        (".5 in", "length", 0.0127),
        ("  1.5   in ", "length", 0.0381),
    ],
)
def test_what_people_write(text, kind, si):
    assert parse_quantity(text, kind).si == pytest.approx(si, rel=1e-12)
    if " " in text.strip() or "°" in text:
        assert parse_any_quantity(text).si == pytest.approx(si, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kind", "words"),
    [
        ("2,200 psi", "pressure", "comma in its number"),
        ("1,5 in", "length", "comma in its number"),
        ("2200", "pressure", "has no unit"),
        ("psi", "pressure", "is not a number with a unit"),
        ("", "pressure", "is not a number with a unit"),
        ("nan bar", "pressure", "is not a number with a unit"),
        ("1e999 bar", "pressure", "too large to be true"),
        ("2200 PSI", "pressure", 'did you mean "psi"?'),
        ("2200 pounds per inch", "pressure", "is not a"),
        ("20 mm", "pressure", "is not a pressure"),
        ("20 C", "temperature", "is not a temperature"),
        ("20 delta_degC", "temperature", "is not a known unit"),
        ("5 deg", "ratio", "is not a ratio"),
        ("5 %", "count", "is not a count"),
        ("12 mm²", "volume per length", "is not a volume per length"),
        ("1/2 in", "length", "is not a known unit"),
        ("1 in" + " " * 80, "length", "is not a number with a unit"),
    ],
)
def test_what_is_refused_says_why_and_gives_an_example(text, kind, words):
    with pytest.raises(ValueError, match="for example") as refused:
        parse_quantity(text, kind)
    assert words in str(refused.value)


def test_any_kind_refuses_what_no_kind_is():
    with pytest.raises(ValueError, match="no kind of quantity"):
        parse_any_quantity("12 volt")


@pytest.mark.parametrize("unit", UNITS)
def test_a_unit_is_of_one_kind(unit):
    kinds = {UNITS[name].kind for name in UNITS if unit_is(unit, UNITS[name].kind)}
    assert kinds == ({"ratio", "count"} if unit == "1" else {UNITS[unit].kind})
