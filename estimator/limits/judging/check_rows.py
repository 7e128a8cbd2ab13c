"""The rows of the inspection that a car has: each check at each of its places, in the order of the work."""

from __future__ import annotations

from dataclasses import dataclass

from estimator.boxes.keys import CheckRef, check_ref
from estimator.facts.checks import Check, checks
from estimator.facts.stages import order_of_work
from estimator.places import Place
from estimator.records import Car


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


def check_rows(car: Car) -> tuple[CheckRow, ...]:
    """Every row that this car has, in the order of the work, each reading of a check at all places before the next."""
    order = order_of_work()
    return tuple(
        CheckRow(check, place, number)
        for check in sorted(checks(), key=lambda check: order[check.id])
        for number in range(1, check.repeats + 1)
        for place in check.places(car)
    )
