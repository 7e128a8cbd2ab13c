"""A job file and all that it names, as one record."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

from estimator.errors import EXIT_NOT_UNDERSTOOD, InputError, InputProblem
from estimator.facts.load_facts import facts, sources
from estimator.intake.job_rules import with_places
from estimator.intake.labor_tables import FOLDER_NAME, load_labor_tables
from estimator.intake.price_list import PriceReport, apply_price_list
from estimator.intake.references import Files, reference_problems
from estimator.intake.toml_files import load_toml, read_toml, validated
from estimator.migrations import STEPS, record_now
from estimator.records import Car, Fact, Job, JobRecord, Shop, Text, Words

Loaded = TypeVar("Loaded")


class JobFile(Job):
    """job.toml: a job, and the files that it rests on, named from its own folder."""

    shop: Words
    car: Words
    tables: Text = ""
    price_list: Text = ""


def load_job(job_toml: Path, tables_dir: Path | None = None) -> JobRecord:
    """The record of a job. Raises InputError with every mistake of all its files."""
    return load_job_and_prices(job_toml, tables_dir)[0]


def load_job_and_prices(job_toml: Path, tables_dir: Path | None = None) -> tuple[JobRecord, PriceReport | None]:
    """The record of a job, and what its supplier's price list changed, where it names one.

    The labor tables are those of `tables_dir`, else those that job.toml names, else the folder labor_tables beside it;
    never those that come with the program, whose hours and prices are invented.
    Raises InputError with every mistake of all files: exit 66 where one is
    missing, else 65.
    """
    return load_written(job_file(job_toml), job_toml, tables_dir)


def load_written(
    written: JobFile, job_toml: Path, tables_dir: Path | None = None
) -> tuple[JobRecord, PriceReport | None]:
    """The same of a job file that was read, or is yet to be written at `job_toml`."""
    gathered = _Gathered()
    folder = job_toml.parent
    files = Files(folder / written.shop, folder / written.car, job_toml, _tables_folder(folder, written, tables_dir))
    shop = gathered.take(load_toml, files.shop, Shop)
    car = gathered.take(load_toml, files.car, Car)
    tables = gathered.take(load_labor_tables, files.tables)
    if shop is None or car is None or tables is None:
        raise gathered.error()
    job = Job.model_validate(written.model_dump(include=set(Job.model_fields)))
    report = None
    if written.price_list:
        path = folder / written.price_list
        if shop.price_list is None:
            allowed = f"its columns are mapped in [price_list] of {files.shop.name}, which is missing"
            found = f'"{written.price_list}"'
            gathered.problems.append(InputProblem(str(job_toml), 'key "price_list"', found, allowed, "add the table"))
        elif priced := gathered.take(apply_price_list, tables, path, shop.price_list, job.date):
            tables, report = priced
    gathered.problems += reference_problems(shop, car, job, tables, files)
    if gathered.problems:
        raise gathered.error()
    published = published_numbers(car)
    job = with_places(job, car, tables)
    record = JobRecord(shop=shop, car=car, job=job, tables=tables, facts=published, tables_name=files.tables.name)
    return record, report


def job_file(path: Path) -> JobFile:
    """What job.toml holds, a key of an earlier version under its present name."""
    return validated(record_now({"job": read_toml(path)}, STEPS)["job"], JobFile, path)


def published_numbers(car: Car) -> tuple[Fact, ...]:
    """The published numbers as a workbook carries them: with their source in words, and what each is for this car.

    Rules in words alone, which no formula can use, are left out.
    """
    known = sources()
    return tuple(
        Fact(
            id=fact.id,
            title=fact.title,
            text=fact.value.replace(" %", "%"),
            si=fact.si,
            unit=fact.unit,
            source=known[fact.source].title,
            clause=fact.clause,
            kind=fact.bearing(car.car.year),
            status=fact.status,
        )
        for fact in facts().values()
        if fact.si is not None
    )


def _tables_folder(folder: Path, written: JobFile, tables_dir: Path | None) -> Path:
    if tables_dir is not None:
        return tables_dir
    return folder / (written.tables or FOLDER_NAME)


class _Gathered:
    """Problems of several files, until the last file has been read."""

    def __init__(self) -> None:
        self.problems: list[InputProblem] = []
        self.status = EXIT_NOT_UNDERSTOOD

    def take(self, read: Callable[..., Loaded], *what: Any) -> Loaded | None:
        try:
            return read(*what)
        except InputError as error:
            self.problems += error.problems
            self.status = max(self.status, error.exit_status)
            return None

    def error(self) -> InputError:
        return InputError(self.problems, self.status)
