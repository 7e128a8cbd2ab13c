"""What has been posted: by document, by month, and the balance of each account."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, fields, replace
from decimal import Decimal
from pathlib import Path
from typing import Any

from estimator.books.acts import closed_through
from estimator.books.ledger_entries import recorded, standing
from estimator.books.payments import Balance, open_balances
from estimator.books.register import opened, readable_rows, reading
from estimator.money import ZERO, add, money_text


@dataclass(frozen=True)
class DocumentLine:
    """One document and the whole of its history. `standing` is the entry in force, empty where it was taken back."""

    document: str
    kind: str
    revision: int
    date: str
    customer: str
    car: str
    currency: str
    total: Decimal
    standing: str
    entries: tuple[str, ...]
    digest: str
    paid: Decimal = ZERO


@dataclass(frozen=True)
class MonthLine:
    """One month and currency: how many entries posted and reversed, and the sums that they leave."""

    month: str
    currency: str
    posted: int
    reversed: int
    debit: Decimal
    credit: Decimal
    total: Decimal
    tax: Decimal


@dataclass(frozen=True)
class AccountLine:
    code: str
    name: str
    currency: str
    debit: Decimal
    credit: Decimal

    @property
    def balance(self) -> Decimal:
        return self.debit - self.credit


@dataclass(frozen=True)
class Listing:
    documents: tuple[DocumentLine, ...]
    months: tuple[MonthLine, ...]
    accounts: tuple[AccountLine, ...]
    balances: tuple[Balance, ...]
    closed_through: str


def list_books(books_dir: Path | str, month: str | None = None) -> Listing:
    """All that a books folder holds, or what one month ("2026-11") added.

    Returns: documents in the order of their first entry, months in order, accounts by code, and what each document
    leaves open, whatever the month. Totals of credit notes and core deposits given back are negative.
    Raises: UnreadableFile (66) where the folder has no register.
    """
    documents: dict[tuple[str, str], DocumentLine] = {}
    months: dict[tuple[str, str], MonthLine] = {}
    accounts: dict[tuple[str, str, str], list[Decimal]] = {}
    with opened(books_dir) as connection, reading(connection), readable_rows(books_dir):
        where, values = ("WHERE substr(e.entry_date, 1, 7) = ?", (month,)) if month else ("", ())
        for item in recorded(connection, where, values):
            entry, posting = item.entry, item.posting
            sign = 1 if posting.kind == "invoice" else -1
            before = documents.get((entry.document, entry.kind))
            documents[entry.document, entry.kind] = DocumentLine(
                entry.document,
                entry.kind,
                entry.revision,
                entry.date,
                posting.customer.name,
                posting.car_text,
                entry.currency,
                sign * posting.totals["total"],
                "" if entry.is_reversal else item.entry_id,
                (*(before.entries if before else ()), item.entry_id),
                entry.digest,
                posting.payment.amount if posting.payment is not None else ZERO,
            )
            key = (entry.date[:7], entry.currency)
            flow = -sign if entry.is_reversal else sign
            sums = months.get(key) or MonthLine(*key, 0, 0, ZERO, ZERO, ZERO, ZERO)
            months[key] = replace(
                sums,
                posted=sums.posted + (not entry.is_reversal),
                reversed=sums.reversed + entry.is_reversal,
                debit=sums.debit + add(line.debit for line in entry.lines),
                credit=sums.credit + add(line.credit for line in entry.lines),
                total=sums.total + flow * posting.totals["total"],
                tax=sums.tax + flow * posting.totals["tax"],
            )
            for line in entry.lines:
                both = accounts.setdefault((line.account_code, line.account_name, entry.currency), [ZERO, ZERO])
                both[0] += line.debit
                both[1] += line.credit
        balances, closed = open_balances(standing(connection)), closed_through(connection)
    return Listing(
        tuple(documents.values()),
        tuple(sums for _, sums in sorted(months.items())),
        tuple(AccountLine(*key, *both) for key, both in sorted(accounts.items())),
        balances,
        closed,
    )


def listing_data(listing: Listing) -> dict[str, object]:
    """A listing as plain data for JSON."""
    return {
        "documents": [plain_data(item) for item in listing.documents],
        "months": [plain_data(item) for item in listing.months],
        "accounts": [{**plain_data(item), "balance": money_text(item.balance)} for item in listing.accounts],
        "balances": [{**plain_data(item), "open": money_text(item.open)} for item in listing.balances],
        "closed_through": listing.closed_through,
    }


def plain_data(record: Any) -> dict[str, object]:
    """A dataclass as plain data for JSON: money as 2-decimal strings, dates in ISO 8601."""

    def plain(value: object) -> object:
        if isinstance(value, Decimal):
            return money_text(value)
        return value.isoformat() if isinstance(value, dt.date) else value

    return {item.name: plain(getattr(record, item.name)) for item in fields(record)}
