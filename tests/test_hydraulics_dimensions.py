"""Dimensions: mixed units give the same answer, and a change of every base unit changes an answer as its unit says."""

import dataclasses
import importlib
import re

import pint
import pytest
from physics_calls import CALLS
from physics_functions import MODULES, UNIT_OF_SUFFIX, documented, unit_of_name, units_in

REGISTRY = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
BY_NAME = {item.name: item for item in documented()}
NAMES = sorted(BY_NAME)
TEMPERATURE_DIFFERENCES = {"warming_k", "temperature_uncertainty_k"}

# A unit of everyday use for each SI unit, different from it.
MIXED = {
    "Pa": "psi",
    "K": "degF",
    "ΔK": "delta_degF",
    "m": "inch",
    "m²": "inch ** 2",
    "m³": "gallon",
    "kg": "lb",
    "N": "lbf",
    "s": "minute",
    "m/s": "mph",
    "m/s²": "foot / second ** 2",
    "m/s²/Pa": "foot / second ** 2 / psi",
    "m³/s": "gallon / minute",
    "m²/s": "centistokes",
    "m³/m": "cm ** 3 / foot",
    "Pa·s": "centipoise",
    "1/s": "1 / minute",
    "1/K": "1 / delta_degF",
    "rad": "degree",
    "J": "Btu",
    "J/(kg·K)": "Btu / lb / delta_degF",
}
# What base units each SI unit is made of: length, mass, time, temperature.
POWERS = {
    "1": (0, 0, 0, 0),
    "Pa": (-1, 1, -2, 0),
    "K": (0, 0, 0, 1),
    "ΔK": (0, 0, 0, 1),
    "m": (1, 0, 0, 0),
    "m²": (2, 0, 0, 0),
    "m³": (3, 0, 0, 0),
    "kg": (0, 1, 0, 0),
    "N": (1, 1, -2, 0),
    "s": (0, 0, 1, 0),
    "m/s": (1, 0, -1, 0),
    "m/s²": (1, 0, -2, 0),
    "m/s²/Pa": (2, -1, 0, 0),
    "m³/s": (3, 0, -1, 0),
    "m²/s": (2, 0, -1, 0),
    "m³/m": (2, 0, 0, 0),
    "Pa·s": (-1, 1, -1, 0),
    "1/s": (0, 0, -1, 0),
    "1/K": (0, 0, 0, -1),
    "rad": (0, 0, 0, 0),
    "J": (2, 1, -2, 0),
    "J/(kg·K)": (2, 0, -2, -1),
}
BASE_CHANGE = (1.7, 0.6, 1.3, 1.25)
# Physical constants of the formulas; they change with the base units as any other quantity.
CONSTANTS = {
    "ATMOSPHERE_PA": "Pa",
    "LOST_PRECHARGE_PA": "Pa",
    "REFERENCE_PRESSURE_PA": "Pa",
    "HIGHEST_PRESSURE_PA": "Pa",
    "REFERENCE_TEMPERATURE_K": "K",
    "REFERENCE_WARMING_K": "K",
    "COLDEST_K": "K",
    "FAST_COLDEST_K": "K",
    "COLD_BELOW_K": "K",
    "HOTTEST_K": "K",
    "VISCOSITY_UNIT_M2_S": "m²/s",
    "STANDARD_GRAVITY_M_S2": "m/s²",
}
# The coefficients of a regulation's formula carry units of their own (m, km/h) that their numbers don't show.
NOT_HOMOGENEOUS = {"published_stops.regulation_distance", "published_stops.deceleration_of_coefficient"}


def unit_of(name):
    return "ΔK" if name in TEMPERATURE_DIFFERENCES else unit_of_name(name)


def changed(value, name, change):
    """A value, or every number inside a dataclass, map or tuple, put through `change(number, unit)`."""
    if isinstance(value, bool) or (
        not isinstance(value, (int, float, tuple, dict)) and not dataclasses.is_dataclass(value)
    ):
        return value
    if dataclasses.is_dataclass(value):
        parts = {field.name: getattr(value, field.name) for field in dataclasses.fields(value)}
        return dataclasses.replace(value, **{key: changed(part, key, change) for key, part in parts.items()})
    if isinstance(value, dict):
        return {key: changed(part, name, change) for key, part in value.items()}
    if isinstance(value, tuple):
        return tuple(changed(part, name, change) for part in value)
    return value if unit_of(name) == "1" else change(value, unit_of(name))


def through_mixed_units(number, unit):
    """The number as a person would write it, in another unit, and back to SI through pint."""
    si = {"ΔK": "delta_degC", "K": "kelvin"}.get(unit, unit.replace("²", "**2").replace("³", "**3").replace("·", "*"))
    written = REGISTRY.Quantity(number, si).to(MIXED[unit])
    assert unit == "rad" or abs(written.magnitude - number) > 1e-3 * abs(number), "the unit is really another"
    return REGISTRY.Quantity(written.magnitude, MIXED[unit]).to(si).magnitude


def scale(unit):
    product = 1.0
    for base, power in zip(BASE_CHANGE, POWERS[unit], strict=True):
        product *= base**power
    return product


def call(name, inputs):
    function = BY_NAME[name].function
    if "standard_uncertainties" in inputs:
        return function(*inputs["standard_uncertainties"])
    return function(**inputs)


def numbers(answer):
    """Every number of an answer, with the name of its field where it has one."""
    if dataclasses.is_dataclass(answer):
        return [(field.name, getattr(answer, field.name)) for field in dataclasses.fields(answer)]
    values = answer if isinstance(answer, tuple) else (answer,)
    return [("", value) for value in values if isinstance(value, (int, float)) and not isinstance(value, bool)]


@pytest.mark.parametrize("name", NAMES)
def test_mixed_units_give_the_same_answer(name):
    direct = call(name, CALLS[name])
    mixed = {key: changed(value, key, through_mixed_units) for key, value in CALLS[name].items()}
    again = call(name, mixed)
    if numbers(direct):
        assert [value for _, value in numbers(again)] == pytest.approx(
            [value for _, value in numbers(direct)], rel=1e-12
        )
    else:
        assert again == direct


@pytest.mark.parametrize("name", [name for name in NAMES if name not in NOT_HOMOGENEOUS])
def test_answer_changes_with_the_base_units_as_its_unit_says(name, monkeypatch):
    direct = call(name, CALLS[name])
    inputs = {key: changed(value, key, lambda number, unit: number * scale(unit)) for key, value in CALLS[name].items()}
    for module_name in MODULES:
        module = importlib.import_module(module_name)
        for constant, unit in CONSTANTS.items():
            if hasattr(module, constant):
                monkeypatch.setattr(module, constant, getattr(module, constant) * scale(unit))
    again = call(name, inputs)
    if not numbers(direct):
        assert again == direct
        return
    said = units_in(BY_NAME[name].parts["Returns"])
    for (field, value), (_, other) in zip(numbers(direct), numbers(again), strict=True):
        unit = unit_of_name(field) if len(said) > 1 and unit_of_name(field) != "1" else said[0]
        unit = "1" if unit == "unit of the reading" else unit
        assert other == pytest.approx(value * scale(unit), rel=1e-9), f"{field or name} in {unit}"


def test_a_wrong_dimension_would_be_caught():
    """No two units that a slip could swap change alike under this change of base units."""
    products = {unit: scale(unit) for unit in POWERS if unit not in ("ΔK", "rad")}
    alike = [(a, b) for a in products for b in products if a < b and abs(products[a] / products[b] - 1) < 1e-3]
    assert alike in ([], [("m²", "m³/m")])


def test_every_suffix_has_its_units():
    assert set(UNIT_OF_SUFFIX.values()) <= set(POWERS)
    assert set(UNIT_OF_SUFFIX.values()) <= set(MIXED)
    assert all(re.fullmatch(r"(_[a-z0-9]+)+", suffix) for suffix in UNIT_OF_SUFFIX)
