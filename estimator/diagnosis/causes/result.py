"""Causes that explain the readings, with their probabilities."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

NONE = "none"
SHOWN_FROM = 0.10


@dataclass(frozen=True)
class Cause:
    """A fault that may explain the readings.

    `place` is as in keys (`system-2`, `rear-left`, `car`); `at` the accumulator of a system that has several, else the
    place. `job_id` is the repair, "" for none; `explains` are keys of boxes.
    """

    mode_id: str
    place: str
    at: str
    title: str
    probability: float
    job_id: str = ""
    explains: tuple[str, ...] = ()

    @property
    def whole_title(self) -> str:
        """The title with its place, for people."""
        return self.title if self.at == "car" else f"{self.title}, {self.at.replace('-', ' ')}"


@dataclass(frozen=True)
class Weighed:
    """One hypothesis of a group: the causes that it takes to hold at once (none, one, or gas and one other)."""

    causes: tuple[Cause, ...]
    probability: float

    @property
    def name(self) -> str:
        """"none", a mode, or two modes with + between."""
        return "+".join(cause.mode_id for cause in self.causes) or NONE


@dataclass(frozen=True)
class Group:
    """Causes of which at most one holds (in a system gas and one other): their probabilities sum to 1.

    `id` is a system's id, `pedal`, `wheels`, or `readings` (gauges, counts, idle speed: of all systems at once).
    `missing` says which readings it lacks; without ranking its probabilities are the priors.
    """

    id: str
    title: str
    hypotheses: tuple[Weighed, ...]
    ranked: bool
    missing: tuple[str, ...] = ()
    needed: tuple[str, ...] = ()

    @property
    def causes(self) -> tuple[Cause, ...]:
        """Each cause with the sum over the hypotheses that hold it, the most probable first."""
        sums: dict[tuple[str, str, str], float] = {}
        first: dict[tuple[str, str, str], Cause] = {}
        for item in self.hypotheses:
            for cause in item.causes:
                key = (cause.mode_id, cause.place, cause.at)
                sums[key] = sums.get(key, 0.0) + item.probability
                first.setdefault(key, cause)
        return tuple(sorted(first.values(), key=lambda one: -one.probability))


@dataclass(frozen=True)
class Diagnosis:
    """Which causes the readings point to.

    groups: every hypothesis, group by group. causes: of all ranked groups those of at least 10 %, the most probable first.
    explained: key of a box to the cause that explains it. unexplained: keys of boxes that lie more than three standard
    deviations from the top cause. blind: causes that these readings cannot tell. missing: what would have to be read.
    """

    groups: tuple[Group, ...]
    causes: tuple[Cause, ...] = ()
    explained: Mapping[str, Cause] = field(default_factory=dict)
    unexplained: tuple[str, ...] = ()
    blind: tuple[Cause, ...] = ()
    ranked: bool = False
    missing: tuple[str, ...] = ()
