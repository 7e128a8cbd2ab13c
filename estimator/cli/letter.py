"""`estimator letter`: the page that the customer reads."""

from __future__ import annotations

import contextlib
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
    logs: Annotated[
        list[Path] | None,
        typer.Option(
            "--log", metavar="LOG.csv", help="Draw a recorded gauge whose readings are entered (again for more)."
        ),
    ] = None,
    seal: KeyFile = None,
    force: Annotated[bool, typer.Option("--force", help="Overwrite an existing file.")] = False,
) -> int:
    """Write the letter to the customer, as one HTML page.

    It gives the driving status, findings, recommended work, cost and authorizations, for phone, screen and paper, and
    needs no other file. A workbook that is not intact is refused.
    """
    from estimator.errors import Refused
    from estimator.files import refuse_output, write_whole
    from estimator.findings import ADVISOR, BOOKKEEPER, WHO_ACTS
    from estimator.letters.log_pictures import log_pictures
    from estimator.letters.render import letter_html
    from estimator.readback.check import check_workbook

    path = output or workbook.with_suffix(".html")
    _refuse_workbook(path)
    refuse_output(path, force=force)
    key = key_from(seal)
    checked = check_workbook(workbook, key)
    if checked.state != "sound" or checked.appraisal is None:
        found = [item for item in checked.integrity if item.severity != "note"]
        what = f"{counted(len(found), 'finding')} about the workbook itself"
        fix = "Correct what `estimator check` names, save and try again."
        raise Refused(f"{workbook}: workbook not intact ({what}); no letter written. {fix}", checked.integrity)
    drawn = log_pictures(checked.appraisal, logs or (), workbook)
    write_whole(path, letter_html(checked.appraisal, drawn).encode("utf-8"))
    for finding in checked.findings:
        if finding.severity != "note" and WHO_ACTS.get(finding.rule) in (ADVISOR, BOOKKEEPER):
            say(finding.line())
    if key is None and checked.seal.startswith("sealed"):
        say("Warning: no key given; the seal was not checked. To check it, add --seal KEYFILE.")
    say(f"{checked.appraisal.driving.state}; read the letter before you give it to the customer")
    out(str(path))
    return 0


def _refuse_workbook(path: Path) -> None:
    """Raises CannotWrite where a workbook stands, or would by its name, at the place of the letter; with --force too."""
    from estimator.errors import CannotWrite

    beginning = b""
    with contextlib.suppress(OSError), path.open("rb") as file:
        beginning = file.read(4)
    if path.suffix.lower().startswith(".xls") or beginning == b"PK\x03\x04":
        raise CannotWrite(
            path, "a letter never takes the place of a workbook", "give a name that ends in .html with -o"
        )
