"""How often the right causes are named first, whether claims hold, and how often a sound car is blamed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from random import Random

from estimator.diagnosis.causes.result import Diagnosis
from estimator.facts.stages import stages
from tests.faulty_cars.scenarios import SCENARIOS
from tests.faulty_cars.simulated import faulty_readings
from tests.never_clear.good_car import READ_ON, Visit, fresh_car, record_of

BINS = (0.5, 0.65, 0.8, 0.9, 0.97, 1.0001)


@dataclass
class Tally:
    """What came of so many cars of one scenario."""

    cars: int = 0
    first: int = 0
    first_two: int = 0
    claimed: int = 0
    named: Counter[str] = field(default_factory=Counter)
    claims: Counter[float] = field(default_factory=Counter)
    hold: Counter[float] = field(default_factory=Counter)


# The checks of the first ten minutes, and of the look before them.
TEN_MINUTES = {check for band in stages()[0].band for check in band.checks} | {"fluid-level", "pedal-fluid-level"}


def visit_of_car(name: str, seed: int, kind: str = "all") -> Visit:
    """A car of a scenario with all its readings, with those of the first ten minutes, or without their own."""
    scenario, rng = SCENARIOS[name], Random(f"{name} {seed}")
    visit: Visit = fresh_car(scenario.car)
    visit.set("visit.before.date", READ_ON)
    for ref, (value, gauge) in faulty_readings(record_of(scenario.car), scenario.draw(rng), rng).items():
        check = ref.partition(".")[0]
        if kind == "all" or (check in TEN_MINUTES if kind == "ten minutes" else not check.startswith("first-")):
            visit.read(ref, value, gauge=gauge)
    return visit


def diagnosed(name: str, seed: int, kind: str = "all") -> Diagnosis:
    """The diagnosis of a car of a scenario."""
    return visit_of_car(name, seed, kind).appraise().appraisal.diagnosis


def tallied(name: str, seeds: Iterable[int], kind: str = "all") -> Tally:
    """What the diagnosis says of so many cars of a scenario. With several causes, each must be among as many first."""
    wanted, tally = SCENARIOS[name].causes, Tally()
    for seed in seeds:
        causes = diagnosed(name, seed, kind).causes
        names = [(cause.mode_id, cause.place) for cause in causes]
        tally.cars += 1
        most = causes[0].probability if causes else 0.0
        if wanted:
            right = set(wanted) <= set(names[: len(wanted)])
            tally.first += right
            tally.first_two += set(wanted) <= set(names[: len(wanted) + 1])
        else:
            right = most < 0.5
            tally.first += right
            tally.first_two += right
        tally.claimed += most >= 0.5
        tally.named[f"{names[0][0]} {names[0][1]}" if causes else "nothing"] += 1
        for cause in causes:
            if cause.probability >= BINS[0]:
                least = max(edge for edge in BINS if edge <= cause.probability)
                tally.claims[least] += 1
                tally.hold[least] += (cause.mode_id, cause.place) in wanted
    return tally


def table(tallies: dict[str, Tally]) -> str:
    """The table of DEVELOPERS.md."""
    lines = ["| fault | cars | first | first two | most named |", "| --- | --- | --- | --- | --- |"]
    for name, tally in tallies.items():
        named = ", ".join(f"{what} {count}" for what, count in tally.named.most_common(3))
        lines.append(f"| {name} | {tally.cars} | {tally.first} | {tally.first_two} | {named} |")
    cars = sum(tally.cars for tally in tallies.values())
    first, two = (sum(getattr(tally, what) for tally in tallies.values()) / cars for what in ("first", "first_two"))
    lines.append(f"| all | {cars} | {first:.1%} | {two:.1%} | |")
    claims, hold = Counter[float](), Counter[float]()
    for tally in tallies.values():
        claims.update(tally.claims)
        hold.update(tally.hold)
    lines += [f"claims from {least:.0%}: {hold[least]} of {claims[least]} hold" for least in BINS[:-1] if claims[least]]
    return "\n".join(lines)
