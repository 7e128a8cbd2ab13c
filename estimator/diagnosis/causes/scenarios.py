"""What may hold for all systems at once, and the weighed hypotheses of each system under it."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from estimator.diagnosis.causes.evidence import Look, Reading
from estimator.diagnosis.causes.hypotheses import Hypothesis, five_digits
from estimator.diagnosis.causes.weigh import believed, likelihoods

GAUGE_OFF, SLOW_IDLE, GAUGES_SWAPPED, COUNTS_SWAPPED = "gauge-off", "slow-idle", "readings-swapped", "counts-swapped"
# Under swapped readings: these alone, for the others a swap is no better told.
TOLD_SWAPPED = frozenset({"gas-low", "gas-gone", "diaphragm-burst"})
GAUGES = ("charge-time", "cut-out", "cut-in", "distribution-output", "hold", "lamp-pressure", "cycle-interval")
COUNTS = ("applications",)
# Read in the first ten minutes, before any gauge is fitted, and what says the same better: believed, it takes their place.
WATCHED: Mapping[str, str] = {"first-presses": "applications", "first-braking": "charge-time"}
Picks = Callable[[Hypothesis], bool]


@dataclass(frozen=True)
class Told:
    """What hypotheses are weighed with."""

    readings: Mapping[str, Reading]
    looks: Mapping[str, Look]

    def with_those_of(self, other: Told, checks: Iterable[str]) -> Told:
        """The same with another system's readings of these checks."""
        kept = {name: item for name, item in self.readings.items() if name not in checks}
        return Told(kept | {name: other.readings[name] for name in checks if name in other.readings}, self.looks)


@dataclass(frozen=True)
class Rows:
    """Hypotheses of a system with their weights, and what they were weighed with."""

    hypotheses: Sequence[Hypothesis]
    weights: Sequence[float]
    told: Told


@dataclass(frozen=True)
class Scenario:
    """What holds for all systems at once, `mode` "" for nothing: its prior, and the rows of each system."""

    mode: str
    prior: float
    systems: tuple[Rows, ...]
    tag: str = ""

    @property
    def idle(self) -> int:
        """The number of its idle: 0 for the one stated."""
        return int(self.tag.removeprefix(SLOW_IDLE) or 0) + 1 if self.mode == SLOW_IDLE else 0


def scenarios(
    tables: Sequence[Sequence[Hypothesis]], told: Sequence[Told], priors: Mapping[str, float], gauge_prior: float
) -> Iterator[Scenario]:
    """Yield every scenario, the one in which nothing holds for all first.

    tables: the hypotheses of each system; told: its readings; priors: of the scenarios' modes; gauge_prior: of a gauge that
    is off on one system.
    """
    told = [Told(believed(rows, one.readings), one.looks) for rows, one in zip(tables, told, strict=True)]
    weighed = [likelihoods(rows, one.readings, one.looks) for rows, one in zip(tables, told, strict=True)]
    own = tuple(
        _picked(rows, weights, one, lambda item: not item.scenario.startswith(SLOW_IDLE))
        for rows, weights, one in zip(tables, weighed, told, strict=True)
    )
    yield Scenario("", five_digits(1 - sum(priors.values())), own)
    tags = list(dict.fromkeys(item.scenario for rows in tables for item in rows if item.scenario))
    for mode in (GAUGE_OFF, SLOW_IDLE):
        mine = [tag for tag in tags if tag.startswith(mode)]
        for tag in mine if mode in priors else ():
            systems = []
            for rows, weights, one in zip(tables, weighed, told, strict=True):
                factor = gauge_factor(rows, len(mine), gauge_prior) if mode == GAUGE_OFF else 1.0
                systems.append(_picked(rows, [weight * factor for weight in weights], one, _tagged(tag)))
            yield Scenario(mode, five_digits(priors[mode] / len(mine)), tuple(systems), tag)
    for mode, checks in ((GAUGES_SWAPPED, GAUGES), (COUNTS_SWAPPED, COUNTS)):
        pairs = [
            both for both in itertools.combinations(range(len(tables)), 2) if mode in priors and _alike(tables, both)
        ]
        for pair in pairs:
            systems = list(own)
            for at, other in (pair, pair[::-1]):
                swapped = told[at].with_those_of(told[other], checks)
                few = [item for item in tables[at] if not item.scenario and _told_swapped(item)]
                systems[at] = Rows(few, likelihoods(few, swapped.readings, swapped.looks), swapped)
            yield Scenario(mode, five_digits(priors[mode] / len(pairs)), tuple(systems))


def of_the_better(rows: Sequence[Hypothesis], told: Told) -> Told:
    """Return what is weighed without what was read better since: both have the errors of one quantity."""
    better = believed(rows, {name: told.readings[name] for name in WATCHED.values() if name in told.readings})
    return replace(
        told, readings={name: item for name, item in told.readings.items() if WATCHED.get(name) not in better}
    )


def gauge_factor(rows: Sequence[Hypothesis], tags: int, prior: float) -> float:
    """Return what makes of the weight of a gauge that is off on one system that of one that is off on all."""
    sound = sum(item.prior for item in rows if not item.causes and not item.scenario)
    return five_digits(sound * tags / prior) if prior else 1.0


def _alike(tables: Sequence[Sequence[Hypothesis]], both: tuple[int, int]) -> bool:
    """Whether the same readings are foretold of two systems, so that they can be swapped."""
    one, other = ({name for name in tables[at][0].readings if name in (*GAUGES, *COUNTS)} for at in both)
    return one == other and bool(one)


def _tagged(tag: str) -> Picks:
    return lambda item: item.scenario == tag


def _told_swapped(item: Hypothesis) -> bool:
    return len(item.causes) < 2 and all(cause.mode in TOLD_SWAPPED for cause in item.causes)


def _picked(rows: Sequence[Hypothesis], weights: Sequence[float], told: Told, picks: Picks) -> Rows:
    kept = [(row, weight) for row, weight in zip(rows, weights, strict=True) if picks(row)]
    return Rows([row for row, _ in kept], [weight for _, weight in kept], told)
