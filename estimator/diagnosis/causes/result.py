"""Causes that explain the readings, with their probabilities."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from estimator.boxes.keys import LineRef
from estimator.diagnosis.causes.arithmetic import Arithmetic
from estimator.diagnosis.causes.system_hypotheses import GAS
from estimator.records.modes import READINGS

NONE = "none"
READING_ERRORS = ("gauge-off", "readings-swapped", "counts-swapped", "slow-idle")
READ_AGAIN_JOB = "repeat-pressure-readings"
SHOWN_FROM = 0.10


@dataclass(frozen=True)
class Cause:
    """A fault that may explain the readings.

    `place` is as in keys (`system-2`, `rear-left`, `car`); `at` the accumulator of a system that has several, else the
    place. `job_id` is the repair, "" for none; `prior` and `probability` are shares; `lines` are the job lines that it calls for:
    its repair, of a reading error the re-reading. Where its repair may be at several places of which no reading names one,
    `either` are these and `lines` the test that says which.
    """

    mode_id: str
    place: str
    at: str
    title: str
    prior: float
    probability: float
    job_id: str = ""
    lines: tuple[LineRef, ...] = ()
    either: tuple[LineRef, ...] = ()

    @property
    def key(self) -> str:
        return f"{self.mode_id}.{self.at}"

    @property
    def whole_title(self) -> str:
        """The title with its place, for people."""
        return self.title if self.at == "car" else f"{self.title}, {self.at.replace('-', ' ')}"

    @property
    def pointed_to(self) -> str:
        """The same of what its line stands at: an accumulator by its number."""
        where = self.lines[0].partition(".")[2].replace("-", " ") if self.lines else ""
        named = self.title.replace("the accumulator", where)
        return named if where and named != self.title else self.whole_title


@dataclass(frozen=True)
class Weighed:
    """One hypothesis of a group: the causes that it takes to hold at once (none, one, or gas and one other)."""

    causes: tuple[Cause, ...]
    probability: float

    @property
    def name(self) -> str:
        """The ids of its causes with + between, or "none"."""
        return "+".join(cause.mode_id for cause in self.causes) or NONE


@dataclass(frozen=True)
class Group:
    """Causes of which at most one holds (in a system gas and one other): the probabilities of its hypotheses sum to 1.

    `id` is a system's id, `pedal`, `wheels`, or `readings` (gauges, counts, idle speed: of all systems at once). `causes` has
    each cause with the sum over the hypotheses that hold it, the most probable first. `needed` are sets of checks, each of which is
    enough to rank it (of several named together one is); `missing` says what it lacks of the one least lacking; `gauged`
    whether the first of them stands, that of the gauges, not the first ten minutes alone.
    """

    id: str
    hypotheses: tuple[Weighed, ...]
    causes: tuple[Cause, ...]
    missing: tuple[str, ...] = ()
    needed: tuple[tuple[tuple[str, ...], ...], ...] = ()
    gauged: bool = True

    @property
    def ranked(self) -> bool:
        """Whether there are readings enough."""
        return not self.missing

    @property
    def early(self) -> bool:
        """Whether the first ten minutes may be enough to rank it."""
        return len(self.needed) > 1 or self.id == READINGS

    @property
    def in_order(self) -> list[Cause]:
        """Its causes in an order that no reading changes, those of the gas first."""
        return sorted(self.causes, key=lambda one: (one.mode_id not in GAS, one.mode_id, one.at))


@dataclass(frozen=True)
class Diagnosis:
    """Which causes the readings point to.

    groups: every hypothesis, group by group. causes: of all ranked groups those of at least 10 %, the most probable first.
    blind: causes that these readings cannot tell. missing: what would have to be read. arithmetic: how it came about; None
    where the car's data don't allow it. stops: at how many presses to the lamp to stop, by system.
    """

    groups: tuple[Group, ...] = ()
    causes: tuple[Cause, ...] = ()
    blind: tuple[Cause, ...] = ()
    missing: tuple[str, ...] = ()
    arithmetic: Arithmetic | None = None
    stops: Mapping[str, int] = field(default_factory=dict)

    @property
    def ranked(self) -> bool:
        """Whether any group has readings enough."""
        return any(group.ranked for group in self.groups)
