"""`estimator redraft`: the next revision of a workbook, with present rates and tables."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from estimator.cli.keys import KeyFile, key_from, say_unsealed
from estimator.cli.output import columns, counted, out, say, wrapped
from estimator.errors import EXIT_FINDINGS

if TYPE_CHECKING:
    from estimator.readback.rebuild import Redrafted

EXAMPLES = ("estimator redraft demo/LY-311-A-r1-before.xlsx -o LY-311-A-r2.xlsx --job demo/job.toml",)


def redraft(
    workbook: Annotated[Path, typer.Argument(metavar="FILE.xlsx", help="A workbook of this program.")],
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", metavar="FILE.xlsx", help="Output file (default: <document>-r<revision>.xlsx)."),
    ] = None,
    job: Annotated[
        Path | None,
        typer.Option("--job", metavar="JOB.toml", help="Present job, shop and car; else the one beside the workbook."),
    ] = None,
    tables: Annotated[
        Path | None, typer.Option("--tables", metavar="DIR", help="Present labor tables; else those of the job.")
    ] = None,
    accept_loss: Annotated[
        list[str] | None,
        typer.Option("--accept-loss", metavar="KEY", help="An entry that may be lost; * for any letters; repeatable."),
    ] = None,
    seal: KeyFile = None,
    force: Annotated[bool, typer.Option("--force", help="Overwrite an existing file.")] = False,
) -> int:
    """Write the next revision, with present rates and tables.

    Entries are carried over. An entry that no longer has a place stops it, unless you accept the loss by its key. Lists
    what changed in price and why, and what was not carried over (exit status 1).
    """
    from estimator.files import refuse_output
    from estimator.intake.current_job import present_record
    from estimator.intake.file_kinds import WORKBOOK, refuse_other_kind
    from estimator.readback.check import check_workbook
    from estimator.readback.rebuild import record_of, redrafted
    from estimator.readback.write_verified import write_verified

    refuse_other_kind(workbook, WORKBOOK, "estimator redraft FILE.xlsx --job JOB.toml")
    key = key_from(seal)
    checked = check_workbook(workbook, key)
    present = present_record(record_of(checked), workbook.parent, job, tables)
    path = output or workbook.parent / f"{present.record.job.document}-r{present.record.job.revision}.xlsx"
    refuse_output(path, force=force)
    made = redrafted(checked, present.record, accept_loss or ())
    write_verified(made.appraisal, path, key, force=force)
    say_unsealed(checked.seal, key)
    say(f"rates and tables: {present.origin}")
    _print_changes(made)
    _print_limits(made)
    for item in made.left_behind:
        say(f'{item.place}: "{item.what}" was not carried over: {item.why}')
    out(str(path))
    return EXIT_FINDINGS if made.left_behind else 0


def _print_changes(made: Redrafted) -> None:
    from estimator.readback.price_changes import price_changes

    changes = price_changes(made.before, made.appraisal)
    was, now = made.before.proposed["total"], made.appraisal.proposed["total"]
    say(f"recommended: {was} → {now}; authorized: {made.before.agreed['total']} → {made.appraisal.agreed['total']}")
    if not changes:
        say("no price changed")
        return
    say(f"{counted(len(changes), 'line')} of the estimate changed:")
    rows = [(f"{item.before}", "→", f"{item.after}", item.title) for item in changes]
    for line, item in zip(columns(rows, right=(0, 2), indent="  "), changes, strict=True):
        say(line)
        for words in wrapped(item.why, "      "):
            say(words)


def _print_limits(made: Redrafted) -> None:
    """Limits that changed, and those of the manufacturer that are laxer than what decides."""
    from estimator.readback.limit_changes import limit_changes
    from estimator.reading_findings import limit_conflicts

    changes = limit_changes(made.before, made.appraisal)
    if changes:
        say(f"{counted(len(changes), 'limit')} changed:")
    rows = [(item.before, "→", item.after, item.title) for item in changes]
    for line, item in zip(columns(rows, right=(0, 2), indent="  "), changes, strict=True):
        say(line)
        for words in wrapped(item.why, "      "):
            say(words)
    for finding in limit_conflicts(made.appraisal):
        say(finding.line())
