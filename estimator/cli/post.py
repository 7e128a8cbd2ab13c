"""`estimator post`: the agreed work of workbooks to the books."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from estimator.cli.keys import KeyFile, key_from
from estimator.cli.output import out, say
from estimator.cli.today import Today, day_of
from estimator.errors import EXIT_FINDINGS

EXAMPLES = ("estimator post demo/LY-311-A-r1-road.xlsx --books books --who Marsh",)


def post(
    files: Annotated[
        list[Path], typer.Argument(metavar="FILE.xlsx", help="Workbooks; a folder stands for every .xlsx in it.")
    ],
    books: Annotated[
        Path, typer.Option("--books", metavar="DIR", help="The books folder; it is made if it isn't there.")
    ],
    seal: KeyFile = None,
    who: Annotated[
        str | None, typer.Option("--who", metavar="NAME", help="Who posts; your user name if left out.")
    ] = None,
    today: Today = None,
) -> int:
    """Post agreed work to the books, each content once.

    Refused, with the others posted: an unsound file, a proposed job without a decision, a document over its consent or
    without one, a part of the wrong fluid family. A car that must not be driven still posts.
    """
    import getpass

    from estimator.books.from_appraisal import posting_of
    from estimator.books.post import post as to_the_books
    from estimator.books.post_gate import checked_for_books
    from estimator.cli.check import workbooks
    from estimator.readback.future_dates import dates_in, in_the_future

    key = key_from(seal)
    paths = workbooks(files)
    ready, refused = [], 0
    for path in paths:
        appraisal, findings = checked_for_books(path, key)
        for finding in findings:
            say(f"{path}: {finding.line()}")
        if appraisal is None:
            say(f"{path} · not posted · mend what is named above and post it again")
            refused += 1
        else:
            ready.append((path, posting_of(appraisal)))
            for finding in in_the_future(dates_in(appraisal), day_of(today)):
                say(f"{path}: {finding.line()}")
    if not ready:
        return EXIT_FINDINGS
    result = to_the_books([posting for _, posting in ready], books, who or getpass.getuser())
    for message in result.messages:
        say(message)
    for (path, posting), found in zip(ready, result.documents, strict=True):
        refused += found.status == "refused"
        words = "; ".join(found.messages)
        total = f"{posting.totals['total']} {posting.currency}"
        line = f"{path}: {found.document} revision {found.revision}: {found.status.replace('-', ' ')}"
        if found.status == "refused":
            say(f"{line}: {words}")
        else:
            out(f"{line}, {total}, entry {found.entry_id}" + (f" ({words})" if words else ""))
    for name in result.files:
        out(f"written: {books / name}")
    return EXIT_FINDINGS if refused else 0
