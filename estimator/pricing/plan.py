"""What can be done to a car, before anyone decides: every job at every place it can stand, the steps each takes, the
parts, what calls for a job and what must be measured again after it. It follows from the record alone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from estimator.boxes.keys import LineRef, PartRef, line_ref, part_ref
from estimator.limits.judging.check_rows import CheckRow, check_rows
from estimator.places import Place
from estimator.records import Car, JobRecord, JobRow, PartRow, StepRow
from estimator.text_width import text_width

# A line of the Estimate: pixels, points of its bold type; and where a title may end that is longer.
LINE_ROOM, LINE_TYPE, _ENDS = 312, 10, (":", ";", ", or ", ", with ", ",", " with ")


@dataclass(frozen=True)
class PlannedLine:
    """A job at a place. `label` is its short reference, for people and for look-ups."""

    ref: LineRef
    label: str
    job: JobRow
    place: Place
    asked: bool

    @property
    def title(self) -> str:
        return self.job.title if self.place.kind == "car" else f"{self.job.title}, {self.place.title}"

    @property
    def short_title(self) -> str:
        """The title, or as much of it as a line has room for, up to a mark; its place whole."""
        where = "" if self.place.kind == "car" else f", {self.place.title}"
        titles = [self.job.title.partition(end)[0] + where for end in ("\n", *_ENDS)]
        fits = (title for title in titles if text_width(title, LINE_TYPE, bold=True) <= LINE_ROOM)
        return next(fits, min(titles, key=len))


@dataclass(frozen=True)
class PlannedStep:
    """A step as the visit knows it: once at its place if it is shared, else once for each job line."""

    ref: str
    label: str
    step: StepRow
    place: Place

    @property
    def is_shared(self) -> bool:
        return self.step.shared == "once a visit"


Use = tuple[PlannedLine, PlannedStep]


@dataclass(frozen=True)
class PlannedPart:
    ref: PartRef
    label: str
    line: PlannedLine
    part: PartRow
    quantity: Decimal


@dataclass(frozen=True)
class Plan:
    """All that a visit may hold. The pairs name references."""

    checks: tuple[CheckRow, ...]
    lines: tuple[PlannedLine, ...]
    steps: tuple[PlannedStep, ...]
    uses: tuple[Use, ...]
    parts: tuple[PlannedPart, ...]
    supersedes: tuple[tuple[PlannedLine, PlannedLine], ...]
    alternatives: tuple[tuple[PlannedLine, PlannedLine], ...]
    calls: tuple[tuple[CheckRow, tuple[str, ...], PlannedLine], ...]
    voids: tuple[tuple[PlannedLine, CheckRow], ...]
    cures: tuple[tuple[PlannedLine, CheckRow], ...]


def plan(record: JobRecord) -> Plan:
    """Lay out every job × place, step × place, part and rule of a record."""
    rows = check_rows(record.car, record.shop.show, record.job.checks)
    lines = _lines(record)
    steps, uses = _steps(record, lines)
    return Plan(
        checks=rows,
        lines=lines,
        steps=steps,
        uses=uses,
        parts=_parts(record, lines),
        supersedes=tuple(_supersedes(record.car, lines)),
        alternatives=tuple(_alternatives(lines)),
        calls=tuple(_calls(record, rows, lines)),
        voids=tuple(_again(record, rows, lines, "yes", "no")),
        cures=tuple(_again(record, rows, lines, "yes")),
    )


def _lines(record: JobRecord) -> tuple[PlannedLine, ...]:
    asked = {(item.job, item.at) for item in record.job.jobs}
    found: list[PlannedLine] = []
    for job in record.tables.jobs:
        for place in job.places(record.car):
            ref = line_ref(job.job_id, place.id)
            found.append(PlannedLine(ref, f"job {len(found) + 1}", job, place, (job.job_id, place.id) in asked))
    return tuple(found)


def _steps(record: JobRecord, lines: tuple[PlannedLine, ...]) -> tuple[tuple[PlannedStep, ...], tuple[Use, ...]]:
    table = {step.step_id: step for step in record.tables.steps}
    of_job: dict[str, list[StepRow]] = {}
    for job_id, step_id in record.tables.job_steps:
        of_job.setdefault(job_id, []).append(table[step_id])
    steps: dict[str, PlannedStep] = {}
    uses: list[Use] = []
    for line in lines:
        for step in of_job.get(line.job.job_id, ()):
            for place in record.car.places.at(line.place, step.place_kind):
                ref = f"{step.step_id}.{place.id}"
                if step.shared == "each job":
                    ref = f"{ref}.{line.ref}"
                if ref not in steps:
                    steps[ref] = PlannedStep(ref, f"step {len(steps) + 1}", step, place)
                uses.append((line, steps[ref]))
    return tuple(steps.values()), tuple(uses)


def _parts(record: JobRecord, lines: tuple[PlannedLine, ...]) -> tuple[PlannedPart, ...]:
    table = {part.part_id: part for part in record.tables.parts}
    families = (record.car.fluid.family, "any")
    found: list[PlannedPart] = []
    for line in lines:
        for row in record.tables.job_parts:
            if row.job_id == line.job.job_id and table[row.part_id].fluid_family in families:
                ref = part_ref(row.part_id, line.ref)
                found.append(PlannedPart(ref, f"part {len(found) + 1}", line, table[row.part_id], row.quantity))
    return tuple(found)


def _supersedes(car: Car, lines: tuple[PlannedLine, ...]) -> Iterator[tuple[PlannedLine, PlannedLine]]:
    """(the line that includes, the line that is included), where their places meet."""
    for above in lines:
        for below in lines:
            if below.job.job_id in above.job.supersedes and below.place in car.places.at(above.place, below.place.kind):
                yield above, below


def _alternatives(lines: tuple[PlannedLine, ...]) -> Iterator[tuple[PlannedLine, PlannedLine]]:
    """Pairs at one place of which only one makes sense."""
    for number, first in enumerate(lines):
        for second in lines[number + 1 :]:
            group = first.job.either_or_group
            if group and group == second.job.either_or_group and first.place == second.place:
                yield first, second


def _calls(
    record: JobRecord, rows: tuple[CheckRow, ...], lines: tuple[PlannedLine, ...]
) -> Iterator[tuple[CheckRow, tuple[str, ...], PlannedLine]]:
    """Each check with the verdicts of it that call for a line, two at a time."""
    by_job = _by_job(lines)
    verdicts: dict[str, dict[str, list[str]]] = {}
    for call in record.tables.calls:
        verdicts.setdefault(call.check_id, {}).setdefault(call.job_id, []).append(call.verdict)
    for row in rows:
        for job_id, words in verdicts.get(row.check.id, {}).items():
            for line in by_job.get(job_id, ()):
                if line.place in record.car.places.at(row.place, line.place.kind):
                    yield from ((row, tuple(words[at : at + 2]), line) for at in range(0, len(words), 2))


def _again(
    record: JobRecord, rows: tuple[CheckRow, ...], lines: tuple[PlannedLine, ...], *cures: str
) -> Iterator[tuple[PlannedLine, CheckRow]]:
    """Each line with the checks that it makes void; of those, the ones it cures where `cures` is yes alone."""
    again: dict[str, set[str]] = {}
    for job_id, check_id, cured in record.tables.job_checks:
        if cured in cures:
            again.setdefault(job_id, set()).add(check_id)
    for line in lines:
        wanted = again.get(line.job.job_id, set())
        for row in rows:
            if wanted & {row.check.id, *row.check.voided_with} and row.place in record.car.places.at(
                line.place, row.place.kind
            ):
                yield line, row


def _by_job(lines: tuple[PlannedLine, ...]) -> dict[str, list[PlannedLine]]:
    found: dict[str, list[PlannedLine]] = {}
    for line in lines:
        found.setdefault(line.job.job_id, []).append(line)
    return found
