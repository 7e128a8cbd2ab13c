"""The latest readings of a car, as they are weighed: values in SI with their standard uncertainty, looks, keys of boxes."""

from __future__ import annotations

import statistics
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from estimator.boxes import keys
from estimator.boxes.keys import CheckRef
from estimator.limits.judging.driving import Standing
from estimator.limits.judging.judging import Judged
from estimator.limits.judging.verdict_words import COVERAGE, FAULT, NO_FAULT, OUTSIDE, WITHIN
from estimator.limits.judging.visual_checks import Looked


@dataclass(frozen=True)
class Reading:
    """A number: the reading or the middle one of several, its standard uncertainty, the keys of its boxes."""

    value: float
    u: float
    keys: tuple[str, ...]


@dataclass(frozen=True)
class Look:
    """A look: whether a fault was found, and the key of its box."""

    fault: bool
    key: str


class Evidence:
    """What stands in the boxes: the reading after work, else the one before, as long as no job done voids it."""

    def __init__(self, judged: Iterable[Judged], looked: Iterable[Looked], standings: Iterable[Standing]) -> None:
        self._standings = {item.ref: item for item in standings}
        self._judged: dict[str, list[Judged]] = {}
        for item in judged:
            self._judged.setdefault(f"{item.row.check.id}.{item.row.place.id}", []).append(item)
        self._looked: Mapping[str, Looked] = {item.ref: item for item in looked}

    def label(self, check: str) -> str:
        """What people call a check at a place."""
        if check in self._looked:
            return self._looked[check].label
        row = self._judged[check][0].row
        return row.check.title if row.place.kind == "car" else f"{row.check.title}, {row.place.title}"

    def exists(self, check: str) -> bool:
        """Whether the car has a check."""
        return check in self._judged or check in self._looked

    def reading(self, check: str) -> Reading | None:
        """The latest number of a check at a place."""
        for phase in ("after", "before"):
            found = [
                (item.phases[phase].judged, item.phases[phase].u_any, item.ref)
                for item in self._judged.get(check, ())
                if self._stands(item.ref, phase)
            ]
            numbers = [(value, u, ref) for value, u, ref in found if not isinstance(value, str)]
            if numbers:
                value = statistics.median(float(value) for value, _, _ in numbers)
                u = max(0.0 if isinstance(u, str) else float(u) / COVERAGE for _, u, _ in numbers)
                return Reading(value, u, tuple(keys.reading(ref, phase) for _, _, ref in numbers))
        return None

    def look(self, check: str) -> Look | None:
        """The latest look of a check at a place that found a fault or none."""
        item = self._looked.get(check)
        for phase in ("after", "before") if item is not None else ():
            if item is not None and item.as_look(phase) in (FAULT, NO_FAULT) and self._stands(item.ref, phase):
                return Look(item.as_look(phase) == FAULT, keys.reading(item.ref, phase))
        return None

    def outcome(self, check: str) -> Look | None:
        """The latest look of a check at a place; of a number whether it was out of limits or within."""
        for item in self._judged.get(check, ()):
            for phase in ("after", "before"):
                verdict = item.phases[phase].verdict
                if verdict in (OUTSIDE, WITHIN) and self._stands(item.ref, phase):
                    return Look(verdict == OUTSIDE, keys.reading(item.ref, phase))
        return self.look(check)

    def words(self, check: str) -> tuple[str, str]:
        """The latest words of a check at a place, and the key of their box; empty where there are none."""
        item = self._looked.get(check)
        for phase in ("after", "before") if item is not None else ():
            if item is not None and item.words(phase) and self._stands(item.ref, phase):
                return item.words(phase), keys.reading(item.ref, phase)
        return "", ""

    def _stands(self, ref: CheckRef, phase: str) -> bool:
        standing = self._standings[ref]
        return bool(standing.stands_before if phase == "before" else standing.stands_after)
