"""`estimator check`: reads workbooks back, compares them with what they carry, judges what was measured."""

from __future__ import annotations

import logging
import sys
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

from estimator import __version__
from estimator.cli.keys import KeyFile, key_from
from estimator.cli.output import as_text, out, say, write
from estimator.cli.today import Today, day_of
from estimator.errors import EXIT_FAULT, EXIT_FINDINGS, EXIT_MISSING, InputError, InputProblem, Refused, in_one_line

if TYPE_CHECKING:
    from estimator.readback.report import Report
    from estimator.workbook.seal import SealKey

EXAMPLES = (
    "estimator check demo/LY-311-A-r1.xlsx",
    "estimator check demo/LY-311-A-r1-before.xlsx --full",
    "estimator check demo --jobs 2 --json",
)
_MOST_JOBS = 8
LOG = logging.getLogger("estimator.check")


def check(
    files: Annotated[
        list[Path], typer.Argument(metavar="FILE-or-FOLDER", help="Workbooks; a folder stands for every .xlsx in it.")
    ],
    as_json: Annotated[bool, typer.Option("--json", help="All findings and all boxes as JSON.")] = False,
    jobs: Annotated[
        int | None, typer.Option("--jobs", min=1, metavar="N", help="Number of processes (default: number of cores).")
    ] = None,
    seal: KeyFile = None,
    entries: Annotated[
        bool,
        typer.Option("--seal-entries", help="Seal the entries too, in a file beside each sealed, intact workbook."),
    ] = False,
    full: Annotated[bool, typer.Option("--full", help="Every finding, by who must act.")] = False,
    today: Today = None,
) -> int:
    """Read workbooks back, and judge what was measured.

    Shows whether each workbook is intact, the driving status of the car with what is behind it, and the next step. Of
    many workbooks the list comes first.
    """
    from estimator.cli.check_words import print_report, print_short
    from estimator.readback.report import SCHEMA

    key = key_from(seal)
    paths = workbooks(files)
    if entries:
        _seal_entries(paths, key)
    ends: list[_End] = []
    kept: list[Report] = []
    if as_json:
        write(f'{{\n  "schema": {SCHEMA},\n  "program": "{__version__}",\n  "workbooks": [')
    for number, undated in enumerate(reports(paths, jobs, key), 1):
        report = undated.on(day_of(today))
        if report.fault:
            LOG.error("fault while checking %s\n%s", report.file, report.fault)
        if as_json:
            write((",\n" if ends else "\n") + textwrap.indent(as_text(report.data()), "    "))
        else:
            kept.append(replace(report, boxes=(), dates=()))
        # Reports are long and files may be many: what the end needs of each is kept, no more.
        ends.append(
            _End(report.file, report.state, report.driving, report.worst, bool(report.fault), report.exit_status)
        )
        _progress(number, len(paths))
    if as_json:
        write("\n  ]\n}\n")
    elif len(ends) > 1:
        _summary(ends)
    for report in kept:
        if len(kept) > 1:
            out()
        (print_report if full else print_short)(report)
    return _status(ends)


def _seal_entries(paths: Sequence[Path], key: SealKey | None) -> None:
    """Seal the entries of workbooks whose own seal holds. Raises Refused without a key, or where one doesn't."""
    from estimator.readback.check import check_workbook
    from estimator.readback.embedded_record import COVERED
    from estimator.readback.entries_seal import seal_entries

    if key is None:
        raise Refused("--seal-entries needs the shop's key. Give it with --seal.")
    for path in paths:
        checked = check_workbook(path, key)
        if checked.state != "sound" or checked.entries is None or not checked.seal.startswith(COVERED):
            raise Refused(f"{in_one_line(path)}: entries not sealed: the workbook is not intact, or its own seal fails")
        assert checked.appraisal is not None
        document = checked.appraisal.record.job.document
        say(f"entries sealed: {seal_entries(path, document, checked.entries.values, key)}")


class _End(NamedTuple):
    """What is left to say of a workbook once its report is printed."""

    file: str
    state: str
    driving: str
    worst: str
    fault: bool
    exit_status: int


def workbooks(files: Sequence[Path]) -> list[Path]:
    """The workbooks that files and folders name, each once, those of a folder by name.

    Raises InputError (66) for a folder that holds none.
    """
    found: list[Path] = []
    for path in files:
        if not path.is_dir():
            found.append(path)
            continue
        inside = sorted(item for item in path.iterdir() if item.suffix.lower() == ".xlsx" and item.name[:1] not in "~.")
        if not inside:
            problem = InputProblem(
                str(path),
                "the folder",
                "no workbook in it",
                "a workbook is a file that ends in .xlsx",
                "check the name",
            )
            raise InputError([problem], EXIT_MISSING)
        found += inside
    return list(dict.fromkeys(found))


def reports(paths: Sequence[Path], jobs: int | None, key: SealKey | None) -> Iterator[Report]:
    import os

    from estimator.readback.report import report

    number = min(jobs or min(os.cpu_count() or 1, _MOST_JOBS), len(paths))
    if number > 1:
        from estimator.readback.parallel import reports_of_many

        yield from reports_of_many(paths, number, key)
    else:
        yield from (report(path, key) for path in paths)


def _progress(done: int, of: int) -> None:
    if of > 1 and sys.stderr.isatty():
        sys.stderr.write(f"\rchecked {done} of {of}" + ("\n" if done == of else ""))
        sys.stderr.flush()


def _summary(reports: Sequence[_End]) -> None:
    out(f"{len(reports)} workbooks", bold=True)
    for report in reports:
        said = {"sound": report.driving, "unsound": "not intact: see below", "unreadable": "unreadable"}[report.state]
        out(f"  {in_one_line(Path(report.file).name)}: {said}")


def _status(reports: Sequence[_End]) -> int:
    for report in reports:
        if report.fault:
            say(
                f"{in_one_line(report.file)}: internal error while checking it. Check it alone with --debug and report it."
            )
    if any(report.fault for report in reports):
        return EXIT_FAULT
    if len(reports) == 1 and reports[0].exit_status:
        return reports[0].exit_status
    return EXIT_FINDINGS if any(report.worst in ("stop", "warn") for report in reports) else 0
