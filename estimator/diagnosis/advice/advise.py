"""What to do next with a car: per group of causes and for the whole, and the price band.

The order: read again what may be a reading error, then tests, then repairs. Letting be is a cost, never a verdict, and is
never offered while anything grounds the car or isn't measured: limits alone say what may be driven.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal

from estimator.appraisal import Appraisal
from estimator.boxes.keys import CheckRef
from estimator.diagnosis.advice.costs import MADE_ALREADY, Costs
from estimator.diagnosis.advice.named_part import check_of, named, with_named_part
from estimator.diagnosis.advice.troubleshooting import CENT, DIGITS, Case, Probe, after, best, cost_of_repair, in_order
from estimator.diagnosis.causes.result import READ_AGAIN_JOB, READING_ERRORS, SHOWN_FROM, Cause, Group
from estimator.facts.checks import check_by_id
from estimator.limits.judging.driving import NO_FINDING
from estimator.limits.judging.standing import UNMADE, Standing
from estimator.money import ZERO
from estimator.places import Place
from estimator.pricing.plan import PlannedLine
from estimator.records import OutcomeRow
from estimator.records.modes import READINGS

READ_AGAIN, TEST, REPAIR, LET_BE = "read-again", "test", "repair", "let-be"
KINDS = (READ_AGAIN, TEST, REPAIR, LET_BE)
# What a fault that stays unfound costs: at least this, or so many times its repair; a mere reading error less. Settings.
UNFOUND, UNFOUND_TIMES, UNFOUND_READING = 2500.0, 1.5, 300.0
ISOLATING = ("isolate-one-system", "pedal-circuit-isolation")
TOO_LITTLE = 0.35
# The readings of which one at least is repeated where a system's are.
REPEATED = ("cut-out", "applications")
OTHER = "other"


@dataclass(frozen=True)
class Step:
    """What to do next: a reading to take again, a test, a repair, or letting be; `cost` before tax, nothing shared."""

    kind: str
    id: str
    place: str
    title: str
    cost: Decimal


def words_of_step(step: Step, currency: str) -> str:
    """Return a step in a line: what, where, what it costs by itself."""
    cost = step.cost.quantize(Decimal(1), ROUND_HALF_UP)
    return f"Next: {step.title}" + (f", {cost:,} {currency}" if step.cost else "")


LETTING_BE = Step(LET_BE, "", "car", "Let be for now", ZERO)


@dataclass(frozen=True)
class Tried:
    """A test looked at one step ahead.

    `rests`: the checks by which it counts as made; `again`: only if one was measured again. bad, good: what each outcome costs
    times its weight; `cost`: what is expected in all.
    """

    probe: Probe
    step: Step
    rests: tuple[CheckRef, ...]
    again: bool
    made: bool
    bad: float
    good: float
    cost: float


@dataclass(frozen=True)
class GroupAdvice:
    """What is advised for a group: its cases, its repairs in the order in which they are made, the next step, and its test.

    What there is to choose from: reading again, the tests, the isolation test, the repairs by reference, the diagnosis with
    gauges (first of all where the group is ranked by the first ten minutes alone); what repairing and letting be come to on
    average.
    """

    group: Group
    cases: tuple[Case, ...]
    order: tuple[str, ...]
    again: Step | None
    tests: tuple[Tried, ...]
    isolating: Step | None
    repairs: Mapping[str, Step]
    diagnosis: Step | None
    repairing: float
    waiting: float
    step: Step | None = None
    probe: Probe | None = None

    @property
    def lead(self) -> Cause | None:
        """Its likeliest cause, if it is ranked."""
        ranked = self.group.causes if self.group.ranked else ()
        return min(ranked, key=lambda one: (-round(one.probability, DIGITS), one.mode_id, one.at), default=None)

    @property
    def whole(self) -> float:
        """The weight of all cases."""
        return math.fsum(case.probability for case in self.cases)

    @property
    def most(self) -> float:
        """The probability of the likeliest case with a cause."""
        return max((case.probability for case in self.cases if case.causes), default=0.0) / self.whole


class Adviser:
    """Advice for one car, from its appraisal."""

    def __init__(self, appraisal: Appraisal) -> None:
        self.appraisal = appraisal
        self.costs = Costs(appraisal.record, appraisal.plan)
        self.places = appraisal.record.car.places
        self.tests: dict[tuple[str, str], list[OutcomeRow]] = {}
        for row in appraisal.record.tables.tests:
            self.tests.setdefault((row.job_id, row.check_id), []).append(row)
        driving = appraisal.driving
        self.may_wait = driving.state == NO_FINDING and driving.made == driving.asked

    def of_group(self, group: Group) -> GroupAdvice:
        """Return what is advised for a group of causes."""
        cases = tuple(self._case(item.causes, item.probability) for item in group.hypotheses)
        cases = with_named_part(self.appraisal, group.id, cases)
        costs = {ref: self.cost(ref) for case in cases for ref in case.needs}
        whole = math.fsum(case.probability for case in cases)
        found = GroupAdvice(
            group,
            cases,
            in_order(cases, costs),
            self._read_again(group),
            tuple(self._tried(group, cases, costs)) if costs else (),
            self._isolating(group.id),
            {ref: self._repair(group, ref) for ref in sorted(costs)},
            self._diagnosis(group),
            cost_of_repair(cases, costs) / whole,
            math.fsum(case.probability * case.unfound for case in cases) / whole,
        )
        return self._chosen(found, costs)

    def _chosen(self, found: GroupAdvice, costs: Mapping[str, float]) -> GroupAdvice:
        """The same with its step: a test wherever it pays, the others for a cause that is shown."""
        lead = found.lead
        if lead is None:
            return found
        shown = round(lead.probability, DIGITS) >= SHOWN_FROM
        if found.diagnosis is not None and not found.group.gauged:
            return replace(found, step=found.diagnosis if shown else None)
        reread = found.again is not None and self.is_reread(found.again.place)
        if found.group.id == READINGS or (shown and lead.mode_id in READING_ERRORS and not reread):
            return replace(found, step=found.again if shown and not reread else None)
        able = {tried.probe.ref: tried for tried in found.tests if not tried.made}
        choice = best(
            found.cases, costs, [tried.probe for tried in able.values()], may_wait=self.may_leave(found.group)
        )
        if choice.kind == TEST:
            return replace(found, step=able[choice.ref].step, probe=able[choice.ref].probe)
        if not shown or not choice.ref:
            return replace(found, step=LETTING_BE if shown and self.may_wait else None)
        little = round(found.most, DIGITS) < TOO_LITTLE and not named(self.appraisal, check_of(found.group.id))
        return replace(found, step=(little and found.isolating) or found.repairs[choice.ref])

    def may_leave(self, group: Group) -> bool:
        """Whether leaving a group as it is counts among what may be done: where the car may wait, or none of its checks has a
        finding. Only in the first case letting be is said."""
        picked = self.appraisal.callers.picked.get(group.id)
        return self.may_wait or (group.id != READINGS and picked is not None and picked.findings == 0)

    def is_reread(self, place: str) -> bool:
        """Whether a system's readings were repeated."""
        return any(item.thirds.read > 0 for item in self.repeated(place))

    def repeated(self, place: str) -> tuple[Standing, ...]:
        """The checks by which the readings of a system count as repeated."""
        return tuple(
            item for item in self.appraisal.standings if item.row.check.id in REPEATED and item.row.place.id == place
        )

    def _tried(self, group: Group, cases: Sequence[Case], costs: Mapping[str, float]) -> Iterator[Tried]:
        whole = math.fsum(case.probability for case in cases)
        for line, rows in self._tests(group):
            check = rows[0].check_id
            probe = Probe(f"{line.ref}/{check}", float(self.costs.of_test(line)), self._chances(line, rows))
            standings = [item for item in self.appraisal.standings if self._is_written(item, line, check)]
            if not standings:  # nowhere to write its outcome on this car
                continue
            again = any(row.mode in READING_ERRORS for row in rows)
            made = any(item.thirds.read > 0 or (item.latest not in UNMADE and not again) for item in standings)
            bad, good = after(cases, costs, probe, may_wait=self.may_leave(group))
            cost = probe.cost + (bad + good) / whole
            rests = tuple(item.ref for item in standings)
            yield Tried(probe, self._step(TEST, line, check), rests, again, made, bad, good, cost)

    def _case(self, causes: Sequence[Cause], probability: float) -> Case:
        refs = [ref for cause in causes if (ref := self.remedy(cause))]
        mere = all(cause.mode_id in READING_ERRORS for cause in causes)
        dear = max(UNFOUND, UNFOUND_TIMES * sum(self.cost(ref) for ref in refs))
        unfound = 0.0 if not causes else UNFOUND_READING if mere else dear
        return Case(tuple((cause.mode_id, cause.at) for cause in causes), frozenset(refs), probability, unfound)

    def remedy(self, cause: Cause) -> str:
        """Return the job line that cures a cause; of a reading error the line that reads again; "" where there is none."""
        job_id = READ_AGAIN_JOB if cause.mode_id in READING_ERRORS else cause.job_id
        line = self.costs.line_at(job_id, self._place(cause))
        return line.ref if line else ""

    def _place(self, cause: Cause) -> Place:
        return self.places.find(cause.at) or Place("car", "car")

    def cost(self, ref: str) -> float:
        """Return what a remedy costs, at least a cent."""
        line = self.costs.line(ref)
        of = self.costs.of_test if line.job.job_id == READ_AGAIN_JOB else self.costs.of_repair
        return max(float(of(line)), CENT)

    def _repair(self, group: Group, ref: str) -> Step:
        """A repair; of one that may be at several places first the test that says where."""
        line = self.costs.line(ref)
        step = self._step(READ_AGAIN if line.job.job_id == READ_AGAIN_JOB else REPAIR, line)
        for cause in group.causes:
            if ref in cause.either:
                first = "; then ".join(self.costs.line(line).title for line in cause.lines)
                title = f"{self.costs.line(ref).job.title}, the one at fault of {len(cause.either)}"
                return replace(step, place=cause.at, title=f"{first}; then {title}" if first else title)
        return step

    def _read_again(self, group: Group) -> Step | None:
        """Reading again what a mere reading error of the group made wrong."""
        place = next((self._place(cause) for cause in group.causes if cause.mode_id in READING_ERRORS), None)
        line = self.costs.line_at(READ_AGAIN_JOB, place) if place else None
        return self._step(READ_AGAIN, line) if line else None

    def _diagnosis(self, group: Group) -> Step | None:
        """Reading what the gauges say, of a group that may be ranked without them."""
        line = self.costs.line_at(MADE_ALREADY, Place("car", "car")) if group.early else None
        return Step(TEST, line.job.job_id, line.place.id, line.title, self.costs.alone(line)) if line else None

    def _isolating(self, group: str) -> Step | None:
        """The test that says which part of a system or of the pedal circuit is at fault."""
        job, place = ISOLATING[group == "pedal"], self.places.find(check_of(group)[1])
        line = self.costs.line_at(job, place) if place else None
        return self._step(TEST, line) if line else None

    def _step(self, kind: str, line: PlannedLine, check_id: str = "") -> Step:
        again = kind == TEST and line.job.job_id == READ_AGAIN_JOB
        cost = self.costs.of_repair(line) if kind == REPAIR else self.costs.of_test(line)
        title = f"{line.title}: {check_by_id(check_id).title}" if check_id and not again else line.title
        return Step(READ_AGAIN if again else kind, line.job.job_id, line.place.id, title, cost)

    def _tests(self, group: Group) -> Iterator[tuple[PlannedLine, list[OutcomeRow]]]:
        """The tests that tell causes of a group apart."""
        modes = {cause.mode_id for cause in group.causes}
        starts = {self._place(cause) for cause in group.causes}
        for (job_id, _), rows in self.tests.items():
            if not modes & {row.mode for row in rows if row.mode != OTHER}:
                continue
            for line in self.appraisal.plan.lines:
                if line.job.job_id == job_id and self._is_of(line, starts):
                    yield line, rows

    def _is_of(self, line: PlannedLine, starts: set[Place]) -> bool:
        """Whether a line stands at one of these places, or they lead to each other."""
        return any(
            line.place in self.places.at(start, line.place.kind) or start in self.places.at(line.place, start.kind)
            for start in starts
        )

    def _chances(self, line: PlannedLine, rows: Sequence[OutcomeRow]) -> Callable[[Case], float]:
        """The probability of the bad outcome in a case: a cause elsewhere is one without a row."""
        of = {row.mode: row.probability for row in rows}

        def bad(case: Case) -> float:
            here = [
                mode for mode, at in case.causes if self._is_of(line, {self.places.find(at) or Place("car", "car")})
            ]
            return max((of.get(mode, of[OTHER]) for mode in here), default=of[OTHER])

        return bad

    def _is_written(self, standing: Standing, line: PlannedLine, check: str) -> bool:
        """Whether the outcome of a line's test is written in a check."""
        row = standing.row
        return row.check.id == check and row.place in self.places.at(line.place, row.place.kind)
