"""Which readings a group's most probable hypothesis explains, and which it doesn't."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from estimator.diagnosis.causes.hypotheses import At, Hypothesis, Shared
from estimator.diagnosis.causes.looks import ELSE, LOOKS, fault_seen
from estimator.diagnosis.causes.scenarios import COUNTS_SWAPPED, GAUGES_SWAPPED, Told
from estimator.diagnosis.causes.weigh import distance
from estimator.limits.constants import LOOK_EXPLAINED

EXPLAINS, CANNOT = 2.0, 3.0


@dataclass(frozen=True)
class Entry:
    """A row with its probability: the causes that it takes to hold here, and for all systems, what it was weighed with, and the
    zone in which it is."""

    hypothesis: Hypothesis
    causes: tuple[At, ...]
    probability: float
    told: Told
    of_all: tuple[At, ...] = ()
    zone: tuple[int, Shared] = (0, Shared())

    @property
    def every(self) -> tuple[At, ...]:
        """All causes that it takes to hold."""
        return (*self.causes, *self.of_all)


@dataclass
class Explained:
    """Keys of boxes with the cause that explains each, and those that nothing explains."""

    by: dict[str, At] = field(default_factory=dict)
    not_explained: list[str] = field(default_factory=list)


def best(entries: Iterable[Entry]) -> Entry | None:
    """Return the most probable row."""
    return max(entries, key=lambda item: item.probability, default=None)


def top(entries: Sequence[Entry]) -> Entry | None:
    """Return the most probable row of the most probable causes, in the zone in which they are most probable."""
    of_causes: dict[object, float] = {}
    of_zone: dict[object, float] = {}
    for item in entries:
        of_causes[item.causes] = of_causes.get(item.causes, 0.0) + item.probability
        of_zone[item.every, item.zone] = of_zone.get((item.every, item.zone), 0.0) + item.probability
    return max(
        entries,
        key=lambda item: (of_causes[item.causes], of_zone[item.every, item.zone], item.probability),
        default=None,
    )


def explained(entries: Sequence[Entry]) -> Explained:
    """Return what the most probable hypothesis of a group explains: what is more than 2 standard deviations from a car with no
    fault and less than 2 from it; what is more than 3 from it isn't explained."""
    found = Explained()
    likely, sound = top(entries), best(item for item in entries if not item.every)
    if likely is None or sound is None:
        return found
    alone = {item.every[0]: item for item in sorted(entries, key=lambda item: item.probability) if len(item.every) == 1}
    swapped = any(cause.mode in (GAUGES_SWAPPED, COUNTS_SWAPPED) for cause in likely.of_all)
    for name, reading in likely.told.readings.items():
        if name not in likely.hypothesis.readings:
            continue
        off = distance(likely.hypothesis.readings[name], reading)
        if off > CANNOT and not swapped:
            found.not_explained += reading.keys
        as_read = sound.told.readings.get(name)
        if as_read is None or off > EXPLAINS or distance(sound.hypothesis.readings[name], as_read) <= EXPLAINS:
            continue
        able = [
            cause
            for cause in likely.every
            if cause in alone and distance(alone[cause].hypothesis.readings[name], reading) <= EXPLAINS
        ]
        for cause in (able or list(likely.every[-1:]))[:1]:
            found.by |= dict.fromkeys(reading.keys, cause)
    for name, look in likely.told.looks.items():
        if look.fault:
            found.by |= of_look(name.partition(".")[0], look.key, likely.every, likely.hypothesis.looks.get(name))
    return found


def of_look(check: str, key: str, causes: Iterable[At], chance: float | None = None) -> dict[str, At]:
    """Return the cause under which a look finds a fault often enough to explain it."""
    for cause in causes if check in LOOKS else ():
        seen = fault_seen(check, [cause.mode]) if chance is None else min(chance, fault_seen(check, [cause.mode]))
        if seen >= LOOK_EXPLAINED and seen > LOOKS[check][ELSE]:
            return {key: cause}
    return {}
