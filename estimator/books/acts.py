"""What people did to the books that isn't an entry: posted past a refusal, voided a document, closed a month."""

from __future__ import annotations

import datetime as dt
import sqlite3
from collections.abc import Iterator
from dataclasses import astuple, dataclass

from estimator.books.posting import cleaned, digest


@dataclass(frozen=True)
class Act:
    """`subject` is the entry that an override let in, the reversal that voids, or the month that was closed."""

    done_at: str
    done_by: str
    act: str
    rule: str
    subject: str
    why: str

    @property
    def digest(self) -> str:
        return digest("\x1f".join((self.done_at, self.done_by, self.act, self.rule, self.subject, self.why)))

    @property
    def words(self) -> str:
        done = {"override": f"{self.rule} overridden", "void": "voided", "close": "closed"}[self.act]
        return f"{done} by {self.done_by} on {self.done_at[:10]}" + (f": {self.why}" if self.why else "")


def record_act(
    connection: sqlite3.Connection, now: str, who: str, act: str, subject: str, why: str = "", rule: str = ""
) -> None:
    """Add an act within a transaction."""
    made = Act(now, cleaned(who), act, rule, subject, cleaned(why.strip()))
    statement = "INSERT INTO acts (done_at, done_by, act, rule, subject, why, digest) VALUES (?, ?, ?, ?, ?, ?, ?)"
    connection.execute(statement, (*astuple(made), made.digest))


def acts(connection: sqlite3.Connection) -> Iterator[tuple[Act, str]]:
    """All acts in the order in which they were done, each with the digest that was written with it."""
    for *row, written in connection.execute(
        "SELECT done_at, done_by, act, rule, subject, why, digest FROM acts ORDER BY id"
    ):
        yield Act(*row), written


def closed_through(connection: sqlite3.Connection) -> str:
    """The last month that is closed, and with it all before it; "" where none is."""
    (month,) = connection.execute("SELECT COALESCE(MAX(subject), '') FROM acts WHERE act = 'close'").fetchone()
    return str(month)


def is_void(connection: sqlite3.Connection, entry_id: str) -> bool:
    """Whether a reversal voids its document."""
    return bool(connection.execute("SELECT 1 FROM acts WHERE act = 'void' AND subject = ?", (entry_id,)).fetchone())


def clock() -> str:
    """The present time, UTC, ISO 8601."""
    return dt.datetime.now(dt.UTC).isoformat(timespec="seconds")
