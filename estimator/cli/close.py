"""`estimator close`: a month of the books into which nothing is posted any more."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from estimator.cli.books import month_of
from estimator.cli.keys import Who, name_of
from estimator.cli.output import out
from estimator.cli.today import Today, day_of

EXAMPLES = ("estimator close demo/books 2026-11 --today 2026-12-08",)


def close(
    books: Annotated[Path, typer.Argument(metavar="BOOKS", help="The books folder.")],
    month: Annotated[str, typer.Argument(metavar="YYYY-MM", callback=month_of, help="A month that is over.")],
    who: Who = None,
    today: Today = None,
) -> int:
    """Close a month of the books.

    Nothing is posted into it or any month before it. It cannot be opened again: date corrections in an open month.
    """
    from estimator.books.voids import close_month

    act = close_month(books, month, name_of(who), today=day_of(today))
    out(f"{month}: {act.words}")
    return 0
