"""The advice for a car: the next step, that of each group of causes, and the price band."""

from __future__ import annotations

from dataclasses import dataclass

from estimator.appraisal import Appraisal
from estimator.diagnosis.advice.advise import KINDS, LETTING_BE, READ_AGAIN, REPAIR, TEST, Adviser, GroupAdvice, Step
from estimator.diagnosis.advice.band import Band, price_band
from estimator.diagnosis.advice.troubleshooting import DIGITS
from estimator.diagnosis.causes.result import Cause
from estimator.limits.judging.standing import Standing
from estimator.limits.judging.verdict_words import NOT_BELIEVABLE
from estimator.money import ZERO
from estimator.pricing.offers import Item


@dataclass(frozen=True)
class Advice:
    """What to do next (None where nothing is pointed to), the step of each group that has one, the band."""

    next: Step | None
    groups: tuple[GroupAdvice, ...]
    band: Band

    def of_cause(self, cause: Cause) -> Step | None:
        """The step of a cause's group."""
        return next((item.step for item in self.groups if cause in item.group.causes), None)


def next_steps(appraisal: Appraisal, adviser: Adviser) -> tuple[Step | None, tuple[GroupAdvice, ...]]:
    """Return what to do next with a car, and what is advised for each group of causes.

    Where no cause asks for anything, the first job that a finding calls for is next.
    """
    groups = tuple(adviser.of_group(group) for group in appraisal.diagnosis.groups)
    again = _not_explained(appraisal) or _not_believed(appraisal)
    found = sorted((item for item in groups if item.step), key=_first)
    step = again or (found[0].step if found else None)
    if step is None or step == LETTING_BE:
        item = called_item(appraisal)
        step = _step_of(appraisal, item) if item else step
    return step, groups


def called_item(appraisal: Appraisal) -> Item | None:
    """The first item of the estimate that a finding calls for; None where none does."""
    return next((item for item in appraisal.offers if item.job and item.called_by), None)


def _step_of(appraisal: Appraisal, item: Item) -> Step:
    """Doing an item of the estimate: a test where its job cures none of the checks that it has made again."""
    assert item.job is not None
    line, checks = item.job.line.line, appraisal.record.tables.job_checks
    cures = any(job_id == line.job.job_id and cures == "yes" for job_id, _, cures in checks)
    return Step(REPAIR if cures else TEST, line.job.job_id, line.place.id, item.title, item.amount)


def advise(appraisal: Appraisal) -> Advice:
    """Return what to do next with a car, and what its visit may come to."""
    adviser = Adviser(appraisal)
    step, groups = next_steps(appraisal, adviser)
    return Advice(step, groups, price_band(appraisal, adviser, groups))


def _first(item: GroupAdvice) -> tuple[int, float]:
    """Readings before tests before repairs; among those of a kind the likeliest fault."""
    assert item.step is not None and item.lead is not None
    return KINDS.index(item.step.kind), -round(item.lead.probability, DIGITS)


@dataclass(frozen=True)
class Reread:
    """Reading a check at a place again: its label, those of its rows, and whether it was done."""

    check: str
    label: str
    labels: tuple[str, ...]
    place: str
    made: bool

    @property
    def step(self) -> Step:
        return Step(READ_AGAIN, self.check, self.place, f"Remeasure: {self.label}", ZERO)


def reread(appraisal: Appraisal, check: str) -> Reread:
    """Return what reading a check at a place again is: `hold.system-1`."""
    rows = [item for item in appraisal.standings if f"{item.row.check.id}.{item.row.place.id}" == check]
    first = rows[0].row
    label = first.check.title if first.place.kind == "car" else f"{first.check.title}, {first.place.title}"
    made = any(item.thirds.read > 0 for item in rows)
    return Reread(check, label, tuple(item.label for item in rows), first.place.id, made)


def _not_explained(appraisal: Appraisal) -> Step | None:
    """The first reading to be remeasured that wasn't."""
    found = (reread(appraisal, row.check) for row in appraisal.callers.beside if row.again)
    return next((again.step for again in found if not again.made), None)


def not_believed(appraisal: Appraisal) -> Standing | None:
    """Return the first check whose latest reading can't be one."""
    return next((item for item in appraisal.standings if item.latest == NOT_BELIEVABLE), None)


def _not_believed(appraisal: Appraisal) -> Step | None:
    item = not_believed(appraisal)
    return Step(READ_AGAIN, item.ref, item.row.place.id, f"Remeasure: {item.label}", ZERO) if item else None
