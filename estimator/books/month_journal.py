"""A month's journal as one tidy CSV: a row a line, one currency, ISO dates, the tax rate, for other programs to read."""

from __future__ import annotations

import csv
import io
import sqlite3
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

from estimator.books.csv_files import csv_bytes
from estimator.books.journal import COLUMNS, as_text
from estimator.books.ledger_entries import Recorded, recorded
from estimator.books.ubl import percent_text

MONTH_COLUMNS = (*COLUMNS[:-1], "tax_rate_percent", "customer", "content_sha256", "batch")


def month_journal(connection: sqlite3.Connection, month: str, currency: str) -> bytes:
    """The journal of a month ("2026-11") in one currency; the last column is the batch, so that its last row tells as of
    which batch it is. `tax_rate_percent` stands at taxed and untaxed lines and at each part of a tax."""
    where = "WHERE substr(e.entry_date, 1, 7) = ? AND e.currency = ?"
    return csv_bytes(MONTH_COLUMNS, _rows(recorded(connection, where, (month, currency))))


def _rows(items: Iterator[Recorded]) -> Iterator[tuple[str, ...]]:
    for item in items:
        posting = item.posting
        rates = {"taxed": posting.tax_rate, "untaxed": Decimal(0)}
        rates |= {as_text(name): rate for name, rate, _ in posting.tax_parts}
        for row in item.entry.rows():
            rate = rates.get(row[COLUMNS.index("tax_code")])
            more = ("" if rate is None else percent_text(rate), as_text(posting.customer.name))
            yield (*row[:-1], *more, row[-1], str(item.entry.batch))


def last_batch(path: Path) -> int:
    """The batch of the last row of a month's journal; 0 where there is none."""
    try:
        *_, row = csv.reader(io.StringIO(path.read_text(encoding="utf-8"), newline=""))
        return int(row[-1])
    except (OSError, ValueError, IndexError, csv.Error):
        return 0
