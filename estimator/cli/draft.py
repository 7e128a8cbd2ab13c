"""`estimator draft`: from a job file to a workbook."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from estimator.cli.keys import KeyFile, key_from
from estimator.cli.output import counted, out, say

if TYPE_CHECKING:
    from estimator.intake.price_list import PriceReport

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
    seal: KeyFile = None,
    force: Annotated[bool, typer.Option("--force", help="Overwrite an existing file.")] = False,
) -> int:
    """Build the workbook of a job."""
    from estimator.appraise import drafted
    from estimator.files import refuse_existing
    from estimator.gauge_findings import gauges_too_coarse
    from estimator.intake.load_job import load_job_and_prices
    from estimator.pricing.first_entries import first_entries
    from estimator.readback.write_verified import write_verified
    from estimator.reading_findings import limit_conflicts

    key = key_from(seal)
    record, prices = load_job_and_prices(job, tables)
    path = output or Path(f"{record.job.document}-r{record.job.revision}.xlsx")
    refuse_existing(path, force=force)
    appraisal = drafted(record, first_entries(record))
    write_verified(appraisal, path, key, force=force)
    if prices is not None:
        _say_prices(prices)
    for finding in (*limit_conflicts(appraisal), *gauges_too_coarse(appraisal)):
        say(finding.line())
    say(
        f"requested work: {appraisal.proposed['total']} {record.shop.shop.currency} so far; labor tables: {record.tables_name}"
    )
    out(str(path))
    return 0


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
