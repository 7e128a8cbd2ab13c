"""`estimator post`: the authorized work of workbooks to the books."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Annotated

import typer

from estimator.cli.keys import KeyFile, key_from
from estimator.cli.output import out, say
from estimator.cli.today import Today, day_of
from estimator.errors import EXIT_FINDINGS, Finding, sentences

EXAMPLES = ("estimator post demo/LY-311-A-r1-road.xlsx --books books --who Marsh",)


def post(
    files: Annotated[
        list[Path], typer.Argument(metavar="FILE.xlsx", help="Workbooks; a folder stands for every .xlsx in it.")
    ],
    books: Annotated[Path, typer.Option("--books", metavar="DIR", help="The books folder (created if needed).")],
    seal: KeyFile = None,
    who: Annotated[
        str | None, typer.Option("--who", metavar="NAME", help="Who posts (default: your user name).")
    ] = None,
    today: Today = None,
) -> int:
    """Post authorized work to the books, each content once.

    Not posted: a workbook that is not intact, a recommended job without a decision, an estimate over its authorization
    or without one, a part of the wrong fluid family. A car marked DO NOT DRIVE can still be posted.
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
        for line in _told(findings):
            say(f"{path}: {line}")
        if appraisal is None:
            say(f"{path} not posted: correct the items above and post again")
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


def _told(findings: Iterable[Finding]) -> Iterator[str]:
    """Findings in lines; those that differ in their place alone in one, each place named."""
    alike: dict[tuple[str, str], list[Finding]] = {}
    for finding in findings:
        alike.setdefault((finding.rule, finding.fix), []).append(finding)
    for group in alike.values():
        first, *others = group
        what = first.what.rpartition(": ")[2]
        if not others or any(item.what.rpartition(": ")[2] != what for item in others):
            yield from (item.line() for item in group)
            continue
        tabs: dict[str, list[str]] = {}
        for item in group:
            tabs.setdefault(item.tab, []).append(item.cell)
        where = "; ".join(
            f"{tab} {', '.join(cells)}" if all(cells) else f"{tab}, {len(cells)}" for tab, cells in tabs.items()
        )
        yield f"{first.severity}: " + sentences(f"{len(group)} lines {what} ({where})", first.fix)
