"""Which readings a group's most probable hypothesis explains, and which it doesn't."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from estimator.diagnosis.causes.hypotheses import At, Hypothesis
from estimator.diagnosis.causes.looks import ELSE, LOOKS, fault_seen
from estimator.diagnosis.causes.scenarios import Told
from estimator.diagnosis.causes.weigh import distance

EXPLAINS, CANNOT = 2.0, 3.0
LOOK_EXPLAINED = 0.25


@dataclass(frozen=True)
class Entry:
    """A row with its probability: the causes that it takes to hold here, and for all systems, and what it was weighed with."""

    hypothesis: Hypothesis
    causes: tuple[At, ...]
    probability: float
    told: Told
    of_all: tuple[At, ...] = ()

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
    """Return the most probable row of the most probable set of causes."""
    sums: dict[tuple[At, ...], float] = {}
    for item in entries:
        sums[item.every] = sums.get(item.every, 0.0) + item.probability
    most = max(sums, key=lambda causes: sums[causes], default=())
    return best(item for item in entries if item.every == most)


def explained(entries: Sequence[Entry]) -> Explained:
    """Return what the most probable hypothesis of a group explains: what is more than 2 standard deviations from a car with no
    fault and less than 2 from it; what is more than 3 from it isn't explained."""
    found = Explained()
    likely, sound = top(entries), best(item for item in entries if not item.every)
    if likely is None or sound is None:
        return found
    alone = {item.every[0]: item for item in sorted(entries, key=lambda item: item.probability) if len(item.every) == 1}
    for name, reading in likely.told.readings.items():
        if name not in likely.hypothesis.readings:
            continue
        off = distance(likely.hypothesis.readings[name], reading)
        if off > CANNOT:
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
