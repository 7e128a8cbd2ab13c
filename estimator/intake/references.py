"""What must hold between the tables of a file and between files: ids that name something, orders that must be kept.

Each of the rules yields what is `Wrong`; `reference_problems` puts them to their files.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import NamedTuple

from estimator.errors import InputProblem, nearest
from estimator.intake.words import choices
from estimator.records import Car, Job, Shop, Tables


class Wrong(NamedTuple):
    """A mistake and its place in its file."""

    place: str
    found: str
    allowed: str
    fix: str = ""


class Files(NamedTuple):
    """The files that a job rests on, to be named in messages."""

    shop: Path
    car: Path
    job: Path
    tables: Path


def reference_problems(shop: Shop, car: Car, job: Job, tables: Tables, files: Files) -> list[InputProblem]:
    """Everything that doesn't hold together, file by file. No finding is raised; the caller decides."""
    from estimator.intake.car_rules import car_rules
    from estimator.intake.job_rules import job_rules, rate_rules
    from estimator.intake.limit_rules import limit_rules
    from estimator.intake.shop_rules import gauge_rules, shop_rules

    by_file = (
        (files.shop, shop_rules(shop, job.date)),
        (files.shop, gauge_rules(shop, car)),
        (files.car, car_rules(car)),
        (files.car, limit_rules(car)),
        (files.tables / "jobs.csv", rate_rules(tables, shop)),
        (files.job, job_rules(job, car, tables)),
    )
    return [InputProblem(str(path), *wrong) for path, rules in by_file for wrong in rules]


def at(table: str, index: int, key: str = "") -> str:
    """A place in a list of tables, counted from 0.

    >>> at("brakes", 2, "bore")
    '[[brakes]] number 3, key "bore"'
    """
    return f"[[{table}]] number {index + 1}" + (f', key "{key}"' if key else "")


def doubled(table: str, key: str, ids: Iterable[str]) -> Iterator[Wrong]:
    """Each id of a list of tables that stood there before."""
    first: dict[str, int] = {}
    for index, name in enumerate(ids):
        earlier = first.setdefault(name, index)
        if earlier != index:
            found = f'"{name}" stands twice'
            yield Wrong(
                at(table, index, key), found, f"number {earlier + 1} has it already", "give this one another id"
            )


def unknown(place: str, name: str, known: Iterable[str], what: str) -> Wrong:
    """An id that names nothing."""
    known = list(known)
    listed = f"{what}: {choices(known)}" if 0 < len(known) <= 12 else f"an id of {what} is wanted"
    return Wrong(place, f'"{name}" names nothing{nearest(name, known)}', listed, "correct the id or add what it names")
