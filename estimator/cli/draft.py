"""`estimator draft`: from a job file to a workbook."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from estimator.cli.keys import KeyFile, key_from
from estimator.cli.output import counted, out, say
from estimator.cli.visits import BooksFolder, FromFolder, visits_on_file

if TYPE_CHECKING:
    from estimator.intake.price_list import PriceReport
    from estimator.records import JobRecord
    from estimator.workbook.seal import SealKey

EXAMPLES = ("estimator draft demo/job.toml -o quote.xlsx",)


def draft(
    job: Annotated[
        Path, typer.Argument(metavar="JOB.toml", help="The job; it names the files of the shop and the car.")
    ],
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", metavar="FILE.xlsx", help="Output file (default: <document>-r<revision>.xlsx)."),
    ] = None,
    tables: Annotated[
        Path | None,
        typer.Option("--tables", metavar="DIR", help="Labor tables (default: those that the job names, or beside it)."),
    ] = None,
    books: BooksFolder = None,
    workbooks: FromFolder = None,
    seal: KeyFile = None,
    force: Annotated[bool, typer.Option("--force", help="Overwrite an existing file.")] = False,
) -> int:
    """Build the workbook of a job.

    With the books, or a folder of earlier workbooks, it shows the readings of the last visit beside those of this one.
    """
    from estimator.files import refuse_output
    from estimator.intake.file_kinds import JOB, refuse_other_kind
    from estimator.intake.load_job import load_job_and_prices

    refuse_other_kind(job, JOB, "estimator draft JOB.toml; the job names shop and car")
    key = key_from(seal)
    record, prices = load_job_and_prices(job, tables)
    path = output or default_name(record)
    refuse_output(path, force=force)
    if books is not None or workbooks:
        record = _with_visits(record, books, workbooks or ())
    if prices is not None:
        _say_prices(prices)
    write_draft(record, path, key, force=force)
    out(str(path))
    return 0


def default_name(record: JobRecord) -> Path:
    """The name of a drafted workbook where none is given."""
    return Path(f"{record.job.document}-r{record.job.revision}.xlsx")


def write_draft(record: JobRecord, path: Path, key: SealKey | None, *, force: bool = False) -> None:
    """Write the workbook of a job, and tell what the estimate rests on."""
    from estimator.appraise import drafted
    from estimator.gauge_findings import gauges_too_coarse
    from estimator.pricing.first_entries import first_entries
    from estimator.quote_notes import quote_notes
    from estimator.readback.write_verified import write_verified
    from estimator.reading_findings import limit_conflicts

    appraisal = drafted(record, first_entries(record))
    write_verified(appraisal, path, key, force=force)
    for finding in (*limit_conflicts(appraisal), *gauges_too_coarse(appraisal)):
        say(finding.line())
    say(
        f"requested work: {appraisal.proposed['total']} {record.shop.shop.currency} so far; labor tables: {record.tables_name}"
    )
    for note in quote_notes(appraisal):
        say(note)


def _with_visits(record: JobRecord, books: Path | None, workbooks: Sequence[Path]) -> JobRecord:
    """The record with the earlier visits of its car; another revision of the same document is none."""
    from estimator.car_history.series import trimmed

    found = visits_on_file(record.car, books, workbooks)
    job = record.job
    earlier = [visit for visit in found if visit.document != job.document and visit.before <= job.date]
    kept = trimmed(record.car, earlier)
    taken = record.model_copy(update={"visits": kept})
    last = taken.last_visit
    say(f"last visit: {last.after} ({last.document})" if last else "no earlier visit of this car on file")
    return taken


def _say_prices(report: PriceReport) -> None:
    for row in report.not_placed:
        say(f'{report.file}: {row.line}: "{row.part_id}" was not matched: {row.why}')
    changes = [
        f"{change.part_id} {change.what.replace('_', ' ')} {change.before} → {change.after}"
        for change in report.changes
    ]
    say(f"{report.file}: {counted(report.parts, 'part')} found, {counted(len(changes), 'figure')} changed")
    for line in changes:
        say(f"  {line}")
