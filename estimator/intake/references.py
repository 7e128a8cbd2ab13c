"""What must hold between the tables of a file and between files: ids that name something, orders that must be kept.

Each of the rules yields what is `Wrong`; `reference_problems` puts them to their files.
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from estimator.errors import InputProblem
from estimator.intake.car_rules import car_rules
from estimator.intake.job_rules import interval_rules, job_rules, rate_rules
from estimator.intake.limit_rules import limit_rules
from estimator.intake.shop_rules import gauge_rules, shop_rules
from estimator.records import Car, Job, Shop, Tables


class Files(NamedTuple):
    """The files that a job rests on, to be named in messages."""

    shop: Path
    car: Path
    job: Path
    tables: Path


def reference_problems(shop: Shop, car: Car, job: Job, tables: Tables, files: Files) -> list[InputProblem]:
    """Everything that doesn't hold together, file by file. No finding is raised; the caller decides."""
    by_file = (
        (files.shop, shop_rules(shop, job.date)),
        (files.shop, gauge_rules(shop, car)),
        (files.car, car_rules(car)),
        (files.car, limit_rules(car)),
        (files.car, interval_rules(car, tables)),
        (files.tables / "jobs.csv", rate_rules(tables, shop)),
        (files.job, job_rules(job, car, tables)),
    )
    return [InputProblem(str(path), *wrong) for path, rules in by_file for wrong in rules]
