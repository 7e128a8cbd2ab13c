"""The files of each batch, made from the register alone: so a stop between register and files is repaired by any
later run, and what is made again is the same to the byte."""

from __future__ import annotations

import contextlib
import sqlite3
import time
from pathlib import Path

from estimator.books.csv_files import data_package, journal_csv, summary_csv
from estimator.books.ledger_entries import Recorded, recorded
from estimator.books.register import reading
from estimator.books.ubl import Identity, ubl_document
from estimator.files import write_whole


def make_missing(connection: sqlite3.Connection, books: Path, *, reports: bool = True) -> tuple[str, ...]:
    """Write the files that the register tells of and the folder lacks. Returns their names, relative to the folder.

    With `reports`, files of months that lack a batch are renewed as well. Raises: CannotWrite.
    """
    _remove_parts(books)
    present = _present(books)
    made: list[str] = []
    with reading(connection):
        wanted = _names(connection)
    for batch, names in wanted.items():
        if not names <= present:
            for name, content in batch_files(connection, batch).items():
                if name not in present:
                    write_whole(books / name, content)
                    made.append(name)
    if reports:
        from estimator.books.month_files import renew_month_files

        made += renew_month_files(connection, books)
    return tuple(made)


def made_again(names: tuple[str, ...]) -> tuple[str, ...]:
    """What is to be said of files that were missing, if any."""
    return (f"rebuilt from the register because they were missing: {', '.join(names)}",) if names else ()


def batch_files(connection: sqlite3.Connection, batch: int) -> dict[str, bytes]:
    """The files of a batch by name, the data package last: journal, summary, one UBL document an entry."""
    posted_at, posted_by = connection.execute(
        "SELECT posted_at, posted_by FROM batches WHERE batch = ?", (batch,)
    ).fetchone()
    entries = list(recorded(connection, "WHERE e.batch = ?", (batch,)))
    journal, summary = (f"{name}-{batch:06d}.csv" for name in ("journal", "summary"))
    files = {journal: journal_csv(entries), summary: summary_csv(entries, posted_at, posted_by)}
    for item in entries:
        content = _ubl(item)
        if content is not None:
            files[_ubl_name(batch, item.entry.short_id)] = content
    files[_package_name(batch)] = data_package(batch, (journal, files[journal]), (summary, files[summary]))
    return files


def _package_name(batch: int) -> str:
    return f"datapackage-{batch:06d}.json"


def _ubl_name(batch: int, short_id: str) -> str:
    return f"ubl/{batch:06d}-{short_id}.xml"


def _ubl(item: Recorded) -> bytes | None:
    entry = item.entry
    before = f"{entry.document}-r{entry.revision}-{entry.number - 1:03d}" if entry.is_reversal else ""
    return ubl_document(item.posting, Identity(entry.short_id, entry.date, before))


def _names(connection: sqlite3.Connection) -> dict[int, set[str]]:
    """The names of each batch's files, without working out their content. A core entry without lines has no UBL."""
    batches = connection.execute("SELECT batch FROM batches ORDER BY batch")
    names = {
        batch: {f"journal-{batch:06d}.csv", f"summary-{batch:06d}.csv", _package_name(batch)} for (batch,) in batches
    }
    entries = connection.execute(
        "SELECT e.batch, e.document || '-r' || d.revision || '-' || printf('%03d', e.number) "
        "FROM entries e JOIN documents d ON d.id = e.document_id WHERE json_array_length(d.content, '$.lines') > 0"
    )
    for batch, short_id in entries:
        names[batch].add(_ubl_name(batch, short_id))
    return names


def _present(books: Path) -> set[str]:
    here = {path.name for path in books.iterdir()}
    ubl = books / "ubl"
    return here | ({f"ubl/{path.name}" for path in ubl.iterdir()} if ubl.is_dir() else set())


def _remove_parts(books: Path) -> None:
    """Take away what a stop while writing left behind, a day later, when no one can still be writing it."""
    for path in (*books.glob(".*.part"), *books.glob("ubl/.*.part")):
        with contextlib.suppress(OSError):
            if time.time() - path.stat().st_mtime > 86_400:
                path.unlink()


def expected_files(connection: sqlite3.Connection) -> dict[str, bytes]:
    """All batch files as the register gives them, for `verify`."""
    return {name: content for batch in _names(connection) for name, content in batch_files(connection, batch).items()}
