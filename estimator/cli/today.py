"""The day against which dates are held: given, or the machine's."""

from __future__ import annotations

import datetime as dt
from typing import Annotated

import typer

Today = Annotated[
    dt.datetime | None,
    typer.Option(
        "--today",
        metavar="DATE",
        formats=["%Y-%m-%d"],
        help="Report dates after this day (default: today).",
    ),
]
EntryDate = Annotated[
    dt.datetime | None,
    typer.Option("--date", metavar="YYYY-MM-DD", formats=["%Y-%m-%d"], help="Date of the entry (default: today)."),
]


def day_of(today: dt.datetime | None) -> dt.date:
    """The day that is given, else the machine's.

    >>> day_of(dt.datetime(2026, 11, 25))
    datetime.date(2026, 11, 25)
    """
    return dt.date.today() if today is None else today.date()
