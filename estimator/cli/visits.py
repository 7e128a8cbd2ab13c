"""The visits of a car, from the books and from workbooks that were never posted."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from estimator.cli.output import say

if TYPE_CHECKING:
    from estimator.records import Car
    from estimator.records.visits import PastVisit

BooksFolder = Annotated[Path | None, typer.Option("--books", metavar="DIR", help="Books that hold its posted visits.")]
FromFolder = Annotated[
    list[Path] | None,
    typer.Option("--from", metavar="FOLDER", help="Workbooks of its visits, posted or not; repeatable."),
]


def visits_on_file(car: Car, books: Path | None, workbooks: Sequence[Path]) -> list[PastVisit]:
    """The visits of a car and of those that held its accumulators: of each document the newest and fullest.

    A workbook that isn't intact is named and left out.
    """
    from estimator.car_history.series import in_order

    found = _from_workbooks(workbooks)
    identity = car.car
    if books is not None:
        from estimator.books.visits import posted_visits

        mine = [
            visit
            for visit in (*found, *posted_visits(books, identity.chassis_number, identity.id))
            if visit.is_of(identity)
        ]
        serials = {serial for visit in mine for serial in visit.all_serials}
        found += posted_visits(books, identity.chassis_number, identity.id, sorted(serials))
    return list(in_order(sorted(found, key=lambda visit: (visit.revision, len(visit.readings)))))


def _from_workbooks(paths: Sequence[Path]) -> list[PastVisit]:
    if not paths:
        return []
    from estimator.car_history.visit import visit_of
    from estimator.cli.check import workbooks
    from estimator.errors import UnreadableFile
    from estimator.readback.check import check_workbook

    found = []
    for path in workbooks(paths):
        try:
            checked = check_workbook(path)
        except UnreadableFile as refusal:
            say(f"{path} skipped: {refusal.what}")
            continue
        if checked.state != "sound" or checked.appraisal is None:
            say(f"{path} skipped: workbook not intact; see `estimator check`")
            continue
        found.append(visit_of(checked.appraisal))
    return found
