"""What to do next with a car: per group of causes and for the whole, and the price band.

The order: read again what may be a reading error, then tests, then repairs. Letting be is a cost, never a verdict, and is
never offered while anything grounds the car or isn't measured: limits alone say what may be driven.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from estimator.appraisal import Appraisal
from estimator.diagnosis.advice.costs import Costs
from estimator.diagnosis.advice.named_part import with_named_part
from estimator.diagnosis.advice.troubleshooting import Case, Probe, best, in_order
from estimator.diagnosis.causes.result import READ_AGAIN_JOB, READING_ERRORS, SHOWN_FROM, Cause, Group
from estimator.facts.checks import check_by_id
from estimator.limits.judging.driving import NO_FINDING
from estimator.limits.judging.standing import UNMADE
from estimator.money import ZERO
from estimator.places import Place
from estimator.pricing.plan import PlannedLine
from estimator.records import OutcomeRow

READ_AGAIN, TEST, REPAIR, LET_BE = "read-again", "test", "repair", "let-be"
KINDS = (READ_AGAIN, TEST, REPAIR, LET_BE)
# What a fault that stays unfound costs: at least this, or so many times its repair; a mere reading error less. Settings.
UNFOUND, UNFOUND_TIMES, UNFOUND_READING = 2500.0, 1.5, 300.0
ISOLATING = ("isolate-one-system", "pedal-circuit-isolation")
TOO_LITTLE = 0.35
OTHER = "other"
_DIGITS = 6


@dataclass(frozen=True)
class Step:
    """What to do next: a reading to take again, a test, a repair, or letting be; `cost` before tax, nothing shared."""

    kind: str
    id: str
    place: str
    title: str
    cost: Decimal


@dataclass(frozen=True)
class GroupAdvice:
    """What is advised for a group: its cases, its repairs in the order in which they are made, the next step, and its test."""

    group: Group
    cases: tuple[Case, ...]
    order: tuple[str, ...]
    step: Step | None = None
    probe: Probe | None = None


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
        order = in_order(cases, costs)
        shown = [cause for cause in group.causes if round(cause.probability, _DIGITS) >= SHOWN_FROM]
        plain = GroupAdvice(group, cases, order)
        if not (group.ranked and shown):
            return plain
        if shown[0].mode_id in READING_ERRORS:
            return replace(plain, step=self._read_again(shown[0]))
        probes = {probe.ref: probe for probe in self._probes(group)}
        choice = best(cases, costs, list(probes.values()), may_wait=self.may_wait)
        if choice.kind == TEST:
            ref, _, check_id = choice.ref.partition("/")
            return replace(plain, step=self._step(TEST, self.costs.line(ref), check_id), probe=probes[choice.ref])
        most = max((case.probability for case in cases if case.causes), default=0.0)
        if choice.kind == REPAIR and round(most, _DIGITS) < TOO_LITTLE:
            isolating = [line for job in ISOLATING if (line := self.costs.line_at(job, self._place(shown[0])))]
            if isolating:
                return replace(plain, step=self._step(TEST, isolating[0]))
        step = Step(LET_BE, "", shown[0].place, "Let be for now", ZERO)
        return replace(plain, step=self._step(REPAIR, self.costs.line(choice.ref)) if choice.ref else step)

    def _probes(self, group: Group) -> Iterator[Probe]:
        for line, rows in self._tests(group):
            cost = float(self.costs.of_test(line))
            yield Probe(f"{line.ref}/{rows[0].check_id}", cost, self._chances(line, rows))

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
        """Return what a remedy costs."""
        line = self.costs.line(ref)
        of = self.costs.of_test if line.job.job_id == READ_AGAIN_JOB else self.costs.of_repair
        return float(of(line))

    def _read_again(self, cause: Cause) -> Step | None:
        line = self.costs.line_at(READ_AGAIN_JOB, self._place(cause))
        return self._step(READ_AGAIN, line) if line else None

    def _step(self, kind: str, line: PlannedLine, check_id: str = "") -> Step:
        again = kind == TEST and line.job.job_id == READ_AGAIN_JOB
        cost = self.costs.of_repair(line) if kind == REPAIR else self.costs.of_test(line)
        title = f"{line.title}: {check_by_id(check_id).title}" if check_id and not again else line.title
        return Step(READ_AGAIN if again else kind, line.job.job_id, line.place.id, title, cost)

    def _tests(self, group: Group) -> Iterator[tuple[PlannedLine, list[OutcomeRow]]]:
        """The tests that tell causes of a group apart and weren't made there."""
        modes = {cause.mode_id for cause in group.causes}
        starts = {self._place(cause) for cause in group.causes}
        for (job_id, _), rows in self.tests.items():
            if not modes & {row.mode for row in rows if row.mode != OTHER}:
                continue
            for line in self.appraisal.plan.lines:
                if line.job.job_id == job_id and self._is_of(line, starts) and not self._made(line, rows):
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

    def _made(self, line: PlannedLine, rows: Sequence[OutcomeRow]) -> bool:
        """Whether the check in which the outcome is written was made; a reading to be taken again: whether it was."""
        check_id = rows[0].check_id
        again = any(row.mode in READING_ERRORS for row in rows)
        for standing in self.appraisal.standings:
            row = standing.row
            if row.check.id == check_id and row.place in self.places.at(line.place, row.place.kind):
                made = standing.latest not in UNMADE
                if standing.thirds.read > 0 or (made and not again):
                    return True
        return False
