"""The register of a books folder: one SQLite file to which rows are only ever added.

Several people may post at once, from several machines on one network folder. SQLite's write-ahead log needs memory
shared between all users and so isn't safe there (sqlite.org/wal.html, "all processes must be on the same host"); the
register keeps the rollback journal, takes the write lock at the start of each posting, waits up to a minute for others,
and flushes to the disk before it says so. What remains is that the file server must honor locks, as file servers for
SMB and NFS 4 do; a folder that a cloud service copies between machines doesn't, and mustn't hold books.
"""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterator
from pathlib import Path

from estimator.errors import EXIT_MISSING, CannotWrite, UnreadableFile

FILE_NAME = "register.sqlite"
SCHEMA_VERSION = 1
_APPLICATION_ID = 0x45535442  # "ESTB"
WAIT_SECONDS = 60.0

_TABLES = {
    "batches": """
        batch INTEGER PRIMARY KEY, posted_at TEXT NOT NULL, posted_by TEXT NOT NULL""",
    "documents": """
        id INTEGER PRIMARY KEY, batch INTEGER NOT NULL REFERENCES batches, document TEXT NOT NULL,
        revision INTEGER NOT NULL, kind TEXT NOT NULL, digest TEXT NOT NULL, content TEXT NOT NULL,
        UNIQUE (document, revision, kind, digest), CHECK (length(digest) = 64)""",
    "entries": """
        id INTEGER PRIMARY KEY, batch INTEGER NOT NULL REFERENCES batches,
        document_id INTEGER NOT NULL REFERENCES documents, document TEXT NOT NULL, kind TEXT NOT NULL,
        number INTEGER NOT NULL CHECK (number > 0), entry_id TEXT NOT NULL UNIQUE, entry_date TEXT NOT NULL,
        currency TEXT NOT NULL, UNIQUE (document, kind, number)""",
    "entry_lines": """
        entry INTEGER NOT NULL REFERENCES entries, line_no INTEGER NOT NULL, account_code TEXT NOT NULL,
        account_name TEXT NOT NULL, description TEXT NOT NULL, debit_cents INTEGER NOT NULL,
        credit_cents INTEGER NOT NULL, tax_code TEXT NOT NULL, PRIMARY KEY (entry, line_no),
        CHECK (typeof(debit_cents) = 'integer' AND typeof(credit_cents) = 'integer'),
        CHECK (debit_cents >= 0 AND credit_cents >= 0 AND (debit_cents = 0 OR credit_cents = 0))""",
}
_INDEXES = ("CREATE INDEX entries_by_batch ON entries (batch)", "CREATE INDEX entries_by_date ON entries (entry_date)")


def _triggers() -> Iterator[str]:
    """Rows are never changed, taken out, or replaced by way of an insert with the same number."""
    for table in _TABLES:
        for action in ("UPDATE", "DELETE"):
            yield (
                f"CREATE TRIGGER {table}_no_{action.lower()} BEFORE {action} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, 'the books are only added to: {table}'); END"
            )
        same = "entry = NEW.entry AND line_no = NEW.line_no" if table == "entry_lines" else "rowid = NEW.rowid"
        if table == "entries":
            same += (
                " OR entry_id = NEW.entry_id OR (document = NEW.document AND kind = NEW.kind AND number = NEW.number)"
            )
        yield (
            f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} "
            f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {same}) "
            f"BEGIN SELECT RAISE(ABORT, 'the books are only added to: {table}'); END"
        )


def statements() -> tuple[str, ...]:
    """The schema as it is created, one statement each; `verify` compares a register with it."""
    tables = (f"CREATE TABLE {name} ({' '.join(columns.split())})" for name, columns in _TABLES.items())
    return (*tables, *_INDEXES, *_triggers())


@contextlib.contextmanager
def opened(books: Path | str, *, create: bool = False) -> Iterator[sqlite3.Connection]:
    """The register of a books folder, closed at the end. With `create`, folder and register are made where missing.

    Raises: UnreadableFile (66) where there is none, (65) where the file isn't a register or is of a later version;
    CannotWrite (73) where the folder can't be written or someone holds the register for longer than a minute.
    """
    path = Path(books) / FILE_NAME
    with _in_words(path):
        if create:
            path.parent.mkdir(parents=True, exist_ok=True)
        elif not path.is_file():
            raise UnreadableFile(
                path, "there is no register", "post a workbook to this folder first", exit_status=EXIT_MISSING
            )
        connection = sqlite3.connect(path, timeout=WAIT_SECONDS, isolation_level=None)
    try:
        with _in_words(path):
            connection.execute("PRAGMA foreign_keys=ON")
            connection.execute("PRAGMA synchronous=EXTRA")
            _prepare(connection, path, create)
        with _in_words(path):
            yield connection
    finally:
        connection.close()


@contextlib.contextmanager
def writing(connection: sqlite3.Connection) -> Iterator[None]:
    """One transaction that holds the write lock from its start: all of it is kept, or nothing."""
    with _transaction(connection, "BEGIN IMMEDIATE"):
        yield


@contextlib.contextmanager
def reading(connection: sqlite3.Connection) -> Iterator[None]:
    """One view of the register for all that is asked within, whatever others post meanwhile; their posts wait for it."""
    with _transaction(connection, "BEGIN"):
        yield


@contextlib.contextmanager
def _transaction(connection: sqlite3.Connection, begin: str) -> Iterator[None]:
    connection.execute(begin)
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        with contextlib.suppress(sqlite3.Error):
            connection.execute("ROLLBACK")
        raise


def _prepare(connection: sqlite3.Connection, path: Path, create: bool) -> None:
    version = connection.execute("PRAGMA user_version").fetchone()[0]
    if not version and create:
        with writing(connection):
            version = connection.execute("PRAGMA user_version").fetchone()[0]
            if not version:
                _create(connection, path)
                version = SCHEMA_VERSION
    if connection.execute("PRAGMA application_id").fetchone()[0] != _APPLICATION_ID:
        raise UnreadableFile(
            path, "the file is a database, but no register of books", "name the folder that you post to"
        )
    if version != SCHEMA_VERSION:
        raise UnreadableFile(
            path, f"the register is of version {version}; this program knows {SCHEMA_VERSION}", "use the newer program"
        )
    if connection.execute("PRAGMA journal_mode").fetchone()[0] == "wal":
        connection.execute("PRAGMA journal_mode=DELETE")


def _create(connection: sqlite3.Connection, path: Path) -> None:
    if connection.execute("SELECT COUNT(*) FROM sqlite_master").fetchone()[0]:
        raise UnreadableFile(
            path, "the file is a database, but no register of books", "name the folder that you post to"
        )
    for statement in statements():
        connection.execute(statement)
    connection.execute(f"PRAGMA application_id={_APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version={SCHEMA_VERSION}")


@contextlib.contextmanager
def _in_words(path: Path) -> Iterator[None]:
    try:
        yield
    except sqlite3.OperationalError as error:
        reason = str(error)
        if "locked" in reason or "busy" in reason:
            fix = "the register is in use (posting, verifying or open in another program); try again later"
        else:
            fix = "make sure that the folder exists, has room, and lets you write"
        raise CannotWrite(path, f"the register cannot be used: {reason}", fix) from error
    except sqlite3.IntegrityError:
        raise
    except sqlite3.DatabaseError as error:
        fix = "restore it from a copy; the journal files beside it show what it held"
        raise UnreadableFile(path, f"the file isn't a sound register: {error}", fix) from error
    except OSError as error:
        fix = "make sure that the folder exists, has room, and lets you write"
        raise CannotWrite(path, f"the register cannot be used: {error.strerror or error}", fix) from error
