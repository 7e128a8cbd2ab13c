"""The rows of the inspection that a car has: each check at each of its places, in the order of the work."""

from __future__ import annotations

import functools
from collections.abc import Collection
from dataclasses import dataclass

from estimator.boxes.keys import CheckRef, check_ref
from estimator.facts.checks import Check, checks
from estimator.facts.stages import order_of_work
from estimator.places import Place
from estimator.quantities import text_in_units
from estimator.records import Car, Show


@dataclass(frozen=True)
class CheckRow:
    """One row: a check at a place, for a repeated reading its number. `label` is what is printed and said aloud."""

    check: Check
    place: Place
    number: int

    @property
    def ref(self) -> CheckRef:
        return check_ref(self.check.id, self.place.id, self.number if self.check.repeats > 1 else 0)

    @property
    def rests_on(self) -> tuple[CheckRef, ...]:
        """The checks at the same place on whose readings its verdict rests."""
        return tuple(check_ref(check, self.place.id) for check in self.check.rests_on)

    @property
    def label(self) -> str:
        counted = f"{self.check.title} {self.number}" if self.check.repeats > 1 else self.check.title
        return counted if self.place.kind == "car" else f"{counted}, {self.place.title}"

    @property
    def told(self) -> str:
        """What is wrong with it, to the customer."""
        told = self.check.told or self.check.title
        return told if self.place.kind == "car" else f"{told}, {self.place.title}"


def check_rows(car: Car, show: Show, requested: Collection[str] = ()) -> tuple[CheckRow, ...]:
    """Every row that this car has, in the order of the work, each reading of a check at all places before the next.

    Its texts are in the units of `show`; checks that were requested are always asked for.
    """
    order = order_of_work()
    return tuple(
        CheckRow(check.model_copy(update={"asked": "always"}) if check.id in requested else check, place, number)
        for check in sorted(_in_units(show), key=lambda check: order[check.id])
        for number in range(1, check.repeats + 1)
        for place in check.places(car)
    )


def units_in_texts(show: Show) -> dict[str, str]:
    """Return the unit of each kind of quantity that texts of the catalog hold."""
    return {kind: str(unit) for kind, unit in show if kind not in ("distance", "time", "age", "dates")}


@functools.lru_cache(maxsize=8)
def _in_units(show: Show) -> tuple[Check, ...]:
    """The catalog, each quantity in its texts in the unit that the shop shows."""
    units = units_in_texts(show)
    return tuple(
        check.model_copy(update={key: text_in_units(getattr(check, key), units) for key in ("title", "how")})
        for check in checks()
    )
