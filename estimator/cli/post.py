"""`estimator post`: the authorized work of workbooks to the books."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from estimator.cli.keys import KeyFile, Who, key_from, name_of
from estimator.cli.output import out, say
from estimator.cli.today import EntryDate, Today, day_of
from estimator.errors import EXIT_FINDINGS, Finding, sentences

if TYPE_CHECKING:
    from estimator.books.posting import Posting
    from estimator.records.visits import PastVisit
    from estimator.workbook.seal import SealKey

EXAMPLES = ("estimator post demo/LY-311-A-r1-road.xlsx --books books --who Marsh --today 2026-11-28",)


def post(
    files: Annotated[
        list[Path], typer.Argument(metavar="FILE.xlsx", help="Workbooks; a folder stands for every .xlsx in it.")
    ],
    books: Annotated[Path, typer.Option("--books", metavar="DIR", help="The books folder (created if needed).")],
    seal: KeyFile = None,
    who: Who = None,
    date: EntryDate = None,
    override: Annotated[
        list[str] | None,
        typer.Option(
            "--override",
            metavar="RULE",
            help="Post in spite of number-reused, older-revision, document-voided or work-not-done; repeatable.",
        ),
    ] = None,
    why: Annotated[str, typer.Option("--why", metavar="REASON", help="Recorded with the override.")] = "",
    today: Today = None,
) -> int:
    """Post authorized work to the books, each content once.

    Not posted: a workbook that is not intact, a recommended job without a decision, work not marked done, a document
    over its authorization or without one, a part of the wrong fluid family, a number of another customer, an older
    revision, a date before the work or in a closed month. A car marked DO NOT DRIVE can still be posted.
    """
    from estimator.books.post import post as to_the_books
    from estimator.books.refusals import Override
    from estimator.cli.check import workbooks

    given, day = Override(frozenset(override or ()), why), day_of(date or today)
    ready, visits, undone, refused = _checked(workbooks(files), key_from(seal), day, day_of(today))
    if not ready:
        return EXIT_FINDINGS
    result = to_the_books(
        [posting for _, posting in ready],
        books,
        name_of(who),
        today=day_of(today),
        override=given,
        undone=undone,
        dated=date is not None,
        visits=visits,
    )
    for message in result.messages:
        say(message)
    for (path, posting), found in zip(ready, result.documents, strict=True):
        refused += found.status == "refused"
        words = "; ".join(found.messages)
        total = f"{posting.totals['total']} {posting.currency}"
        line = f"{path}: {found.document} revision {found.revision}: {found.status.replace('-', ' ')}"
        if found.status == "refused":
            say(f"{path} not posted: {words}")
        else:
            out(f"{line}, {total}, entry {found.entry_id}" + (f" ({words})" if words else ""))
    for name in result.files:
        out(f"written: {books / name}")
    return EXIT_FINDINGS if refused else 0


def _checked(
    paths: Sequence[Path], key: SealKey | None, day: dt.date, today: dt.date
) -> tuple[list[tuple[Path, Posting]], list[PastVisit], set[str], int]:
    """What may go to the books and what it measured, the documents whose work isn't done, and how many workbooks may
    not."""
    from estimator.books.from_appraisal import posting_of
    from estimator.books.post_gate import checked_for_books, date_findings
    from estimator.car_history.visit import visit_of

    ready: list[tuple[Path, Posting]] = []
    visits: list[PastVisit] = []
    undone: set[str] = set()
    refused = 0
    for path in paths:
        appraisal, findings = checked_for_books(path, key)
        wrong = () if appraisal is None else tuple(date_findings(appraisal, day, today))
        for line in _told((*findings, *wrong)):
            say(f"{path}: {line}")
        if appraisal is None or wrong:
            say(f"{path} not posted: correct the items above and post again")
            refused += 1
            continue
        ready.append((path, posting_of(appraisal, day)))
        visits.append(visit_of(appraisal))
        if any(finding.rule == "job-not-done" for finding in findings):
            undone.add(appraisal.record.job.document)
    return ready, visits, undone, refused


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
