"""What keeps a sound document out of the books: its number, its revision, its date, its work."""

from __future__ import annotations

import datetime as dt
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass

from estimator.books.acts import closed_through, is_void
from estimator.books.ledger_entries import Recorded, standing
from estimator.books.posting import Posting
from estimator.errors import Finding, Refused

OVERRIDES = {
    "number-reused": "the document number belongs to another customer, car, seller or currency",
    "older-revision": "a later revision was posted before",
    "document-voided": "the document was voided",
    "work-not-done": "authorized work is not marked done",
}


@dataclass(frozen=True)
class Override:
    """The rules that a person sets aside for one posting, and why. Raises Refused without a reason, or for no rule."""

    rules: frozenset[str] = frozenset()
    why: str = ""

    def __post_init__(self) -> None:
        unknown = sorted(self.rules - OVERRIDES.keys())
        if unknown:
            raise Refused(f"{unknown[0]} cannot be overridden. Allowed: {', '.join(OVERRIDES)}.")
        if self.rules and not self.why.strip():
            raise Refused("An override needs a reason: it is recorded with your name. Add --why.")


NONE_SET_ASIDE = Override()


def date_refusals(connection: sqlite3.Connection, date: dt.date, today: dt.date, what: str) -> Iterator[Finding]:
    """Why nothing can be posted on a date: it is still to come, or its month is closed."""
    if date > today:
        yield Finding("date-in-future", "stop", f"{what}: dated {date}; today is {today}", "give a date up to today")
    if date.isoformat()[:7] <= (closed := closed_through(connection)):
        words = f"{what}: dated {date}; the books are closed through {closed}"
        yield Finding("month-closed", "stop", words, "give a date in an open month")


def document_refusals(
    connection: sqlite3.Connection, posting: Posting, last: Recorded | None, undone: bool
) -> Iterator[Finding]:
    """Why an invoice or credit note can't take its number, or isn't due; each can be overridden.

    last: the last entry of its number; undone: whether authorized work isn't marked done.
    """
    if posting.kind not in ("invoice", "credit-note"):
        return
    place = f"{posting.document} revision {posting.revision}"
    before = _identity(last.posting) if last else _deposit(connection, posting.document)
    for what, (was, now) in {
        what: (before[what], now) for what, now in _identity(posting).items() if what in before
    }.items():
        if _same(was) != _same(now):
            words = f'{place}: this number belongs to {what} "{was}", not "{now}"'
            yield _finding("number-reused", words, "give the document a number of its own")
    if last and (newest := _newest(connection, posting)) > posting.revision:
        words = f"{place}: revision {newest} was posted before"
        yield _finding("older-revision", words, "post the latest revision, or redraft this one")
    if last and last.entry.is_reversal and is_void(connection, last.entry_id):
        yield _finding("document-voided", f"{place}: the document was voided", "give the work a new number")
    if undone:
        words = f"{place}: authorized work is not marked done; an invoice bills completed work only"
        yield _finding("work-not-done", words, "mark the work done, or decline it; take a deposit with `estimator pay`")


def _finding(rule: str, what: str, fix: str) -> Finding:
    return Finding(rule, "stop", what, f"{fix}; else override with --override {rule} --why REASON")


def _identity(posting: Posting) -> dict[str, str]:
    """Whose document it is."""
    return {
        "customer": posting.customer.name,
        "car": posting.car_text,
        "seller": posting.seller.name,
        "tax number": posting.seller.tax_id,
        "currency": posting.currency,
    }


def _same(words: str) -> str:
    return " ".join(words.split()).casefold()


def _deposit(connection: sqlite3.Connection, document: str) -> dict[str, str]:
    """Who paid for a document that isn't posted yet, and in which currency."""
    for item in standing(connection, "payment"):
        paid = item.posting.payment
        if paid and paid.document == document:
            return {"customer": item.posting.customer.name, "currency": item.posting.currency}
    return {}


def _newest(connection: sqlite3.Connection, posting: Posting) -> int:
    where = "SELECT MAX(d.revision) FROM entries e JOIN documents d ON d.id = e.document_id WHERE e.document = ? AND e.kind = ?"
    return int(connection.execute(where, (posting.document, posting.kind)).fetchone()[0] or 0)
