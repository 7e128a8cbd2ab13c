"""The record of a document as present files give it: its job file where one can be found, present rates, present tables."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from estimator.errors import InputError, InputProblem
from estimator.intake.document_numbers import job_files
from estimator.intake.labor_tables import FOLDER_NAME, load_labor_tables
from estimator.intake.load_job import load_job, published_numbers
from estimator.intake.references import Files, reference_problems
from estimator.records import JobRecord

# How a note begins that was found written outside the boxes of an earlier workbook.
FOUND_OUTSIDE = "Written outside the boxes of"


@dataclass(frozen=True)
class Present:
    """A record of the next revision, and in words which files it comes from."""

    record: JobRecord
    origin: str


def present_record(old: JobRecord, folder: Path, job: Path | None = None, tables: Path | None = None) -> Present:
    """The next revision of a document from present files.

    The job file is `job`, else the one in `folder` (beside the workbook) that has the document's number; without one,
    shop, car and job stay as the workbook carries them. Published numbers are always the present ones.
    Raises InputError with every mistake of the files, for a job of another document, or where two files claim it.
    """
    job = job or _beside(folder, old.job.document)
    if job is None:
        return _own(old, folder, tables)
    record = load_job(job, tables)
    if record.job.document != old.job.document:
        found = f'document = "{record.job.document}"'
        allowed = f'the workbook is of the document "{old.job.document}"'
        raise InputError(
            [InputProblem(str(job), 'key "document"', found, allowed, "name the job file of this document")]
        )
    revision = max(record.job.revision, old.job.revision + 1)
    outside = (note for note in old.job.shop_notes if note.startswith(FOUND_OUTSIDE))
    notes = tuple(dict.fromkeys((*record.job.shop_notes, *outside)))
    update = record.job.model_copy(update={"revision": revision, "shop_notes": notes})
    return Present(
        record.model_copy(update={"job": update, "visits": old.visits}), f"{job}, labor tables {record.tables_name}"
    )


def _own(old: JobRecord, folder: Path, tables: Path | None) -> Present:
    """Shop, car and job as the workbook carries them; its tables too, unless some are given or lie beside it."""
    beside = folder / FOLDER_NAME
    place = tables or (beside if beside.is_dir() else None)
    job = old.job.model_copy(update={"revision": old.job.revision + 1})
    update = {"job": job, "facts": published_numbers(old.car)}
    carried = Path("the workbook's record")
    if place is None:
        return Present(old.model_copy(update=update), "all as the workbook carries them: no job file is beside it")
    present = load_labor_tables(place)
    if problems := reference_problems(old.shop, old.car, job, present, Files(carried, carried, carried, place)):
        raise InputError(problems)
    update |= {"tables": present, "tables_name": place.name}
    origin = f"shop, car and job as the workbook carries them, labor tables {place}"
    return Present(old.model_copy(update=update), origin)


def _beside(folder: Path, document: str) -> Path | None:
    """The one job file of a folder that has this document's number."""
    found = [path for path, written in job_files(folder) if written["document"] == document]
    if len(found) > 1:
        names = " and ".join(path.name for path in found)
        problem = InputProblem(
            str(folder), "job files", f"{names} have this document's number", "one has it", "give it: --job"
        )
        raise InputError([problem])
    return found[0] if found else None
