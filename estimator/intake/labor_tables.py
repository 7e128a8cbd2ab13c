"""A folder of labor tables read into records, with every mistake by file, line and column."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Literal

from pydantic import ValidationError

import estimator
from estimator.errors import EXIT_MISSING, EXIT_NOT_UNDERSTOOD, InputError, InputProblem
from estimator.intake.csv_rows import Line, read_csv
from estimator.intake.model_errors import in_words
from estimator.intake.table_rules import cross_problems, row_problems
from estimator.migrations import word_now
from estimator.records import (
    CallRow,
    CauseRow,
    Id,
    JobPartRow,
    JobRow,
    Model,
    OptionalId,
    OutcomeRow,
    PartRow,
    StepRow,
    Tables,
    Words,
)

FOLDER_NAME = "labor_tables"


class JobStepRow(Model):
    job_id: Id
    step_id: Id


class JobCheckRow(Model):
    job_id: Id
    check_id: Id
    cures: Literal["yes", "no"]


class PackageRow(Model):
    """A job at a place, or a check to be made, that a package asks for."""

    package: Words
    job_id: OptionalId = ""
    at: OptionalId = ""
    check_id: OptionalId = ""


PACKAGES = "packages.csv"
TABLES: dict[str, type[Model]] = {
    "jobs.csv": JobRow,
    "steps.csv": StepRow,
    "job_steps.csv": JobStepRow,
    "parts.csv": PartRow,
    "job_parts.csv": JobPartRow,
    "calls.csv": CallRow,
    "job_checks.csv": JobCheckRow,
    PACKAGES: PackageRow,
    "causes.csv": CauseRow,
    "tests.csv": OutcomeRow,
}


def packaged_tables() -> Path:
    """Return the folder of the labor tables that come with the program: in the package, or beside it in its source."""
    package = Path(estimator.__file__).resolve().parent
    installed = package / FOLDER_NAME
    return installed if installed.is_dir() else package.parent / FOLDER_NAME


def load_labor_tables(folder: Path) -> Tables:
    """The labor tables of a folder, packages held to them. Raises InputError as `load_tables_and_packages` does."""
    return load_tables_and_packages(folder)[0]


def load_tables_and_packages(folder: Path) -> tuple[Tables, tuple[PackageRow, ...]]:
    """The labor tables of a folder, and what its packages ask for, which no workbook carries; packages.csv may be missing.

    Raises InputError with every mistake: exit 66 where the folder or a file is missing, else 65.
    """
    if not folder.is_dir():
        allowed = f"a folder with {', '.join(TABLES)}"
        fix = "name your labor tables with --tables or in the job file; `estimator start` writes a set with invented hours"
        missing = InputProblem(str(folder), "the folder", "not found", allowed, fix)
        raise InputError([missing], EXIT_MISSING)
    lines: dict[str, list[Line]] = {}
    problems: list[InputProblem] = []
    status = EXIT_NOT_UNDERSTOOD
    for name, model in TABLES.items():
        if name == PACKAGES and not (folder / name).exists():
            lines[name] = []
            continue
        try:
            lines[name] = _read(folder / name, model)
        except InputError as error:
            problems += error.problems
            status = max(status, error.exit_status)
        else:
            problems += row_problems(name, lines[name])
    if not problems:
        problems += cross_problems(lines)
    if problems:
        raise InputError(problems, status)
    rows = {name: tuple(line.row for line in lines[name]) for name in TABLES}
    tables = Tables(
        jobs=rows["jobs.csv"],
        steps=rows["steps.csv"],
        job_steps=tuple((row.job_id, row.step_id) for row in rows["job_steps.csv"]),
        parts=rows["parts.csv"],
        job_parts=rows["job_parts.csv"],
        calls=rows["calls.csv"],
        job_checks=tuple((row.job_id, row.check_id, row.cures) for row in rows["job_checks.csv"]),
        causes=rows["causes.csv"],
        tests=rows["tests.csv"],
    )
    return tables, rows[PACKAGES]


def _read(path: Path, model: type[Model]) -> list[Line]:
    read = read_csv(path, model.model_fields)
    lines, problems = [], list(read.problems)
    for number, fields in read.rows:
        table = f"/tables/{path.stem}/{number}"
        data: dict[str, Any] = {name: word_now(f"{table}/{name}", text) for name, text in fields.items()}
        data |= {name: tuple(fields[name].split()) for name in ("supersedes", "job_ids") if name in fields}
        if "concerns" in data:
            data["concerns"] = tuple(part.strip() for part in fields["concerns"].split(";") if part.strip())
        try:
            lines.append(Line(path, number, model.model_validate(data)))
        except ValidationError as error:
            for item in error.errors(include_url=False):
                column = str(item["loc"][0])
                said = in_words(item, model.model_fields)
                problems.append((number, Line(path, number, None).problem(column, *said)))
    if problems:
        raise InputError(problem for _, problem in sorted(problems, key=lambda item: item[0]))
    return lines
