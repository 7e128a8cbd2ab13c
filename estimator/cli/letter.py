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
        Path | None, typer.Option("-o", "--output", metavar="FILE.html", help="<file>.html if left out.")
    ] = None,
    logs: Annotated[
        list[Path] | None,
        typer.Option(
            "--log", metavar="LOG.csv", help="Draw a recorded gauge whose readings are entered (again for more)."
        ),
    ] = None,
    seal: KeyFile = None,
    force: Annotated[bool, typer.Option("--force", help="Write over a file that is there already.")] = False,
) -> int:
    """The letter to the customer, as one HTML page.

    It tells what was found, what may be done with the car, the work, the prices and the consent, on a screen of any
    width and on paper, and needs no other file. An unsound workbook is refused.
    """
    from estimator.errors import Refused
    from estimator.files import refuse_existing, write_whole
    from estimator.findings import ADVISOR, BOOKKEEPER, WHO_ACTS
    from estimator.letters.log_pictures import log_pictures
    from estimator.letters.render import letter_html
    from estimator.readback.check import check_workbook

    path = output or workbook.with_suffix(".html")
    refuse_existing(path, force=force)
    checked = check_workbook(workbook, key_from(seal))
    if checked.state != "sound" or checked.appraisal is None:
        found = [item for item in checked.integrity if item.severity != "note"]
        what = f"{counted(len(found), 'finding')} against the workbook itself"
        fix = "mend what `estimator check` names, save, try again"
        raise Refused(f"{workbook} · {what}: it isn't sound, so no letter is written · {fix}", checked.integrity)
    drawn = log_pictures(checked.appraisal, logs or (), workbook)
    write_whole(path, letter_html(checked.appraisal, drawn).encode("utf-8"))
    for finding in checked.findings:
        if finding.severity != "note" and WHO_ACTS.get(finding.rule) in (ADVISOR, BOOKKEEPER):
            say(finding.line())
    say(f"{checked.appraisal.driving.state}; read the letter before you hand it over")
    out(str(path))
    return 0
