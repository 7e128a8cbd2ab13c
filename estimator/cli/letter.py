"""`estimator letter`: the page that the customer reads."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from estimator.cli.keys import KeyFile, key_from
from estimator.cli.output import counted, out, say

EXAMPLES = ("estimator letter demo/LY-311-A-r1-decisions.xlsx -o letter.html",)


def letter(
    workbook: Annotated[Path, typer.Argument(metavar="FILE.xlsx", help="A workbook of this program.")],
    output: Annotated[
        Path | None, typer.Option("-o", "--output", metavar="FILE.html", help="Output file (default: <file>.html).")
    ] = None,
    seal: KeyFile = None,
    force: Annotated[bool, typer.Option("--force", help="Overwrite an existing file.")] = False,
) -> int:
    """Write the letter to the customer, as one HTML page.

    It gives the driving status, findings, recommended work, cost and authorizations, for phone, screen and paper, and
    needs no other file. A workbook that is not intact is refused.
    """
    from estimator.errors import Refused
    from estimator.files import refuse_existing, write_whole
    from estimator.findings import ADVISOR, BOOKKEEPER, WHO_ACTS
    from estimator.letters.render import letter_html
    from estimator.readback.check import check_workbook

    path = output or workbook.with_suffix(".html")
    refuse_existing(path, force=force)
    checked = check_workbook(workbook, key_from(seal))
    if checked.state != "sound" or checked.appraisal is None:
        found = [item for item in checked.integrity if item.severity != "note"]
        what = f"{counted(len(found), 'finding')} about the workbook itself"
        fix = "Correct what `estimator check` names, save and try again."
        raise Refused(f"{workbook}: workbook not intact ({what}); no letter written. {fix}", checked.integrity)
    write_whole(path, letter_html(checked.appraisal).encode("utf-8"))
    for finding in checked.findings:
        if finding.severity != "note" and WHO_ACTS.get(finding.rule) in (ADVISOR, BOOKKEEPER):
            say(finding.line())
    say(f"{checked.appraisal.driving.state}; read the letter before you give it to the customer")
    out(str(path))
    return 0
