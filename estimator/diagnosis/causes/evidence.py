"""The latest readings of a car, as they are weighed: values in SI with their standard uncertainty, looks, keys of boxes."""

from __future__ import annotations

import statistics
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from estimator.boxes import keys
from estimator.boxes.keys import CheckRef
from estimator.limits.judging.judging import Judged
from estimator.limits.judging.standing import VOID, Standing
from estimator.limits.judging.verdict_words import COVERAGE, FAULT, NO_FAULT
from estimator.limits.judging.visual_checks import Looked


@dataclass(frozen=True)
class Reading:
    """A number: the reading or the middle one of several, its standard uncertainty, the keys of its boxes."""

    value: float
    u: float
    keys: tuple[str, ...]

    @property
    def spread(self) -> float:
        """Twice its variance."""
        return 2 * self.u * self.u


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
        """The latest number of a check at a place; the middle one of several."""
        found = [item for item in map(self.number, self._judged.get(check, ())) if item is not None]
        if not found:
            return None
        value = statistics.median(item.value for item in found)
        return Reading(value, max(item.u for item in found), tuple(item.keys[0] for item in found))

    def number(self, item: Judged) -> Reading | None:
        """The latest number in a check's row."""
        phase = self.phase(item.ref)
        judged, u = (item.phases[phase].judged, item.phases[phase].u_any) if phase else ("", "")
        if isinstance(judged, str):
            return None
        return Reading(float(judged), 0.0 if isinstance(u, str) else u / COVERAGE, (keys.reading(item.ref, phase),))

    def look(self, check: str) -> Look | None:
        """The latest look of a check at a place that found a fault or none."""
        item = self._looked.get(check)
        phase = "" if item is None else self.phase(item.ref)
        if item is None or not phase or item.as_look(phase) not in (FAULT, NO_FAULT):
            return None
        return Look(item.as_look(phase) == FAULT, keys.reading(item.ref, phase))

    def phase(self, ref: CheckRef) -> str:
        """The phase whose reading is the latest; nothing where a job done since voids it."""
        standing = self._standings[ref]
        if standing.latest == VOID:
            return ""
        return "after" if standing.made_after else "before"
