"""Money received for a document, before or after it is posted, and what remains open."""

from __future__ import annotations

import datetime as dt
import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path

from estimator.books.acts import clock
from estimator.books.batch_files import made_again, make_missing
from estimator.books.journal import Account, accounts_of, reverse
from estimator.books.ledger_entries import Recorded, standing
from estimator.books.post import Call, PostResult, post_one
from estimator.books.posting import Party, Payment, Posting, PostingLine, cleaned
from estimator.books.posting_rules import posting_findings
from estimator.books.register import opened, writing
from estimator.errors import EXIT_MISSING, Refused
from estimator.money import ZERO
from estimator.pricing.fees_and_tax import totals_of
from estimator.records import Shop

WAYS = ("cash", "check", "card", "transfer", "other")


@dataclass(frozen=True)
class Balance:
    """What stands of a document: invoiced, credited (notes, core deposits given back), paid, and what remains open;
    negative where money is held for the customer."""

    document: str
    customer: str
    currency: str
    invoiced: Decimal = ZERO
    credited: Decimal = ZERO
    paid: Decimal = ZERO

    @property
    def open(self) -> Decimal:
        return self.invoiced - self.credited - self.paid


def document_of(posting: Posting) -> str:
    """The document that a posting concerns: its own, or the one that it settles or pays."""
    other = posting.core or posting.payment
    return other.document if other else posting.document


def open_balances(items: Iterable[Recorded]) -> tuple[Balance, ...]:
    """The balance of each document and currency, of entries that stand, in the order of their first entry."""
    found: dict[tuple[str, str], Balance] = {}
    for item in items:
        posting = item.posting
        key = (document_of(posting), posting.currency)
        before = found.get(key) or Balance(key[0], posting.customer.name, key[1])
        total = posting.totals["total"]
        if posting.payment is not None:
            found[key] = replace(before, paid=before.paid + posting.payment.amount)
        elif posting.kind == "invoice":
            found[key] = replace(before, customer=posting.customer.name, invoiced=before.invoiced + total)
        else:
            found[key] = replace(before, credited=before.credited + total)
    return tuple(found.values())


def pay(
    books_dir: Path | str,
    document: str,
    amount: Decimal,
    way: str,
    date: dt.date,
    shop: Shop,
    who: str,
    *,
    deposit_of: str = "",
    refund: bool = False,
    another: bool = False,
    now: str | None = None,
    today: dt.date | None = None,
    reports: bool = True,
) -> PostResult:
    """Post money received for a document: debit payments received, credit the customer; a refund the other way.

    The same amount of one day and way is posted once, unless `another` says that there were two. For a document that
    isn't posted yet, `deposit_of` names the customer.
    Parameters: document; amount in currency units, more than 0; way, one of WAYS; date; shop, whose accounts and name
    are used; who. Returns: a PostResult of one document, whose first message tells the open balance. Raises: Refused for
    an unknown document, way or amount; CannotWrite, UnreadableFile as `register.opened`.
    """
    if way not in WAYS:
        raise Refused(f'{document}: "{way}" is not a way to pay. Use {", ".join(WAYS)}.')
    if amount <= 0 or amount != amount.quantize(Decimal("0.01")):
        raise Refused(f"{document}: {amount} is not an amount. Write it in whole cents, more than 0.")
    call = Call(cleaned(who), now or clock(), today or dt.date.today())
    with opened(books_dir, create=bool(deposit_of)) if deposit_of else opened(books_dir, write=True) as connection:
        repaired = make_missing(connection, Path(books_dir), reports=reports)
        with writing(connection):
            posting = _payment(
                connection, document, -amount if refund else amount, way, date, shop, deposit_of, another
            )
            if findings := posting_findings(posting):
                raise Refused(f"{posting.document}: the entry does not balance", findings)
            batch, result = post_one(connection, None, posting, call)
            if result.status == "refused":
                raise Refused(f"{posting.document} not posted: correct the items above", result.findings)
            mine = [item for item in open_balances(standing(connection)) if item.document == document]
            words = tuple(f"{item.document}: open balance {item.open} {item.currency}" for item in mine)
        files = make_missing(connection, Path(books_dir), reports=reports) if batch else ()
    return PostResult(batch, (replace(result, messages=words + result.messages),), files, made_again(repaired))


def _payment(
    connection: sqlite3.Connection,
    document: str,
    amount: Decimal,
    way: str,
    date: dt.date,
    shop: Shop,
    deposit_of: str,
    another: bool,
) -> Posting:
    sold = next((item.posting for item in standing(connection, "invoice") if item.entry.document == document), None)
    if sold is None and not deposit_of:
        what = f"{document}: no invoice on file. Post it first, or name the customer with --deposit-of."
        raise Refused(what, exit_status=EXIT_MISSING)
    if sold and deposit_of and sold.customer.name.casefold() != deposit_of.casefold():
        raise Refused(f'{document}: this number belongs to customer "{sold.customer.name}", not "{deposit_of}".')
    if sold and sold.currency != shop.shop.currency:
        raise Refused(f"{document}: invoiced in {sold.currency}; the shop's file has {shop.shop.currency}.")
    given = Payment(document, way, amount)
    before = [item.posting for item in standing(connection, "payment") if item.posting.payment]
    same = next((item for item in before if (item.payment, item.date) == (given, date)), None)
    if same and not another:
        return same
    numbers = "SELECT COUNT(DISTINCT document) FROM entries WHERE kind = 'payment' AND document LIKE ? || '-payment-%'"
    (count,) = connection.execute(numbers, (document,)).fetchone()
    accounts = accounts_of(shop)
    words = f"{'Paid back' if amount < 0 else 'Payment received'}, {way}: {document}"
    journal = _sides(accounts["received"], accounts["receivable"], words, abs(amount))
    return Posting(
        document=f"{document}-payment-{count + 1}",
        revision=1,
        kind="payment",
        date=date,
        currency=shop.shop.currency,
        seller=sold.seller if sold else Party(shop.shop.name, shop.shop.address, shop.shop.country, shop.shop.tax_id),
        customer=sold.customer if sold else Party(cleaned(deposit_of.strip()), (), shop.shop.country),
        car_text=sold.car_text if sold else "",
        tax_kind="none",
        tax_rate=ZERO,
        tax_parts=(),
        lines=(),
        totals=totals_of((), ZERO),
        journal=reverse(journal, "") if amount < 0 else journal,
        payment=given,
    )


def _sides(received: Account, receivable: Account, words: str, amount: Decimal) -> tuple[PostingLine, ...]:
    return (
        PostingLine(received.code, received.name, words, amount, ZERO),
        PostingLine(receivable.code, receivable.name, words, ZERO, amount),
    )
