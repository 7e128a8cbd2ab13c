"""The register of a books folder: one SQLite file to which rows are only ever added.

Several people may post at once, from several machines on one network folder. SQLite's write-ahead log needs memory
shared between all users and so isn't safe there (sqlite.org/wal.html, "all processes must be on the same host"); the
register keeps the rollback journal, takes the write lock at the start of each posting, waits up to a minute for others,
and flushes to the disk before it says so. What remains is that the file server must honor locks, as file servers for
SMB and NFS 4 do; a folder that a cloud service copies between machines doesn't, and mustn't hold books.
"""

from __future__ import annotations

import contextlib
import re
import sqlite3
from collections.abc import Iterable, Iterator
from pathlib import Path

from estimator.errors import EXIT_MISSING, CannotWrite, UnreadableFile

FILE_NAME = "register.sqlite"
SCHEMA_VERSION = 3
_APPLICATION_ID = 0x45535442  # "ESTB"
WAIT_SECONDS = 60.0

_FIRST = {
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
# What people did that isn't an entry: posted past a refusal, voided a document, closed a month.
_SECOND = {
    "acts": """
        id INTEGER PRIMARY KEY, done_at TEXT NOT NULL, done_by TEXT NOT NULL,
        act TEXT NOT NULL CHECK (act IN ('override', 'void', 'close')), rule TEXT NOT NULL, subject TEXT NOT NULL,
        why TEXT NOT NULL, digest TEXT NOT NULL CHECK (length(digest) = 64)""",
}
# What the posted workbooks measured, by car and by the serials of its accumulators; of an entry the last row counts.
_THIRD = {
    "visits": """
        id INTEGER PRIMARY KEY, entry_id TEXT NOT NULL REFERENCES entries (entry_id), chassis TEXT NOT NULL,
        car_id TEXT NOT NULL, digest TEXT NOT NULL, content TEXT NOT NULL, CHECK (length(digest) = 64)""",
    "visit_serials": """
        id INTEGER PRIMARY KEY, visit INTEGER NOT NULL REFERENCES visits, serial TEXT NOT NULL""",
}
_STEPS = {1: _FIRST, 2: _SECOND, 3: _THIRD}
_BATCH_FILE = re.compile(r"(?:journal|summary|datapackage)-([0-9]{6,})\.(?:csv|json)")
_REPORT = re.compile(r"month-[0-9]{4}-[0-9]{2}(?:-[A-Z]{3}\.csv|\.xlsx)")
# What the database says where the folder is at fault, and not the file.
_OF_THE_FOLDER = ("unable to open", "readonly", "disk", "full")
_INDEXES = ("CREATE INDEX entries_by_batch ON entries (batch)", "CREATE INDEX entries_by_date ON entries (entry_date)")


def _triggers(tables: Iterable[str]) -> Iterator[str]:
    """Rows are never changed, taken out, or replaced by way of an insert with the same number."""
    for table in tables:
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


def statements(version: int) -> tuple[str, ...]:
    """The schema of a version as it is created, one statement each; `verify` compares a register with it."""
    return tuple(statement for number in range(1, version + 1) for statement in _step(number))


def _step(version: int) -> tuple[str, ...]:
    """What leads from the version before to this one."""
    tables = (f"CREATE TABLE {name} ({' '.join(columns.split())})" for name, columns in _STEPS[version].items())
    return (*tables, *(_INDEXES if version == 1 else ()), *_triggers(_STEPS[version]))


def version_of(connection: sqlite3.Connection) -> int:
    """The version of a register's schema."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


@contextlib.contextmanager
def opened(books: Path | str, *, create: bool = False, write: bool = False) -> Iterator[sqlite3.Connection]:
    """The register of a books folder, closed at the end. With `create`, folder and register are made where missing.

    With `write` or `create` a register of an earlier version is brought to the present one; without, it is left as it
    is and read as if it had the newer tables, empty.
    Raises: UnreadableFile (66) where there is none, or none beside files of books; (65) where the file isn't a
    register, is of a later version, or is older than the files beside it; CannotWrite (73) where the folder can't be
    written or someone holds the register for longer than a minute.
    """
    path = Path(books) / FILE_NAME
    write = write or create
    with _in_words(path):
        beside = files_of_books(path.parent) if write else ()
        if create:
            _not_lost(path, beside)
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
            _prepare(connection, path, create, write)
            if write:
                _not_older(connection, path, beside)
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


def files_of_books(folder: Path) -> tuple[str, ...]:
    """The names in a folder that only books leave there: files of batches and of months, a journal of the register."""
    if not folder.is_dir():
        return ()
    names = sorted(item.name for item in folder.iterdir() if item.is_file())
    return tuple(
        name
        for name in names
        if _BATCH_FILE.fullmatch(name) or _REPORT.fullmatch(name) or name.startswith(f"{FILE_NAME}-")
    )


def last_batch_of(names: Iterable[str]) -> int:
    """The greatest number of a batch whose files are among these. >>> last_batch_of(["journal-000007.csv"]) gives 7."""
    return max((int(found[1]) for name in names if (found := _BATCH_FILE.fullmatch(name))), default=0)


def _not_lost(path: Path, beside: tuple[str, ...]) -> None:
    """Raises UnreadableFile where files of books lie and their register is gone. `beside` was listed before."""
    there = path.is_file()
    left = [name for name in beside if not (there and name.startswith(FILE_NAME))]
    if left and not (there and path.stat().st_size):
        what = f"the register is {'empty' if there else 'missing'}, and files of books lie here: {', '.join(left[:3])}"
        fix = "restore it from a copy; new books begin in an empty folder"
        raise UnreadableFile(path, what, fix, exit_status=EXIT_MISSING)


def _not_older(connection: sqlite3.Connection, path: Path, beside: tuple[str, ...]) -> None:
    """Raises UnreadableFile where a file is of a batch that the register doesn't know. `beside` was listed before."""
    last = connection.execute("SELECT COALESCE(MAX(batch), 0) FROM batches").fetchone()[0]
    there = last_batch_of(beside)
    if there > last:
        what = f"the register ends with batch {last}, and files of batch {there} lie beside it: it is an older copy"
        raise UnreadableFile(path, what, "restore the newest copy of the register")


def _prepare(connection: sqlite3.Connection, path: Path, create: bool, write: bool) -> None:
    version = version_of(connection)
    if not version and create:
        with writing(connection):
            version = version_of(connection)
            if not version:
                _create(connection, path)
                version = SCHEMA_VERSION
    if connection.execute("PRAGMA application_id").fetchone()[0] != _APPLICATION_ID:
        raise UnreadableFile(
            path, "the file is a database, but no register of books", "name the folder that you post to"
        )
    if not 0 < version <= SCHEMA_VERSION:
        raise UnreadableFile(
            path, f"the register is of version {version}; this program knows {SCHEMA_VERSION}", "use the newer program"
        )
    if version < SCHEMA_VERSION:
        _bring_up(connection, write)
    if connection.execute("PRAGMA journal_mode").fetchone()[0] == "wal":
        connection.execute("PRAGMA journal_mode=DELETE")


def _bring_up(connection: sqlite3.Connection, write: bool) -> None:
    """Take the steps that a register of an earlier version lacks; to be read alone, only in the memory of this use."""
    if write:
        with writing(connection):
            for number in range(version_of(connection) + 1, SCHEMA_VERSION + 1):
                _take_step(connection, number)
        return
    connection.execute("PRAGMA temp_store=MEMORY")
    for number in range(version_of(connection) + 1, SCHEMA_VERSION + 1):
        for statement in _step(number):
            if statement.startswith("CREATE TABLE"):
                connection.execute(statement.replace("CREATE TABLE", "CREATE TEMP TABLE", 1))


def _create(connection: sqlite3.Connection, path: Path) -> None:
    if connection.execute("SELECT COUNT(*) FROM sqlite_master").fetchone()[0]:
        raise UnreadableFile(
            path, "the file is a database, but no register of books", "name the folder that you post to"
        )
    for number in range(1, SCHEMA_VERSION + 1):
        _take_step(connection, number)
    connection.execute(f"PRAGMA application_id={_APPLICATION_ID}")


def _take_step(connection: sqlite3.Connection, version: int) -> None:
    for statement in _step(version):
        connection.execute(statement)
    connection.execute(f"PRAGMA user_version={version}")


@contextlib.contextmanager
def readable_rows(books: Path | str) -> Iterator[None]:
    """Say in words that rows aren't what the program writes. Raises: UnreadableFile."""
    try:
        yield
    except (ArithmeticError, AssertionError, AttributeError, LookupError, TypeError, ValueError) as error:
        what = f"the register has rows that cannot be read: {type(error).__name__}: {error}"
        raise UnreadableFile(
            Path(books) / FILE_NAME, what, "restore it from a copy; see what --verify finds"
        ) from error


@contextlib.contextmanager
def _in_words(path: Path) -> Iterator[None]:
    try:
        yield
    except sqlite3.IntegrityError:
        raise
    except (sqlite3.DatabaseError, UnicodeError) as error:
        reason = str(error)
        if isinstance(error, sqlite3.OperationalError) and ("locked" in reason or "busy" in reason):
            fix = "the register is in use (posting, verifying or open in another program); try again later"
        elif isinstance(error, sqlite3.OperationalError) and any(word in reason for word in _OF_THE_FOLDER):
            fix = "make sure that the folder exists, has room, and lets you write"
        else:
            fix = "restore it from a copy; the journal files beside it show what it held"
            raise UnreadableFile(path, f"the file is not an intact register: {reason}", fix) from error
        raise CannotWrite(path, f"the register cannot be used: {reason}", fix) from error
    except OSError as error:
        fix = "make sure that the folder exists, has room, and lets you write"
        raise CannotWrite(path, f"the register cannot be used: {error.strerror or error}", fix) from error
