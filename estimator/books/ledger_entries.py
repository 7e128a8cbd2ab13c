"""Rows of the register as entries and postings, and back."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation
from functools import cached_property

from estimator.books.journal import Entry, reverse
from estimator.books.posting import Posting, PostingLine, from_canonical
from estimator.books.register import FILE_NAME
from estimator.errors import UnreadableFile

_ENTRY = """
    SELECT e.id, e.batch, e.document, d.revision, e.kind, e.number, e.entry_date, e.currency, d.digest, e.entry_id,
           d.content, e.document_id
    FROM entries e JOIN documents d ON d.id = e.document_id """


@dataclass(frozen=True)
class Recorded:
    """An entry as it lies in the register, with the content of the document that it posts or reverses."""

    row: int
    entry: Entry
    entry_id: str
    content: str
    document_row: int

    @cached_property
    def posting(self) -> Posting:
        """The document that was posted. Raises: UnreadableFile where the register's content isn't one any more."""
        try:
            return from_canonical(self.content)
        except (ValueError, KeyError, TypeError, AttributeError, InvalidOperation) as error:
            what = f"the content of {self.entry_id} can't be read: {error}"
            raise UnreadableFile(
                FILE_NAME, what, "restore the register from a copy; see what --verify finds"
            ) from error


def cents(amount: Decimal) -> int:
    return int(amount.scaleb(2))


def amount(whole_cents: int) -> Decimal:
    return Decimal(whole_cents).scaleb(-2)


def recorded(connection: sqlite3.Connection, where: str = "", values: tuple[str | int, ...] = ()) -> Iterator[Recorded]:
    """The entries in the order in which they were made. `where` is SQL of this package, never of a person."""
    rows = connection.execute(f"{_ENTRY} {where} ORDER BY e.id", values).fetchall()
    for row, batch, document, revision, kind, number, date, currency, digest, entry_id, content, document_row in rows:
        lines = tuple(
            PostingLine(code, name, words, amount(debit), amount(credit), tax_code)
            for code, name, words, debit, credit, tax_code in connection.execute(
                "SELECT account_code, account_name, description, debit_cents, credit_cents, tax_code "
                "FROM entry_lines WHERE entry = ? ORDER BY line_no",
                (row,),
            )
        )
        entry = Entry(batch, document, revision, kind, number, date, currency, digest, lines)
        yield Recorded(row, entry, entry_id, content, document_row)


def latest(connection: sqlite3.Connection, document: str, kind: str) -> Recorded | None:
    """The last entry of a document, whether it posts or reverses."""
    where = (
        "WHERE e.document = ? AND e.kind = ? AND e.number = "
        "(SELECT MAX(number) FROM entries WHERE document = e.document AND kind = e.kind)"
    )
    return next(recorded(connection, where, (document, kind)), None)


def standing(connection: sqlite3.Connection, *kinds: str) -> Iterator[Recorded]:
    """The entries of these kinds, or of all, that are posted and not reversed."""
    yield from recorded(
        connection,
        "WHERE e.number % 2 = 1 AND NOT EXISTS (SELECT 1 FROM entries r "
        "WHERE r.document = e.document AND r.kind = e.kind AND r.number > e.number)"
        + (f" AND e.kind IN ({', '.join('?' * len(kinds))})" if kinds else ""),
        kinds,
    )


def insert_document(connection: sqlite3.Connection, batch: int, posting: Posting, content: str, digest: str) -> int:
    """The row of a content, added where this document, revision and kind hadn't it before."""
    key = (posting.document, posting.revision, posting.kind, digest)
    where = "SELECT id FROM documents WHERE document = ? AND revision = ? AND kind = ? AND digest = ?"
    found = connection.execute(where, key).fetchone()
    if found:
        return int(found[0])
    statement = "INSERT INTO documents (batch, document, revision, kind, digest, content) VALUES (?, ?, ?, ?, ?, ?)"
    return added(connection, statement, (batch, *key, content))


def added(connection: sqlite3.Connection, statement: str, values: Sequence[object]) -> int:
    """Add a row. Returns its number."""
    row = connection.execute(statement, values).lastrowid
    assert row is not None, "an INSERT numbers its row"
    return row


def insert_entry(connection: sqlite3.Connection, document_row: int, entry: Entry) -> None:
    statement = (
        "INSERT INTO entries (batch, document_id, document, kind, number, entry_id, entry_date, currency) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?)"
    )
    head = (entry.batch, document_row, entry.document, entry.kind, entry.number, entry.entry_id)
    row = added(connection, statement, (*head, entry.date, entry.currency))
    lines = []
    for place, line in enumerate(entry.lines, start=1):
        account = (line.account_code, line.account_name, line.description)
        lines.append((row, place, *account, cents(line.debit), cents(line.credit), line.tax_code))
    connection.executemany("INSERT INTO entry_lines VALUES (?, ?, ?, ?, ?, ?, ?, ?)", lines)


def entry_of(posting: Posting, digest: str, batch: int, number: int) -> Entry:
    """The entry that posts a document."""
    date, kind = posting.date.isoformat(), posting.kind
    return Entry(
        batch, posting.document, posting.revision, kind, number, date, posting.currency, digest, posting.journal
    )


def reversal_of(entry: Entry, batch: int, date: str) -> Entry:
    """The entry that takes another back in full, dated no earlier than it."""
    date, lines = max(entry.date, date), reverse(entry.lines)
    return replace(entry, batch=batch, number=entry.number + 1, date=date, lines=lines)
