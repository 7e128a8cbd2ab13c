"""`estimator boxes`: the entry boxes that matter now, as a file of entries to fill in."""

from __future__ import annotations

import csv
import datetime as dt
import io
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from estimator.cli.output import counted, out, say, write

if TYPE_CHECKING:
    from estimator.readback.box_entries import ReadBox

EXAMPLES = (
    "estimator boxes demo/LY-311-A-r1.xlsx",
    "estimator boxes demo/LY-311-A-r1-before.xlsx --stage decisions -o entries.csv",
)
COLUMNS = ("key", "value", "unit", "what", "allowed", "note")


def boxes(
    workbook: Annotated[Path, typer.Argument(metavar="FILE.xlsx", help="A workbook of this program.")],
    stage: Annotated[
        str,
        typer.Option(
            "--stage", metavar="STAGE", help="before, decisions, work, after, road or all (default: the next)."
        ),
    ] = "",
    output: Annotated[
        Path | None, typer.Option("-o", "--output", metavar="ENTRIES.csv", help="Default: standard output.")
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Overwrite an existing file.")] = False,
) -> int:
    """Write the boxes that matter now as entries, ready for fill.

    Each with its unit, the words it takes, and its present value. An empty value leaves the box empty. Columns what and
    allowed are for you; fill does not read them.
    """
    from estimator.errors import UnreadableFile
    from estimator.files import refuse_output, write_whole
    from estimator.next_step import POSTING, STAGE_WORDS, next_step
    from estimator.readback.boxes_now import matters, titles
    from estimator.readback.check import check_workbook

    allowed = (*(name for name in STAGE_WORDS if name != POSTING), "all")
    if stage and stage not in allowed:
        raise typer.BadParameter(f'"{stage}" is not a stage; use {", ".join(allowed)}', param_hint="--stage")
    if output:
        refuse_output(output, force=force)
    checked = check_workbook(workbook)
    if checked.appraisal is None or checked.entries is None:
        raise UnreadableFile(workbook, "no record can be read from it", "estimator check tells why")
    dates = checked.appraisal.record.shop.show.dates
    step = next_step(checked.appraisal)
    stage = stage or step.stage
    wanted = matters(checked.appraisal, stage)
    named = titles(checked.appraisal)
    chosen = [box for box in checked.entries.boxes if wanted is None or box.key in wanted]
    file = io.StringIO(newline="")
    rows = csv.writer(file, lineterminator="\n")
    rows.writerow(COLUMNS)
    group = ""
    for box in chosen:
        title, heading = named(box.key)
        if heading != group:
            rows.writerow([f"# {heading}"])
            group = heading
        rows.writerow([box.key, _text(box.value, dates), _unit(box), title, _allowed(box, dates), ""])
    if output:
        write_whole(output, file.getvalue().encode("utf-8"))
    else:
        write(file.getvalue())
    say(f"{STAGE_WORDS.get(stage, 'all')}: {counted(len(chosen), 'box', 'boxes')}; next: {step.words} ({step.who})")
    if output:
        out(str(output))
        say(f"fill in the column value, then: estimator fill {workbook} {output}")
    return 0


def _text(value: Any, dates: str) -> str:
    from estimator.records.shop import DATE_PATTERNS

    if value is None:
        return ""
    if isinstance(value, dt.date):
        return value.strftime(DATE_PATTERNS[dates])
    return f"{value:.12g}" if isinstance(value, float) else str(value)


def _unit(box: ReadBox) -> str:
    from estimator.readback.apply_entries import shown_unit

    return shown_unit(box.unit) if box.box.kind == "number" else ""


def _allowed(box: ReadBox, dates: str) -> str:
    if box.box.kind == "list":
        return " | ".join(box.box.allowed)
    if box.box.kind == "number":
        return f"{box.box.low:,.6g} to {box.box.high:,.6g}".replace(",", "")
    return dates if box.box.kind == "date" else "text"
