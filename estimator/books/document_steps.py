"""The entries of a document, and what each did."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from estimator.books.acts import acts
from estimator.books.ledger_entries import Recorded, recorded
from estimator.books.payments import document_of
from estimator.books.register import opened, readable_rows, reading
from estimator.errors import EXIT_MISSING, Refused


@dataclass(frozen=True)
class Step:
    """One entry of a document, of a payment for it, or of a core deposit of it."""

    entry_id: str
    date: str
    batch: int
    posted_at: str
    posted_by: str
    doc_type: str
    did: str


def document_steps(books_dir: Path | str, document: str) -> tuple[Step, ...]:
    """The entries that concern a document, in the order in which they were made.

    Raises: Refused (66) where none does; UnreadableFile as `register.opened`.
    """
    with opened(books_dir) as connection, reading(connection), readable_rows(books_dir):
        done: dict[str, list[str]] = {}
        for act, _ in acts(connection):
            done.setdefault(act.subject, []).append(act.words)
        batches = {row[0]: row[1:] for row in connection.execute("SELECT batch, posted_at, posted_by FROM batches")}
        found = tuple(
            Step(
                item.entry_id,
                item.entry.date,
                item.entry.batch,
                batches[item.entry.batch][0],
                batches[item.entry.batch][1],
                item.entry.doc_type,
                "; ".join((_did(item), *done.get(item.entry_id, ()))),
            )
            for item in recorded(connection)
            if document in (document_of(item.posting), item.entry.document)
        )
    if not found:
        raise Refused(f"{document}: no entry on file. `estimator books` lists all documents.", exit_status=EXIT_MISSING)
    return found


def _did(item: Recorded) -> str:
    entry, posting = item.entry, item.posting
    if entry.is_reversal:
        return f"reversed entry {entry.number - 1} of revision {entry.revision} in full"
    if posting.payment is not None:
        done, amount = ("received" if posting.payment.amount > 0 else "paid back"), abs(posting.payment.amount)
        return f"{done} {amount} {entry.currency}, {posting.payment.way}"
    if posting.core:
        return f"core deposit {posting.core.ref} {posting.core.unit}: {posting.core.outcome}"
    return f"posted revision {entry.revision}, total {posting.totals['total']} {entry.currency}"
