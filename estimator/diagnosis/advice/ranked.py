"""All causes of a car in an order that no reading changes, with what each is ranked by."""

from __future__ import annotations

from dataclasses import dataclass

from estimator.diagnosis.causes.result import READING_ERRORS, Cause, Diagnosis, Group
from estimator.diagnosis.causes.words import weighed
from estimator.records.modes import READINGS


@dataclass(frozen=True)
class Ranked:
    """A cause in an order that no reading changes."""

    order: int
    group: Group
    cause: Cause

    @property
    def ref(self) -> str:
        return f"{self.group.id}.{self.cause.mode_id}.{self.cause.at}"

    @property
    def label(self) -> str:
        return self.cause.whole_title

    @property
    def key(self) -> str:
        return self.cause.mode_id if self.group.id == READINGS else f"{self.cause.mode_id}.{self.cause.at}"

    @property
    def mere(self) -> int:
        """Whether it is no more than a reading error."""
        return int(self.cause.mode_id in READING_ERRORS)

    @property
    def weighed(self) -> float:
        """By what it is ranked: equals in their order."""
        return weighed(self.cause, self.group) - self.order / 1e12


def ranked_causes(diagnosis: Diagnosis) -> list[Ranked]:
    """Return all causes, group by group."""
    rows = [(group, cause) for group in diagnosis.groups for cause in group.in_order]
    return [Ranked(order, *row) for order, row in enumerate(rows, 1)]
