"""What must hold of the [[limits]] in car.toml."""

from __future__ import annotations

from collections.abc import Iterator

from estimator.facts.checks import Check, checks
from estimator.intake.input_errors import Wrong, at, unknown
from estimator.quantities import Quantity
from estimator.records import Car, CarLimit
from estimator.written_quantities import unit_is

_KEYS = ("danger_low", "service_low", "service_high", "danger_high")
# The kind of a quantity by what the catalog of checks calls it.
_KINDS = {"distance": "length", "age": "time"}


def limit_rules(car: Car) -> Iterator[Wrong]:
    """Each limit is of a check that this car has, at its places, of its kind, and in order from low to high."""
    known = {check.id: check for check in checks()}
    earlier: dict[tuple[str, str], int] = {}
    for index, limit in enumerate(car.limits):
        check = known.get(limit.check)
        if check is None:
            limited = [check.id for check in known.values() if check.kind == "number"]
            yield unknown(at("limits", index, "check"), limit.check, limited, "a check that is measured")
        elif check.kind != "number":
            found = f'"{check.id}" isn\'t judged by a number'
            yield Wrong(at("limits", index, "check"), found, "a limit is a number", "take this limit out")
        elif not check.applies_to(car):
            allowed = f'this car (variant {car.car.variant}, {car.fluid.family}) has no check "{check.id}"'
            yield Wrong(at("limits", index, "check"), f'"{check.id}"', allowed, "take this limit out")
        else:
            yield from _numbers(index, limit, check)
            yield from _places(index, limit, check, car, earlier)


def _numbers(index: int, limit: CarLimit, check: Check) -> Iterator[Wrong]:
    given = {key: getattr(limit, key) for key in _KEYS if getattr(limit, key) is not None}
    if not given:
        yield Wrong(at("limits", index), "it has no limit", f"one or more of {', '.join(_KEYS)}", "add it")
    kind = _KINDS.get(check.quantity, check.quantity)
    right = True
    for key, quantity in given.items():
        if not unit_is(quantity.unit, kind):
            right = False
            found = f'"{quantity}" isn\'t of the kind {kind}'
            yield Wrong(at("limits", index, key), found, f'"{check.title}" is a {kind}', "correct the unit")
    if right:
        yield from _order(index, given)


def _order(index: int, given: dict[str, Quantity]) -> Iterator[Wrong]:
    for low, high, words in (
        ("service_low", "service_high", "a low limit must be below the high one"),
        ("danger_low", "danger_high", "a low limit must be below the high one"),
        ("danger_low", "service_low", "danger begins at or below the low service limit"),
        ("service_high", "danger_high", "danger begins at or above the high service limit"),
    ):
        if low not in given or high not in given:
            continue
        strict = low.split("_")[0] == high.split("_")[0]
        if given[low].si > given[high].si or (strict and given[low].si == given[high].si):
            found = f"{low} {given[low]}, {high} {given[high]}"
            yield Wrong(at("limits", index, low), found, words, "correct one of them")


def _places(
    index: int, limit: CarLimit, check: Check, car: Car, earlier: dict[tuple[str, str], int]
) -> Iterator[Wrong]:
    places = [place.id for place in check.places(car)]
    for name in limit.at:
        if name not in places:
            yield unknown(at("limits", index, "at"), name, places, f'the places of "{check.id}"')
    for name in limit.at or places:
        first = earlier.setdefault((check.id, name), index)
        if first != index:
            found = f'"{check.id}" at "{name}" has a limit already'
            yield Wrong(at("limits", index), found, f"number {first + 1} gives it", "put both into one table")
            return
