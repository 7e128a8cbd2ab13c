"""What posted workbooks measured, as the register keeps it: by car, and by the serials of its accumulators."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator
from pathlib import Path

from estimator.books.ledger_entries import added
from estimator.books.posting import digest
from estimator.books.register import opened, readable_rows, reading
from estimator.errors import Finding
from estimator.records.visits import PastVisit, plain_serial

_RESTORE = "restore the register from a copy; it was changed by something other than this program"
# The last row of each entry that is posted and not reversed.
_STANDING = """
    SELECT v.content FROM visits v JOIN entries e ON e.entry_id = v.entry_id
    WHERE v.id = (SELECT MAX(id) FROM visits WHERE entry_id = v.entry_id) AND e.number % 2 = 1
      AND NOT EXISTS (SELECT 1 FROM entries r WHERE r.document = e.document AND r.kind = e.kind AND r.number > e.number)"""


def record_visit(connection: sqlite3.Connection, entry_id: str, visit: PastVisit | None) -> bool:
    """Keep what a workbook measured with the entry that posts it, within a transaction.

    Returns whether anything was added: the same readings are kept once.
    """
    if visit is None:
        return False
    content = visit.model_dump_json()
    last = connection.execute("SELECT content FROM visits WHERE entry_id = ? ORDER BY id DESC", (entry_id,)).fetchone()
    if last and last[0] == content:
        return False
    statement = "INSERT INTO visits (entry_id, chassis, car_id, digest, content) VALUES (?, ?, ?, ?, ?)"
    row = added(connection, statement, (entry_id, *_columns(visit), digest(content), content))
    serials = [(row, serial) for serial in visit.all_serials]
    connection.executemany("INSERT INTO visit_serials (visit, serial) VALUES (?, ?)", serials)
    return True


def posted_visits(books_dir: Path | str, chassis: str, car_id: str, serials: Iterable[str] = ()) -> list[PastVisit]:
    """Return the visits on file of a car, and those of other cars that held one of these accumulators.

    Those of entries that were voided or replaced by a newer revision are left out.
    Raises: UnreadableFile, CannotWrite as `register.opened`.
    """
    wanted = [plain_serial(serial) for serial in serials]
    held = f"v.id IN (SELECT visit FROM visit_serials WHERE serial IN ({', '.join('?' * len(wanted))}))"
    mine = "(v.chassis <> '' AND v.chassis = ?) OR (v.car_id <> '' AND v.car_id = ?)"
    with opened(books_dir) as connection, reading(connection), readable_rows(books_dir):
        values = (plain_serial(chassis), car_id, *wanted)
        rows = connection.execute(f"{_STANDING} AND ({mine} OR {held}) ORDER BY v.id", values)
        return [PastVisit.model_validate_json(content) for (content,) in rows]


def visit_findings(connection: sqlite3.Connection) -> Iterator[Finding]:
    """What is wrong with the rows of visits: digest, content, columns, serials, the entry that they belong to."""
    rows = connection.execute(
        "SELECT v.id, v.entry_id, v.chassis, v.car_id, v.digest, v.content, e.document, d.revision FROM visits v "
        "LEFT JOIN entries e ON e.entry_id = v.entry_id LEFT JOIN documents d ON d.id = e.document_id ORDER BY v.id"
    ).fetchall()
    for row, entry_id, chassis, car_id, written, content, document, revision in rows:
        place = f"the readings kept with {entry_id}"
        if digest(content) != written:
            yield _finding(f"{place} don't have their digest", written, digest(content))
        try:
            visit = PastVisit.model_validate_json(content)
        except ValueError:
            yield Finding("record-altered", "stop", f"{place} can't be read", _RESTORE)
            continue
        if (visit.document, visit.revision) != (document, revision):
            yield _finding(f"{place} are those of {visit.document} revision {visit.revision}", document, revision)
        if (chassis, car_id) != _columns(visit):
            yield _finding(f"{place} stand under another car", _columns(visit), (chassis, car_id))
        kept = connection.execute("SELECT serial FROM visit_serials WHERE visit = ? ORDER BY id", (row,))
        serials = [serial for (serial,) in kept]
        if serials != visit.all_serials:
            yield _finding(f"{place} stand under other serials", visit.all_serials, serials)


def _finding(what: str, expected: object, found: object) -> Finding:
    return Finding("out-of-balance", "stop", what, _RESTORE, expected=str(expected), found=str(found))


def _columns(visit: PastVisit) -> tuple[str, str]:
    return plain_serial(visit.chassis), visit.car_id
