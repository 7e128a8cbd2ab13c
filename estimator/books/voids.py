"""What ends: a document that is voided as such, a month that is closed."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from estimator.books.acts import Act, clock, closed_through, record_act
from estimator.books.batch_files import made_again, make_missing
from estimator.books.ledger_entries import insert_entry, reversal_of, standing
from estimator.books.post import Call, DocumentResult, PostResult, new_batch
from estimator.books.posting import cleaned
from estimator.books.refusals import date_refusals
from estimator.books.register import opened, writing
from estimator.errors import EXIT_MISSING, Refused


def void(
    books_dir: Path | str,
    document: str,
    why: str,
    who: str,
    date: dt.date,
    *,
    now: str | None = None,
    today: dt.date | None = None,
    reports: bool = True,
) -> PostResult:
    """Reverse a document as it stands, as an invoice, a payment or a core entry, and record who voided it and why.

    The reversal is dated no earlier than what it takes back. What was paid for the document stays, as an open balance.
    Returns: a PostResult of one document, `voided`. Raises: Refused without a reason, where nothing stands under the
    number, or where the date is to come or in a closed month; CannotWrite, UnreadableFile as `register.opened`.
    """
    if not why.strip():
        raise Refused(f"{document}: a void needs a reason. Add --why.")
    call = Call(cleaned(who), now or clock(), today or dt.date.today())
    with opened(books_dir, write=True) as connection:
        repaired = make_missing(connection, Path(books_dir), reports=reports)
        with writing(connection):
            found = [item for item in standing(connection) if item.entry.document == document]
            if not found:
                raise Refused(f"{document}: nothing to void on file. See `estimator books`.", exit_status=EXIT_MISSING)
            day = max(date, *(item.posting.date for item in found))
            if refused := tuple(date_refusals(connection, day, call.today, document)):
                raise Refused(f"{document} not voided: correct the items above", refused)
            batch = new_batch(connection, call)
            for item in found:
                reversal = reversal_of(item.entry, batch, day.isoformat())
                insert_entry(connection, item.document_row, reversal)
                record_act(connection, call.now, call.who, "void", reversal.entry_id, why)
        files = make_missing(connection, Path(books_dir), reports=reports)
    entry = found[-1].entry
    result = DocumentResult(document, entry.revision, entry.kind, "voided", reversal.entry_id)
    return PostResult(batch, (result,), files, made_again(repaired))


def close_month(
    books_dir: Path | str, month: str, who: str, *, now: str | None = None, today: dt.date | None = None
) -> Act:
    """Close a month ("2026-11") and all before it: nothing is posted into them any more.

    A closed month stays closed; a correction is dated in an open one. Returns: the act. Raises: Refused for a month that
    isn't over or is closed already; CannotWrite, UnreadableFile as `register.opened`.
    """
    act = Act(now or clock(), cleaned(who), "close", "", month, "")
    if month >= (day := today or dt.date.today()).isoformat()[:7]:
        raise Refused(f"{month} is not over; today is {day}. Close it next month.")
    with opened(books_dir, write=True) as connection, writing(connection):
        if month <= (closed := closed_through(connection)):
            raise Refused(f"{month}: the books are closed through {closed} already.")
        record_act(connection, act.done_at, act.done_by, "close", month)
    return act
