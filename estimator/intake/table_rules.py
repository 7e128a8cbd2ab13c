"""What must hold within and between the labor tables."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping

from estimator.errors import InputProblem, nearest
from estimator.facts.checks import Check, checks
from estimator.intake.csv_rows import Line
from estimator.intake.model_errors import choices
from estimator.places import ALL, AXLES, LEADS_TO, WHEELS
from estimator.records import JobRow, StepRow
from estimator.records.modes import MODES
from estimator.records.units import UNIT_CODES

# What makes two rows of a table the same.
_KEYS = {
    "jobs.csv": ("job_id",),
    "steps.csv": ("step_id",),
    "parts.csv": ("part_id",),
    "job_steps.csv": ("job_id", "step_id"),
    "job_parts.csv": ("job_id", "part_id"),
    "calls.csv": ("check_id", "verdict", "job_id"),
    "job_checks.csv": ("job_id", "check_id"),
    "packages.csv": ("package", "job_id", "at", "check_id"),
    "tests.csv": ("job_id", "check_id", "mode"),
    "causes.csv": ("mode_id", "place_kind"),
}
# Percent of the systems, pedals and wheels seen that may have a fault, all priors of a group together.
_MOST_FAULTY = 95.0
OTHER = "other"  # of a test: every cause without a row of its own
# The places that every car has; a package names others together.
_FIXED = {"car": ("car",), "axle": AXLES, "wheel": WHEELS}
_VERDICTS = {
    "number": ("out of limits", "too close to limit", "unable to measure"),
    "recorded": ("unable to measure",),
    "look": ("fault found", "unable to check", "not checked"),
    "family": ("fault found", "unable to check", "not checked"),
    "text": (),
}


def row_problems(name: str, lines: Iterable[Line]) -> Iterator[InputProblem]:
    """What is wrong within one table: rows twice, hours out of order, an end of the car where none is."""
    first: dict[tuple[str, ...], int] = {}
    columns = _KEYS[name]
    for line in lines:
        key = tuple(getattr(line.row, column) for column in columns)
        earlier = first.setdefault(key, line.number)
        if earlier != line.number:
            same = " with ".join(f'"{part}"' for part in key if part)
            yield line.problem(columns[0], f"{same} is there twice", f"line {earlier} has it already", "delete one")
        if name == "steps.csv":
            hours = (line.row.hours_low, line.row.hours_likely, line.row.hours_high)
            if list(hours) != sorted(hours):
                found = "hours {:g}, {:g}, {:g}".format(*hours)
                yield line.problem(
                    "hours_low", found, "the order must be low ≤ likely ≤ high", "correct the three hours"
                )
        if name == "parts.csv" and line.row.unit not in UNIT_CODES:
            allowed = f"a unit that an invoice can name: {choices(UNIT_CODES)}"
            yield line.problem("unit", f'found "{line.row.unit}"', allowed, "write one of these")
        if name == "jobs.csv" and line.row.only_at and line.row.place_kind not in ("axle", "wheel", "caliper"):
            allowed = f"only a job at an axle, wheel or caliper has an end of the car, not at {line.row.place_kind}"
            yield line.problem("only_at", f'found "{line.row.only_at}"', allowed, "leave the field empty")


def cross_problems(lines: dict[str, list[Line]]) -> list[InputProblem]:
    """What is wrong between the tables: references to nothing, places that lead nowhere, jobs without a step."""
    jobs = {line.row.job_id: line.row for line in lines["jobs.csv"]}
    steps = {line.row.step_id: line.row for line in lines["steps.csv"]}
    parts = {line.row.part_id: line.row for line in lines["parts.csv"]}
    known_checks = {check.id: check for check in checks()}
    found = [
        *_packages(lines["packages.csv"], jobs, known_checks),
        *_unknown(lines["job_steps.csv"], job_id=jobs, step_id=steps),
        *_unknown(lines["job_parts.csv"], job_id=jobs, part_id=parts),
        *_unknown(lines["calls.csv"], check_id=known_checks, job_id=jobs),
        *_unknown(lines["job_checks.csv"], job_id=jobs, check_id=known_checks),
        *_unknown(
            lines["tests.csv"], job_id=jobs, check_id=known_checks, mode={*(mode_id for mode_id, _ in MODES), OTHER}
        ),
        *_supersedes(lines["jobs.csv"], jobs),
        *_causes(lines["causes.csv"], jobs),
    ]
    if found:
        return found
    return [
        *_without_steps(lines),
        *_nowhere(lines["job_steps.csv"], "step_id", jobs, steps),
        *_nowhere(lines["job_checks.csv"], "check_id", jobs, known_checks),
        *_calls(lines["calls.csv"], jobs, known_checks),
        *_nowhere(lines["tests.csv"], "check_id", jobs, known_checks),
        *_tests(lines["tests.csv"]),
    ]


def _unknown(lines: Iterable[Line], **known: Collection[str]) -> Iterator[InputProblem]:
    where = {"job_id": "jobs.csv", "step_id": "steps.csv", "part_id": "parts.csv", "check_id": "the Inspection tab"}
    where["mode"] = f'causes.csv, or "{OTHER}"'
    for line in lines:
        for column, ids in known.items():
            wanted = getattr(line.row, column)
            if wanted not in ids:
                found = f'"{wanted}" is in no row{nearest(wanted, ids)}'
                yield line.problem(column, found, f"use an id of {where[column]}", "correct the id or add its row")


def _packages(lines: Iterable[Line], jobs: Mapping[str, JobRow], known: Collection[str]) -> Iterator[InputProblem]:
    """A package's row asks for a job at its places, or for a check."""
    for line in lines:
        row = line.row
        if (row.job_id == "") == (row.check_id == ""):
            found = "both are given" if row.job_id else "neither is given"
            yield line.problem("job_id", found, "a row is for a job or for a check", "use a row for each")
        elif row.check_id:
            yield from _unknown([line], check_id=known)
            if row.at:
                yield line.problem("at", f'found "{row.at}"', "a check is made at all its places", "leave it empty")
        elif row.job_id not in jobs:
            yield from _unknown([line], job_id=jobs)
        elif row.at not in (allowed := (ALL, *_FIXED.get(jobs[row.job_id].place_kind, ()))):
            yield line.problem(
                "at", f'found "{row.at}"', f'"{row.job_id}" goes at {choices(allowed)}', "write one of these"
            )


def _supersedes(lines: Iterable[Line], jobs: Mapping[str, JobRow]) -> Iterator[InputProblem]:
    for line in lines:
        for other in line.row.supersedes:
            if other not in jobs:
                found = f'"{other}" is in no row{nearest(other, jobs)}'
                yield line.problem("supersedes", found, "enter job ids with blanks between", "correct the id")
            elif line.row.job_id in _reached(other, jobs):
                found = f'"{line.row.job_id}" includes itself through "{other}"'
                yield line.problem("supersedes", found, "of two jobs only one can include the other", "delete one")
            elif jobs[other].place_kind not in LEADS_TO[line.row.place_kind]:
                found = f'"{other}" is done at: {jobs[other].place_kind}'
                allowed = f"a job at {line.row.place_kind} can't include it"
                yield line.problem("supersedes", found, allowed, "delete the id or correct the place_kind")


def _reached(start: str, jobs: Mapping[str, JobRow]) -> set[str]:
    """The jobs that a job includes, and those that these include, and itself."""
    reached, waiting = set(), [start]
    while waiting:
        job_id = waiting.pop()
        if job_id in jobs and job_id not in reached:
            reached.add(job_id)
            waiting += jobs[job_id].supersedes
    return reached


def _without_steps(lines: dict[str, list[Line]]) -> Iterator[InputProblem]:
    with_steps = {line.row.job_id for line in lines["job_steps.csv"]}
    for line in lines["jobs.csv"]:
        if line.row.job_id not in with_steps:
            found = f'"{line.row.job_id}" has no step'
            yield line.problem("job_id", found, "a job is at least one step", "add its rows to job_steps.csv")


def _nowhere(
    lines: Iterable[Line], column: str, jobs: Mapping[str, JobRow], others: Mapping[str, StepRow | Check]
) -> Iterator[InputProblem]:
    for line in lines:
        job, other = jobs[line.row.job_id], others[getattr(line.row, column)]
        if other.place_kind not in LEADS_TO[job.place_kind]:
            yield _leads_nowhere(line, column, job.place_kind, other.place_kind)


def _calls(
    lines: Iterable[Line], jobs: Mapping[str, JobRow], known_checks: Mapping[str, Check]
) -> Iterator[InputProblem]:
    for line in lines:
        check, job = known_checks[line.row.check_id], jobs[line.row.job_id]
        allowed = _VERDICTS[check.kind]
        if line.row.verdict not in allowed:
            may = f"this check may call at {choices(allowed)}" if allowed else "this check calls no job"
            yield line.problem("verdict", f'found "{line.row.verdict}"', may, "correct the verdict or delete the row")
        if job.place_kind not in LEADS_TO[check.place_kind]:
            yield _leads_nowhere(line, "job_id", check.place_kind, job.place_kind)


def _tests(lines: Iterable[Line]) -> Iterator[InputProblem]:
    """There is a row for the causes that have none of their own, for each check in which a test's outcome is written."""
    by_test: dict[tuple[str, str], list[Line]] = {}
    for line in lines:
        by_test.setdefault((line.row.job_id, line.row.check_id), []).append(line)
    for (job_id, check_id), mine in by_test.items():
        if not any(line.row.mode == OTHER for line in mine):
            found = f'"{job_id}" with "{check_id}" has no row "{OTHER}"'
            allowed = "each test has one, for every cause without a row"
            yield mine[0].problem("mode", found, allowed, "add it")


def _causes(lines: Iterable[Line], jobs: Mapping[str, JobRow]) -> Iterator[InputProblem]:
    known: dict[str, list[str]] = {}
    sums: dict[str, float] = {}
    for mode_id, kind in MODES:
        known.setdefault(mode_id, []).append(kind)
    for line in lines:
        row = line.row
        if row.mode_id not in known:
            found = f'"{row.mode_id}" is no cause{nearest(row.mode_id, known)}'
            yield line.problem("mode_id", found, f"use one of: {', '.join(known)}", "correct the id or delete the row")
            continue
        if row.place_kind not in known[row.mode_id]:
            allowed = f"{row.mode_id} is a cause at: {', '.join(known[row.mode_id])}"
            yield line.problem("place_kind", f'found "{row.place_kind}"', allowed, "correct the place_kind")
            continue
        for job_id in row.job_ids:
            if job_id not in jobs:
                found = f'"{job_id}" is in no row{nearest(job_id, jobs)}'
                yield line.problem("job_ids", found, "enter job ids with spaces between", "correct the id")
            elif jobs[job_id].place_kind not in LEADS_TO[row.place_kind]:
                yield _leads_nowhere(line, "job_ids", row.place_kind, jobs[job_id].place_kind, job_id)
        # Each wheel may have it.
        group = MODES[row.mode_id, row.place_kind].group
        before = sums.get(group, 0.0)
        sums[group] = before + float(row.prior) * (4 if row.place_kind == "wheel" else 1)
        if before <= _MOST_FAULTY < sums[group]:
            found = f"the priors of the causes of one place (here: {group}) come to {sums[group]:g} percent"
            yield line.problem("prior", found, f"{_MOST_FAULTY:g} at most: the rest have no fault", "lower them")


def _leads_nowhere(line: Line, column: str, start: str, end: str, named: str = "") -> InputProblem:
    found = f'"{named or getattr(line.row, column)}" is at: {end}, and a {start} does not lead there'
    allowed = f"from a {start} the places reached are: {', '.join(sorted(LEADS_TO[start]))}"
    return line.problem(column, found, allowed, "correct the place_kind or delete the row")
