"""Labor tables with fewer jobs, whole in themselves."""

import csv
from collections.abc import Callable
from pathlib import Path

OF_JOBS = ("jobs.csv", "job_steps.csv", "job_parts.csv", "calls.csv", "job_checks.csv", "tests.csv", "packages.csv")


def keep_jobs(tables: Path, kept: Callable[[str], bool]) -> None:
    """Take the rows of all other jobs out of the tables of a folder; causes and other jobs name them no more."""
    for name in filter(lambda name: (tables / name).exists(), OF_JOBS):
        _rewrite(tables / name, lambda row: row if not row["job_id"] or kept(row["job_id"]) else None)
    for name, column in (("causes.csv", "job_ids"), ("jobs.csv", "supersedes")):
        _rewrite(tables / name, lambda row, column=column: row | {column: " ".join(filter(kept, row[column].split()))})


def _rewrite(path: Path, changed: Callable[[dict[str, str]], dict[str, str] | None]) -> None:
    with path.open(encoding="utf-8", newline="") as file:
        rows = csv.DictReader(file)
        fields, found = rows.fieldnames or (), [row for row in map(changed, rows) if row is not None]
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, fields, lineterminator="\n")
        writer.writeheader()
        writer.writerows(found)
