"""The advice for a car: the next step, that of each group of causes, and the price band."""

from __future__ import annotations

from dataclasses import dataclass

from estimator.appraisal import Appraisal
from estimator.boxes import keys
from estimator.boxes.keys import CheckRef
from estimator.diagnosis.advice.advise import KINDS, READ_AGAIN, Adviser, GroupAdvice, Step
from estimator.diagnosis.advice.band import Band, price_band
from estimator.diagnosis.causes.result import Cause
from estimator.money import ZERO


@dataclass(frozen=True)
class Advice:
    """What to do next (None where nothing is pointed to), the step of each group that has one, the band."""

    next: Step | None
    groups: tuple[GroupAdvice, ...]
    band: Band

    def of_cause(self, cause: Cause) -> Step | None:
        """The step of a cause's group."""
        return next((item.step for item in self.groups if cause in item.group.causes), None)


def advise(appraisal: Appraisal) -> Advice:
    """Return what to do next with a car, and what its visit may come to."""
    adviser = Adviser(appraisal)
    groups = tuple(adviser.of_group(group) for group in appraisal.diagnosis.groups)
    again = _not_explained(appraisal)
    found = sorted((item for item in groups if item.step), key=_first)
    step = again or (found[0].step if found else None)
    return Advice(step, groups, price_band(appraisal, adviser, groups))


def _first(item: GroupAdvice) -> tuple[int, float]:
    """Readings before tests before repairs; among those of a kind the likeliest fault."""
    assert item.step is not None
    return KINDS.index(item.step.kind), -max(cause.probability for cause in item.group.causes)


def _not_explained(appraisal: Appraisal) -> Step | None:
    """The first reading that no cause explains and that wasn't taken again."""
    for key in appraisal.diagnosis.unexplained:
        standing = appraisal.standing_of.get(CheckRef(keys.check_of(key)))
        if standing is not None and standing.thirds.read == 0:
            return Step(READ_AGAIN, standing.ref, standing.row.place.id, f"Remeasure: {standing.label}", ZERO)
    return None
