"""`estimator jobs`: the open cars of a folder, and who must act next."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from estimator.cli.check import reports, workbooks
from estimator.cli.output import counted, out, out_json, say, wrapped
from estimator.cli.today import Today, day_of
from estimator.errors import in_one_line

if TYPE_CHECKING:
    from estimator.readback.report import Report

EXAMPLES = ("estimator jobs demo --today 2026-11-27", "estimator jobs demo --json")


def jobs(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="The folder of workbooks.")],
    books: Annotated[
        Path | None,
        typer.Option("--books", metavar="BOOKS", help="Posted documents are not listed (default: FOLDER/books)."),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="As JSON.")] = False,
    today: Today = None,
) -> int:
    """List open cars, and who must act next.

    Of each: state, stage, next step and by whom, authorized and open amounts, days.
    Of each document the latest workbook counts: the highest revision, of that the file saved last. Longest open first.
    """
    from estimator.limits.judging.driving import NO_FINDING
    from estimator.next_step import STAGE_WORDS

    day, unread = day_of(today), []
    latest: dict[str, Report] = {}
    for report in reports(workbooks([folder]), None, None):
        if not report.document:
            unread.append(report)
            continue
        known = latest.get(report.document)
        if known is None or _age(report) > _age(known):
            latest[report.document] = report
    posted = _posted(books or folder / "books", given=books is not None)
    found = [item for item in latest.values() if posted.get(item.document, 0) < item.revision]
    found.sort(key=lambda item: (item.drafted_on or day, item.document))
    if as_json:
        out_json({"schema": 1, "jobs": [_data(item, day) for item in found]})
        return 0
    out(f"{counted(len(found), 'open car')}; {counted(len(latest) - len(found), 'posted document')} not listed")
    for item in found:
        assert item.to_do is not None and item.drafted_on is not None
        days = counted((day - item.drafted_on).days, "day")
        _lines(f"{item.document} revision {item.revision} · {item.customer} · {item.car} · {days}", bold=True)
        never = ". This does not mean the car is safe." if item.driving == NO_FINDING else ""
        _lines(f"{item.driving} · {STAGE_WORDS[item.to_do.stage]}{never}", "  ")
        _lines(f"{item.to_do.who}: {item.to_do.words}", "  ")
        _lines(
            f"authorized {item.agreed['total']}, open {_open(item)} {item.currency} · {in_one_line(Path(item.file).name)}",
            "  ",
        )
    for item in unread:
        say(f"{in_one_line(item.file)}: not listed: {item.findings[0].what}")
    return 0


def _lines(text: str, indent: str = "", *, bold: bool = False) -> None:
    for line in wrapped(text, indent, f"{indent}  "):
        out(line, bold=bold)


def _age(report: Report) -> tuple[int, float, str]:
    return report.revision, Path(report.file).stat().st_mtime, report.file


def _open(report: Report) -> str:
    return f"{Decimal(report.proposed['total']) - Decimal(report.agreed['total']):.2f}"


def _posted(books: Path, *, given: bool) -> dict[str, int]:
    """The highest posted revision of each document."""
    from estimator.books.listing import list_books
    from estimator.books.register import FILE_NAME

    if not given and not (books / FILE_NAME).is_file():
        return {}
    return {item.document: item.revision for item in list_books(books).documents if item.standing}


def _data(report: Report, day: dt.date) -> dict[str, object]:
    from estimator.limits.judging.driving import STATE_SLUGS

    assert report.to_do is not None and report.drafted_on is not None
    return {
        "document": report.document,
        "revision": report.revision,
        "file": report.file,
        "customer": report.customer,
        "car": report.car,
        "intact": report.state == "sound",
        "state": STATE_SLUGS.get(report.driving, ""),
        "stage": report.to_do.stage,
        "next": report.to_do.words,
        "who": report.to_do.who,
        "authorized": report.agreed["total"],
        "open": _open(report),
        "currency": report.currency,
        "days": (day - report.drafted_on).days,
    }
