"""Cars with faults on which the advised tests are made until a repair is advised: what is named then, what it cost.

The tests find what the simulated car has (`simulated.py`), not what tests.csv says. Costs are those of the demo's jobs by
themselves, before tax. A repair that is advised and cures nothing is needless; after it the next of the group's order is made.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from random import Random
from typing import Any

from estimator.appraisal import Appraisal
from estimator.boxes.keys import CheckRef
from estimator.diagnosis.advice.advice import next_steps
from estimator.diagnosis.advice.advise import READ_AGAIN, REPAIR, Adviser, GroupAdvice, Step
from estimator.diagnosis.advice.named_part import PARTS, check_of
from estimator.diagnosis.causes.result import READ_AGAIN_JOB, READING_ERRORS
from estimator.facts.checks import check_by_id
from estimator.records import JobRecord
from tests.boxes_by_key import first_boxes
from tests.faulty_cars.scenarios import SCENARIOS
from tests.faulty_cars.simulated import FaultyCar
from tests.limit_cars import demo
from tests.never_clear.good_car import FILES, READ_ON, Visit

MOST_STEPS = 10
# Jobs that look for a fault and repair nothing: what each looks at, told again.
LOOKS_FOR = {"Diagnose dragging brake": ("dragging-bleeder.car",), "Locate external leak": ("leaks-at-cut-out.car",)}
# What the owner of a car with a fault says, one time in two; one owner in ten says something else.
CONCERNS = {
    "gas-low": "The lamp comes on when I brake.",
    "gas-gone": "The lamp comes on and there is no reserve.",
    "diaphragm-burst": "The pump rattles.",
    "pump-weak": "It is slow to charge.",
    "feed-blocked": "The pump growls.",
    "check-valve-leaks": "It is flat overnight.",
    "valve-clearance-worn": "The lamp is on in the morning: lamp on in the morning.",
    "outside-leak": "There is a puddle.",
    "other-user-leaks": "The car sinks.",
    "switch-off": "The lamp flickers.",
    "circuit-air": "The brakes are spongy.",
    "pedal-air": "The pedal goes down.",
    "pedal-cylinder-leaks": "The pedal sinks.",
    "pedal-circuit-leaks": "The pedal sinks.",
    "pedal-linkage": "A long pedal.",
    "buffer-worn": "A long pedal.",
    "residual-pressure": "The brakes drag.",
    "caliper-seized": "It pulls to one side.",
    "brake-drag": "One wheel drags.",
    "decel-valve-closed": "It stops long.",
    "decel-valve-open": "The rear wheels lock.",
    "slow-idle": "It stalls.",
}
SAID, SAID_ELSE = 0.5, 0.1
REPEATED = (
    "cut-out",
    "cut-in",
    "distribution-output",
    "hold",
    "hold-start",
    "lamp-pressure",
    "applications",
    "charge-time",
)


@dataclass(frozen=True)
class Visited:
    """One car: whether the right causes were named first, and among one more, by the first readings and once tests were made;
    whether the first repair advised cures one of them; needless repairs; what tests and repairs cost, and what it costs to do
    what each finding calls for by itself, and the right repair if that isn't among it."""

    today: bool
    today_two: bool
    first: bool
    first_two: bool
    right: bool
    tests: int
    needless: int
    cost: float
    by_findings: float
    trail: tuple[str, ...]


class Road:
    """A simulated car in the shop."""

    def __init__(self, name: str, seed: int) -> None:
        self.scenario, rng = SCENARIOS[name], Random(f"{name} {seed}")
        self.record = _with_concern(demo(FILES[self.scenario.car]), self.concern(Random(f"concern {name} {seed}")))
        self.car = FaultyCar(self.record, self.scenario.draw(rng), rng)
        self.visit = Visit(self.record, first_boxes(self.record))
        self.visit.set("visit.before.date", READ_ON)
        for ref, (value, gauge) in self.car.first.items():
            self.visit.read(ref, value, gauge=gauge)
        self.cost, self.tests, self.further = 0.0, 0, 0
        self.trail: list[str] = []
        self.found: set[str] = set()
        self.cleared: set[str] = set()

    def concern(self, rng: Random) -> str:
        """What the owner says."""
        said = [CONCERNS[mode] for mode, _ in self.scenario.causes if mode in CONCERNS and rng.random() < SAID]
        return " ".join(said) or (rng.choice([*CONCERNS.values()]) if rng.random() < SAID_ELSE else "")

    def visited(self) -> Visited:
        """Follow the advice until a repair is advised, or nothing is."""
        entries = dict(self.visit.entries)
        today = appraisal = self.visit.appraise().appraisal
        while True:
            adviser = Adviser(appraisal)
            step, groups = next_steps(appraisal, adviser)
            group = next((item for item in groups if item.step is step), None)
            self.trail.append(f"{step.kind} {step.id}.{step.place}" if step else "nothing")
            if step is None or not self.make(step, group, appraisal) or len(self.trail) == MOST_STEPS:
                break
            appraisal = self.visit.appraise().appraisal
        right, needless, repairs = self.repaired(adviser, step, group)
        return Visited(
            self.named(today, 0, set()),
            self.named(today, 1, set()),
            self.named(appraisal, 0, self.cleared),
            self.named(appraisal, 1, self.cleared),
            right,
            self.tests,
            needless,
            self.cost + repairs,
            self.by_findings(entries, adviser),
            tuple(self.trail),
        )

    def named(self, appraisal: Appraisal, more: int, cleared: set[str]) -> bool:
        """Whether the right causes are the first that are named, or among so many more; of a sound car none by half. cleared: the
        reading errors that were read again."""
        causes, wanted = appraisal.diagnosis.causes, {item for item in self.scenario.causes if item[0] not in cleared}
        if not wanted:
            return bool(self.scenario.causes) or not causes or causes[0].probability < 0.5
        return wanted <= {(cause.mode_id, cause.place) for cause in causes[: len(wanted) + more]}

    def make(self, step: Step, group: GroupAdvice | None, appraisal: Appraisal) -> bool:
        """Make a test, or read again, and write down what is found; False for what is none, or was made."""
        tried = next((item for item in group.tests if item.step == step), None) if group else None
        if step.kind == READ_AGAIN:
            self.read_again(appraisal, step)
        elif group and group.step is group.isolating:
            check, place = check_of(group.group.id)
            self.visit.read(f"{check}.{place}", self.part(check))
        elif tried is not None:
            self.find(tried.rests)
        else:
            refs = next((refs for title, refs in LOOKS_FOR.items() if step.title.startswith(title)), ())
            if not {*refs} - self.found:
                return False
            self.find(refs)
        self.tests, self.cost = self.tests + 1, self.cost + float(step.cost if step.kind != REPAIR else 0)
        return True

    def find(self, refs: Iterable[str]) -> None:
        """Write down what tests find."""
        for ref in refs:
            self.found.add(ref)
            check, place = check_by_id(ref.partition(".")[0]), ref.partition(".")[2]
            if check.kind == "look":
                self.visit.read(ref, "fault found" if self.car.finds(check.id, place) else "no fault found")
            else:
                value, gauge = self.car.read_again(ref)
                self.visit.read(ref, value, gauge=gauge)

    def read_again(self, appraisal: Appraisal, step: Step) -> None:
        """Read again with care: what is mixed up or of a wrong gauge is so no more."""
        labels = {row.ref: row.label for row in appraisal.plan.checks}
        refs = [ref for ref in self.car.first if self.is_reread(ref, step)]
        for ref in refs:
            value, gauge = self.car.read_again(ref, other_gauge=step.id == READ_AGAIN_JOB)
            self.visit.read(ref, value, gauge=gauge)
        self.further += 1
        one = f"cut-out.{step.place}.1" if step.id == READ_AGAIN_JOB else refs[0]
        value, gauge = self.car.read_again(one, other_gauge=step.id == READ_AGAIN_JOB)
        self.visit.measured_again(self.further, labels[CheckRef(one)], value, gauge)
        counts = any(ref.startswith("applications") for ref in refs)
        self.cleared |= {"counts-swapped"} if counts else set()
        self.cleared |= {*READING_ERRORS} - {"counts-swapped"} if step.id == READ_AGAIN_JOB else set()

    def is_reread(self, ref: str, step: Step) -> bool:
        if step.id != READ_AGAIN_JOB:
            return ref == step.id or ref.startswith(f"{step.id}.")
        check, _, place = ref.partition(".")
        return check in REPEATED and place.partition(".")[0] in ("system-1", "system-2")

    def part(self, check: str) -> str:
        """The part that an isolation test names: the right one if it is among those it knows."""
        modes = {mode for mode, _ in self.scenario.causes}
        return next((part for part, behind in PARTS[check].items() if modes & set(behind)), "nothing found")

    def repaired(self, adviser: Adviser, step: Step | None, group: GroupAdvice | None) -> tuple[bool, int, float]:
        """Whether the first repair is one that cures a fault; the needless ones before it, and what all cost."""
        remedies = self.remedies(adviser)
        cost = sum(adviser.cost(ref) for ref in remedies)
        if step is None or step.kind != REPAIR or group is None:
            return {mode for mode, _ in self.scenario.causes} <= self.cleared, 0, cost
        order = [ref for ref in (*group.repairs,) if group.repairs[ref] is step] + list(group.order)
        order = list(dict.fromkeys(order))
        needless = next((at for at, ref in enumerate(order) if ref in remedies), len(order))
        wasted = sum(adviser.cost(ref) for ref in order[:needless])
        return needless == 0, needless, cost + wasted

    def by_findings(self, entries: dict[str, Any], adviser: Adviser) -> float:
        """What it costs to do what each of the first findings calls for by itself, and the right repair."""
        record = self.record.model_copy(update={"tables": self.record.tables.model_copy(update={"causes": ()})})
        appraisal = Visit(record, entries).appraise().appraisal
        called = {item.line.ref for item in appraisal.labor.lines if item.proposed and not item.line.asked}
        return float(sum(adviser.cost(ref) for ref in called | self.remedies(adviser)))

    def remedies(self, adviser: Adviser) -> set[str]:
        """The repairs that cure the faults."""
        found = (cause for item in adviser.appraisal.diagnosis.groups for cause in item.causes)
        able = (cause for cause in found if (cause.mode_id, cause.place) in self.scenario.causes)
        return {adviser.remedy(cause) for cause in able if cause.mode_id not in READING_ERRORS} - {""}


def _with_concern(record: JobRecord, concern: str) -> JobRecord:
    return record.model_copy(update={"job": record.job.model_copy(update={"complaint": concern})})


def visited(name: str, seeds: Iterable[int]) -> list[Visited]:
    """What becomes of so many cars of a scenario."""
    return [Road(name, seed).visited() for seed in seeds]
