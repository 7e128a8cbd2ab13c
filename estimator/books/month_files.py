"""The files of each month, made from the register alone and renewed when a later batch touches them: a report for people,
and a journal in each currency for programs."""

from __future__ import annotations

import importlib.metadata
import re
import sqlite3
import zipfile
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from estimator.books.month_journal import last_batch, month_journal
from estimator.books.month_report import month_report
from estimator.books.register import reading
from estimator.files import write_whole

# Raised with any change of the report's look: another program's report isn't compared to the byte, but made again.
FORM = f"4 by {importlib.metadata.version('xlsxwriter')}"
_AS_OF = re.compile(rb"as of batch ([0-9]+), form ([^<]*)<")


@dataclass(frozen=True)
class MonthFile:
    """A file that the register asks for: its name, the last batch that counts in it, its content, and as of which batch
    the file at a path is (0 where it is none, or of another form)."""

    name: str
    batch: int
    content: Callable[[], bytes]
    as_of: Callable[[Path], int]


def renew_month_files(connection: sqlite3.Connection, books: Path) -> list[str]:
    """Write the files of months that are missing or lack a batch. Two people posting at once leave the newer one: after
    writing, the register is asked again. Returns: the names written. Raises: CannotWrite."""
    made: list[str] = []
    behind = True
    while behind:
        with reading(connection):
            found = [item for item in month_files(connection) if item.as_of(books / item.name) < item.batch]
            contents = [(item.name, item.content()) for item in found]
        for name, content in contents:
            write_whole(books / name, content)
            made.append(name)
        behind = bool(contents)
    return list(dict.fromkeys(made))


def month_files(connection: sqlite3.Connection) -> Iterator[MonthFile]:
    """The files of all months, reports first. A report counts earlier months too, a journal its own."""
    rows = connection.execute(
        "SELECT substr(entry_date, 1, 7) AS month, currency, MAX(batch) FROM entries GROUP BY month, currency ORDER BY month"
    ).fetchall()
    last = 0
    months: dict[str, int] = {}
    for month, _, batch in rows:
        months[month] = last = max(last, batch)

    def report(month: str, batch: int) -> Callable[[], bytes]:
        return lambda: month_report(connection, month, batch, FORM)

    def journal(month: str, currency: str) -> Callable[[], bytes]:
        return lambda: month_journal(connection, month, currency)

    for month, batch in months.items():
        yield MonthFile(f"month-{month}.xlsx", batch, report(month, batch), report_as_of)
    for month, currency, batch in rows:
        yield MonthFile(f"month-{month}-{currency}.csv", batch, journal(month, currency), last_batch)


def report_as_of(path: Path) -> int:
    """The batch as of which a report is; 0 where there is none of this form."""
    try:
        with zipfile.ZipFile(path) as archive:
            found = _AS_OF.search(archive.read("docProps/core.xml"))
    except (OSError, KeyError, ValueError, RuntimeError, NotImplementedError, EOFError, zipfile.BadZipFile, zlib.error):
        return 0
    return int(found[1]) if found and found[2].decode(errors="replace") == FORM else 0
