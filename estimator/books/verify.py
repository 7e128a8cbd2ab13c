"""Does what the books say still agree: register, journal files, summaries, data packages and UBL documents."""

from __future__ import annotations

import contextlib
import csv
import io
import sqlite3
from collections.abc import Iterator
from decimal import Decimal, InvalidOperation
from pathlib import Path

from estimator.books.acts import acts
from estimator.books.batch_files import expected_files
from estimator.books.core_deposits import core_findings
from estimator.books.journal import COLUMNS, reverse
from estimator.books.ledger_entries import Recorded, recorded
from estimator.books.month_files import month_files
from estimator.books.posting import canonical, digest, from_canonical
from estimator.books.posting_rules import posting_findings
from estimator.books.register import (
    FILE_NAME,
    files_of_books,
    last_batch_of,
    opened,
    readable_rows,
    reading,
    statements,
    version_of,
)
from estimator.books.ubl_check import ubl_findings
from estimator.books.visits import visit_findings
from estimator.errors import EXIT_MISSING, EstimatorError, Finding, UnreadableFile
from estimator.money import ZERO, add

_SCHEMA = "SELECT type, tbl_name, name, sql FROM sqlite_master"
_MADE_AGAIN = "move it away and post again: missing files are rebuilt from the register"
_STILL_COMING = "verify again if someone is posting just now; post again otherwise: missing files are rebuilt"
_RESTORE = "restore the register from a copy; it was changed by something other than this program"


def verify(books_dir: Path | str, *, reports: bool = True) -> tuple[Finding, ...]:
    """Work out every digest and balance again, and say what doesn't agree; nothing is changed.

    Looked at: the database itself, its schema and its guards; each content against its digest and against the sums
    that it must hold; each entry against its content, its balance and its fingerprint; that postings and reversals
    alternate; every file, of batches and (with `reports`) of months, against what the register gives, to the byte; journals
    that it doesn't know; the balances of the journal files against the register's; the arithmetic of each UBL document;
    core deposits; acts; the readings kept with entries.
    Without a seal this shows accidents, not intent.
    Returns: findings of rule `out-of-balance`, severity stop; `record-altered` for what can't be read, after which
    nothing further is looked at. Raises: UnreadableFile (66) where there is no register.
    """
    books = Path(books_dir)
    found: list[Finding] = []
    try:
        with opened(books) as connection, reading(connection), readable_rows(books):
            for look in (_database, _documents, _acts, visit_findings, _entries):
                found += look(connection)
                if any(finding.rule == "record-altered" for finding in found):
                    return tuple(found)
            found += _files(connection, books, reports)
            found += _journal_balances(connection, books)
            found += core_findings(connection)
    except EstimatorError as damage:
        if damage.exit_status == EXIT_MISSING:
            raise
        what = damage.what if isinstance(damage, UnreadableFile) else str(damage)
        found.append(Finding("record-altered", "stop", f"{FILE_NAME}: {what}", _RESTORE))
    return tuple(found)


def _finding(what: str, fix: str, expected: object = "", found: object = "") -> Finding:
    return Finding("out-of-balance", "stop", what, fix, expected=str(expected), found=str(found))


def _database(connection: sqlite3.Connection) -> Iterator[Finding]:
    for (words,) in connection.execute("PRAGMA integrity_check"):
        if words != "ok":
            yield _finding(f"{FILE_NAME}: {words}", _RESTORE)
    for row in connection.execute("PRAGMA foreign_key_check"):
        yield _finding(f"{FILE_NAME}: a row of {row[0]} refers to a row of {row[2]} that isn't there", _RESTORE)
    with contextlib.closing(sqlite3.connect(":memory:")) as new:
        for statement in statements(version_of(connection)):
            new.execute(statement)
        wanted = set(new.execute(_SCHEMA))
    found = set(connection.execute(_SCHEMA))
    for *_, name, sql in sorted(wanted - found, key=str):
        yield _finding(f"{FILE_NAME}: lacks, or has another form of: {name}: {sql or ''}"[:160], _RESTORE)
    for *_, name, sql in sorted(found - wanted, key=str):
        yield _finding(f"{FILE_NAME}: has what no register has: {name}: {sql or ''}"[:160], _RESTORE)


def _documents(connection: sqlite3.Connection) -> Iterator[Finding]:
    rows = connection.execute("SELECT document, revision, kind, digest, content FROM documents ORDER BY id").fetchall()
    for document, revision, kind, written, content in rows:
        place = f"{document} revision {revision} ({kind})"
        if digest(content) != written:
            yield _finding(f"{place}: its content doesn't have its digest", _RESTORE, written, digest(content))
        try:
            posting = from_canonical(content)
        except (ValueError, KeyError, TypeError, AttributeError, InvalidOperation) as error:
            what = f"{place}: its content can't be read ({error}); no entry or file was looked at"
            yield Finding("record-altered", "stop", what, _RESTORE)
            continue
        if canonical(posting) != content:
            yield _finding(f"{place}: its content isn't in canonical form", _RESTORE)
        if (posting.document, posting.revision, posting.kind) != (document, revision, kind):
            yield _finding(f"{place}: its content is that of {posting.document} revision {posting.revision}", _RESTORE)
        yield from posting_findings(posting)


def _acts(connection: sqlite3.Connection) -> Iterator[Finding]:
    for act, written in acts(connection):
        if act.digest != written:
            yield _finding(
                f"{act.subject}: {act.words}: the row doesn't have its digest", _RESTORE, written, act.digest
            )


def _entries(connection: sqlite3.Connection) -> Iterator[Finding]:
    before: dict[tuple[str, str], Recorded] = {}
    for item in recorded(connection):
        entry, key = item.entry, (item.entry.document, item.entry.kind)
        debit, credit = add(line.debit for line in entry.lines), add(line.credit for line in entry.lines)
        if debit != credit:
            yield _finding(f"{item.entry_id}: the entry doesn't balance", _RESTORE, debit, credit)
        if entry.entry_id != item.entry_id:
            yield _finding(
                f"{item.entry_id}: its rows don't have its fingerprint", _RESTORE, item.entry_id, entry.entry_id
            )
        last = before.get(key)
        if entry.number != (last.entry.number if last else 0) + 1:
            yield _finding(f"{item.entry_id}: entries of the document are missing before it", _RESTORE)
        journal = reverse(last.entry.lines) if entry.is_reversal and last else item.posting.journal
        if entry.lines != journal:
            what = "the entry that it reverses" if entry.is_reversal else "the document's content"
            yield _finding(f"{item.entry_id}: its lines aren't those of {what}", _RESTORE)
        before[key] = item


def _files(connection: sqlite3.Connection, books: Path, reports: bool) -> Iterator[Finding]:
    (batches,) = connection.execute("SELECT COALESCE(MAX(batch), 0) FROM batches").fetchone()
    if (there := last_batch_of(files_of_books(books))) > batches:
        what = f"files of batch {there} lie here, and the register ends with batch {batches}"
        yield _finding(what, "restore the newest copy of the register")
    wanted = expected_files(connection)
    months = {item.name: item for item in month_files(connection)} if reports else {}
    for name in (*wanted, *months):
        try:
            found = (books / name).read_bytes()
        except OSError as error:
            fix = _STILL_COMING if isinstance(error, FileNotFoundError) else _MADE_AGAIN
            yield _finding(f"{name}: the file can't be read: {error.strerror}", fix)
            continue
        if name in months and months[name].as_of(books / name) < months[name].batch:
            yield _finding(f"{name}: lacks the last batch, is of another version, or damaged", _STILL_COMING)
        elif found != (wanted[name] if name in wanted else months[name].content()):
            yield _finding(f"{name}: the file isn't what the register gives", _MADE_AGAIN)
        if name.endswith(".xml"):
            yield from ubl_findings(found, name)
    for path in sorted(books.glob("journal-*.csv")):
        if path.name not in wanted:
            yield _finding(f"{path.name}: a journal that the register does not know", "move it away")


def _journal_balances(connection: sqlite3.Connection, books: Path) -> Iterator[Finding]:
    """The balance of each account, from the CSV files alone, against the register; not while a journal is missing."""
    sums: dict[tuple[str, str], Decimal] = {}
    journals = sorted(books.glob("journal-*.csv"))
    (batches,) = connection.execute("SELECT COUNT(*) FROM batches").fetchone()
    if len(journals) < batches:
        return
    for path in journals:
        reader = csv.DictReader(io.StringIO(path.read_text(encoding="utf-8", errors="replace"), newline=""))
        if tuple(reader.fieldnames or ()) != COLUMNS:
            yield _finding(
                f"{path.name}: its columns aren't those of a journal", _MADE_AGAIN, COLUMNS, reader.fieldnames
            )
            continue
        for line in reader:
            try:
                balance = Decimal(line["debit"] or "x") - Decimal(line["credit"] or "x")
            except (InvalidOperation, TypeError):
                words = f"{path.name}: line {reader.line_num} has no amounts"
                yield _finding(words, _MADE_AGAIN, "two amounts", f"{line['debit']}, {line['credit']}")
                continue
            key = (line["account_code"], line["currency"])
            sums[key] = sums.get(key, ZERO) + balance
    register: dict[tuple[str, str], Decimal] = {}
    for item in recorded(connection):
        for row, side in zip(item.entry.rows(), item.entry.lines, strict=True):
            key = (row[COLUMNS.index("account_code")], item.entry.currency)
            register[key] = register.get(key, ZERO) + side.debit - side.credit
    for key in sorted(register.keys() | sums.keys()):
        if register.get(key, ZERO) != sums.get(key, ZERO):
            what = f"account {key[0]}, {key[1]}: the journal files don't give the register's balance"
            yield _finding(what, _MADE_AGAIN, register.get(key, ZERO), sums.get(key, ZERO))
