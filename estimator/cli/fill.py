"""`estimator fill`: entries typed into the boxes of a workbook."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from estimator.cli.keys import KeyFile, key_from, say_unsealed
from estimator.cli.output import counted, out, say
from estimator.cli.today import Today, day_of

EXAMPLES = ("estimator fill demo/LY-311-A-r1.xlsx demo/before.csv -o measured.xlsx",)


def fill(
    workbook: Annotated[Path, typer.Argument(metavar="FILE.xlsx", help="A workbook of this program.")],
    entries: Annotated[Path, typer.Argument(metavar="ENTRIES.csv", help="Columns: key, value, unit, note.")],
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", metavar="FILE.xlsx", help="Output file (default: <file>-filled.xlsx)."),
    ] = None,
    seal: KeyFile = None,
    force: Annotated[bool, typer.Option("--force", help="Overwrite an existing file.")] = False,
    today: Today = None,
) -> int:
    """Write entries into the entry boxes of a workbook.

    Readings, decisions, authorizations. A workbook that is not intact is refused. A number in a compatible unit is
    converted to the unit of its box. Keys are those that `estimator check --json` lists; decision.<job>.<place> and
    done.<job>.<place> are short for boxes of the Work tab.
    """
    from estimator.boxes.keys import CheckRef
    from estimator.files import refuse_existing
    from estimator.intake.entries_csv import load_entries
    from estimator.readback.added_texts import added_texts
    from estimator.readback.check import check_workbook
    from estimator.readback.future_dates import dates_in, in_the_future
    from estimator.readback.rebuild import done_after_readings, filled
    from estimator.readback.write_verified import write_verified

    path = output or next_name(workbook)
    refuse_existing(path, force=force)
    key = key_from(seal)
    file = load_entries(entries)
    checked = check_workbook(workbook, key)
    appraisal = filled(checked, file)
    write_verified(appraisal, path, key, force=force)
    say_unsealed(checked.seal, key)
    before = checked.appraisal
    assert before is not None
    for note in added_texts(checked):
        say(f"kept as a note for the shop: {note}")
    for item in appraisal.record.earlier[len(before.record.earlier) :]:
        label = before.standing_of[CheckRef(item.check)].label
        say(f"{label}: {item.value} {item.unit} ({item.verdict}) was deleted; it stays on record and still counts")
    for question in done_after_readings(before, appraisal):
        say(question)
    for finding in in_the_future(dates_in(appraisal), day_of(today)):
        say(finding.line())
    totals = f"{before.proposed['total']} → {appraisal.proposed['total']} {appraisal.record.shop.shop.currency}"
    say(f"{counted(len(file.rows), 'entry', 'entries')} entered; recommended work {totals}")
    say(f"{before.driving.state} → {appraisal.driving.state}")
    out(str(path))
    return 0


def next_name(workbook: Path) -> Path:
    """The name that a workbook gets by being filled in.

    >>> next_name(Path("a.xlsx")).name, next_name(Path("a-filled.xlsx")).name, next_name(Path("a-filled-2.xlsx")).name
    ('a-filled.xlsx', 'a-filled-2.xlsx', 'a-filled-3.xlsx')
    """
    stem, mark, number = workbook.stem.rpartition("-filled")
    if mark and (number == "" or number[1:].isdecimal()):
        return workbook.with_name(f"{stem}-filled-{int(number[1:] or 1) + 1}.xlsx")
    return workbook.with_name(f"{workbook.stem}-filled.xlsx")
