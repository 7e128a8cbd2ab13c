"""What tests tell, by labor_tables/tests.csv: looks that each cause makes more or less likely."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from estimator.diagnosis.causes.hypotheses import At, Hypothesis
from estimator.diagnosis.causes.looks import LOOKS
from estimator.facts.checks import check_by_id
from estimator.records import Car, OutcomeRow

OTHER = "other"
Names = tuple[dict[str, str], dict[str, str]]


class Outcomes:
    """The looks in which tests are written, with the probability of a fault under each cause."""

    def __init__(self, rows: Iterable[OutcomeRow], car: Car) -> None:
        self._car = car
        self._tests: dict[str, dict[str, float]] = {}
        for row in rows:
            if row.check_id not in LOOKS and check_by_id(row.check_id).kind == "look":
                self._tests.setdefault(row.check_id, {})[row.mode] = row.probability

    def _at(self, place: str) -> list[str]:
        """The checks that the car has at a place."""
        return [check for check in self._tests if any(one.id == place for one in check_by_id(check).places(self._car))]

    def named(self, names: Names, place: str) -> Names:
        """Return the names of readings and looks with those of the tests at a place."""
        readings, looks = names
        return readings, looks | {check: f"{check}.{place}" for check in self._at(place)}

    def foretold(self, hypotheses: Sequence[Hypothesis], place: str) -> tuple[Hypothesis, ...]:
        """Return the hypotheses with the probability of a fault in each test at a place."""
        tests = {check: self._tests[check] for check in self._at(place)}
        if not tests:
            return tuple(hypotheses)
        return tuple(
            replace(item, looks={**item.looks, **{check: chance(item.causes, of) for check, of in tests.items()}})
            for item in hypotheses
        )


def chance(causes: Iterable[At], of: Mapping[str, float]) -> float:
    """Return the probability of a bad outcome while these causes hold.

    >>> chance([At("gas-low", "system-1", "system-1")], {"check-valve-leaks": 0.05, "other": 0.04})
    0.04
    """
    return max((of.get(cause.mode, of[OTHER]) for cause in causes), default=of[OTHER])
