"""`estimator void`: a document of the books that is taken back as such."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from estimator.cli.core import print_result
from estimator.cli.keys import Who, name_of
from estimator.cli.today import EntryDate, Today, day_of

EXAMPLES = (
    'estimator void demo/books LY-311-A --why "billed to the wrong customer" --date 2026-12-08 --today 2026-12-08',
)


def void(
    books: Annotated[Path, typer.Argument(metavar="BOOKS", help="The books folder.")],
    document: Annotated[str, typer.Argument(metavar="DOCUMENT", help="An invoice, payment or core entry on file.")],
    why: Annotated[str, typer.Option("--why", metavar="REASON", help="Recorded with your name.")],
    date: EntryDate = None,
    who: Who = None,
    today: Today = None,
) -> int:
    """Void a document in the books.

    Reverses it in full and records who voided it and why. Its number is not used again.
    """
    from estimator.books.voids import void as voided

    result = voided(books, document, why, name_of(who), day_of(date or today), today=day_of(today))
    print_result(result, books)
    return 0
