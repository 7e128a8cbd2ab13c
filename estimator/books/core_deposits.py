"""A core deposit over its life: owed to the customer until the old part is returned, refused, expired or kept."""

from __future__ import annotations

import datetime as dt
import sqlite3
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path

from estimator.books.acts import clock
from estimator.books.batch_files import made_again, make_missing
from estimator.books.journal import Account, journal_of
from estimator.books.ledger_entries import Recorded, standing
from estimator.books.post import Call, PostResult, post_one
from estimator.books.posting import CoreOutcome, InvoiceLine, Posting, PostingLine, deposit_of
from estimator.books.posting_rules import core_slug, posting_findings
from estimator.books.register import opened, readable_rows, writing
from estimator.errors import EXIT_MISSING, Finding, Refused
from estimator.money import ZERO, add
from estimator.pricing.fees_and_tax import core_refund_tax, totals_of

OUTCOMES = {
    "returned": "the old part came back: the deposit goes back to the customer, and its tax where the shop says so",
    "refused": "the supplier refused the old part: the deposit is not refunded",
    "expired": "return period expired: the deposit is not refunded",
    "kept": "the customer keeps the old part: the deposit is not refunded",
}


@dataclass(frozen=True)
class CoreUnit:
    """One old part to come back. `state` is owed or an outcome; `stale` says that its document was revised since."""

    document: str
    ref: str
    unit: int
    description: str
    deposit: Decimal
    currency: str
    taken_on: dt.date
    state: str
    settled_on: dt.date | None = None
    tax_back: Decimal = ZERO
    stale: bool = False

    @property
    def name(self) -> tuple[str, str, int]:
        return self.document, core_slug(self.ref), self.unit

    @property
    def number(self) -> str:
        """The number of the entry that settles it."""
        return "{}-core-{}-{}".format(*self.name)


def core_deposits(books_dir: Path | str) -> tuple[CoreUnit, ...]:
    """Every core deposit of the books, in the order of posting. Raises: UnreadableFile where there is no register."""
    with opened(books_dir) as connection, readable_rows(books_dir):
        return tuple(unit for unit, _, _ in _units(connection))


def settle_core(
    books_dir: Path | str,
    document: str,
    ref: str,
    outcome: str,
    date: dt.date,
    accounts: Mapping[str, Account],
    who: str,
    *,
    unit: int = 1,
    tax_back: bool = True,
    now: str | None = None,
    today: dt.date | None = None,
    reports: bool = True,
) -> PostResult:
    """Post what follows from what became of an old part, once; a changed outcome reverses the entry before it.

    returned: debit core deposits, debit tax (the difference of two taxes, `fees_and_tax.core_refund_tax`), credit the
    customer, with a UBL credit note. refused, expired, kept: debit core deposits, credit forfeited deposits. Whether
    a deposit that stays is taxed is the law's to say; nothing is added here.
    Parameters: document and the core line's ref or its shortest end; outcome, one of OUTCOMES; date of the entry;
    accounts by "receivable", "tax", "core" and "forfeited"; who; unit, from 1, where the line has more than one;
    tax_back, whether tax goes back.
    Returns: a PostResult of one document. Raises: Refused for a core deposit, unit, outcome or date that can't be.
    """
    if outcome not in OUTCOMES:
        raise Refused(f'core of {document}: "{outcome}" is not an outcome. Allowed: {", ".join(OUTCOMES)}')
    call = Call(who, now or clock(), today or dt.date.today())
    with opened(books_dir, write=True) as connection:
        repaired = make_missing(connection, Path(books_dir), reports=reports)
        with writing(connection):
            units = list(_units(connection))
            short = short_refs(u.ref for u, _, _ in units if u.document == document)
            ref = next((full for full, name in short.items() if name == ref), ref)
            wanted = (document, core_slug(ref), unit)
            mine = next((item for item in units if item[0].name == wanted), None)
            if mine is None:
                known = ", ".join(f'"{short[u.ref]}" {u.unit}' for u, _, _ in units if u.document == document) or "none"
                raise Refused(
                    f"{document} has no core deposit {ref!r} {unit}. On file: {known}. Post it first.",
                    exit_status=EXIT_MISSING,
                )
            posting = _settlement(mine, units, outcome, date, accounts, tax_back)
            findings = posting_findings(posting)
            if findings:
                raise Refused(f"{posting.document}: the entry does not balance", findings)
            batch, result = post_one(connection, None, posting, call)
            if result.status == "refused":
                raise Refused(f"{posting.document} not posted: correct the items above", result.findings)
        files = make_missing(connection, Path(books_dir), reports=reports) if batch else ()
    return PostResult(batch, (result,), files, made_again(repaired))


def short_refs(refs: Iterable[str]) -> dict[str, str]:
    """Return the shortest end of each reference of a document that no other of its references has.

    >>> short_refs(["core.part.shell.exchange.accumulator-1", "core.part.shell.exchange.accumulator-2"]).values()
    dict_values(['accumulator-1', 'accumulator-2'])
    """
    known = tuple(dict.fromkeys(refs))
    ends = Counter(end for ref in known for end in _ends(ref))
    return {ref: next((end for end in _ends(ref) if ends[end] == 1), ref) for ref in known}


def _ends(ref: str) -> list[str]:
    parts = ref.split(".")
    return [".".join(parts[place:]) for place in range(len(parts) - 1, -1, -1)]


_Item = tuple[CoreUnit, Recorded | None, Recorded | None]


def _units(connection: sqlite3.Connection) -> Iterator[_Item]:
    """Each unit with the invoice that stands and the entry that settles it; those settled without invoice come last."""
    invoices: list[Recorded] = []
    settled: dict[str, Recorded] = {}
    for item in standing(connection, "invoice", "core-entry"):
        if item.entry.kind == "invoice":
            invoices.append(item)
        else:
            settled[item.entry.document] = item
    for invoice in invoices:
        posting = invoice.posting
        for line in posting.lines:
            for unit in range(1, int(line.quantity) + 1) if line.kind == "core" else ():
                what = (posting.document, line.ref, unit, line.description)
                core = CoreUnit(*what, line.unit_price, posting.currency, posting.date, "owed")
                entry = settled.pop(core.number, None)
                yield _with_settlement(core, entry, invoice) if entry else (core, None, invoice)
    for item in settled.values():
        yield _with_settlement(None, item, None)


def _with_settlement(core: CoreUnit | None, entry: Recorded, invoice: Recorded | None) -> _Item:
    posting = entry.posting
    outcome = posting.core
    assert outcome is not None
    line = posting.lines[0] if posting.lines else None
    base = core or CoreUnit(
        *(outcome.document, outcome.ref, outcome.unit, line.description if line else ""),
        *(deposit_of(posting), posting.currency, posting.date, ""),
    )
    stale = invoice is None or posting.references != (invoice.entry.short_id,)
    back = add(amount for _, _, amount in posting.tax_parts)
    unit = replace(base, state=outcome.outcome, settled_on=posting.date, tax_back=back, stale=stale)
    return unit, entry, invoice


def _settlement(
    mine: _Item, units: list[_Item], outcome: str, date: dt.date, accounts: Mapping[str, Account], tax_back: bool
) -> Posting:
    core, before, invoice = mine
    if invoice is None:
        raise Refused(f"{core.number}: its document no longer has this core deposit. Post the right revision first.")
    if before is not None and core.state == outcome and not core.stale:
        return before.posting
    if date < core.taken_on:
        raise Refused(f"{core.number}: {date} is before the document of {core.taken_on}. Give a later date.")
    sold = invoice.posting
    line = next(item for item in sold.lines if item.kind == "core" and item.ref == core.ref)
    back = outcome == "returned"
    parts = _tax_back(core, units, sold, line, back and tax_back and line.taxed)
    lines: tuple[InvoiceLine, ...] = ()
    if back:
        lines = (_core_line(core, line, line.taxed and tax_back),)
        journal = journal_of(lines, parts, accounts, credit_note=True)
    else:
        words = f"Core deposit, {outcome}: {core.description}"
        journal = (
            PostingLine(accounts["core"].code, accounts["core"].name, words, core.deposit, ZERO, ""),
            PostingLine(accounts["forfeited"].code, accounts["forfeited"].name, words, ZERO, core.deposit, ""),
            *journal_of((), parts, accounts, credit_note=True),
        )
    number = before.entry.revision + 1 if before else 1
    return Posting(
        document=core.number,
        revision=number,
        kind="core-entry",
        date=date,
        currency=sold.currency,
        seller=sold.seller,
        customer=sold.customer,
        car_text=sold.car_text,
        tax_kind=sold.tax_kind,
        tax_rate=sold.tax_rate,
        tax_parts=parts,
        lines=lines,
        totals=totals_of(lines, add(amount for _, _, amount in parts)),
        journal=journal,
        references=(invoice.entry.short_id,),
        tax_is_difference=True,
        core=CoreOutcome(core.document, core.ref, core.unit, outcome),
    )


def _core_line(core: CoreUnit, line: InvoiceLine, taxed: bool) -> InvoiceLine:
    words = f"Core deposit refunded: {line.description}"
    return InvoiceLine(
        line.ref, "core", words, Decimal(1), line.unit, core.deposit, core.deposit, line.tax_class, taxed
    )


def _tax_back(
    core: CoreUnit, units: list[_Item], sold: Posting, line: InvoiceLine, taxed: bool
) -> tuple[tuple[str, Decimal, Decimal], ...]:
    """What makes the tax given back, all entries together, the difference of two taxes: on the document as sold, and
    without all that was returned. Entries against an earlier revision don't count; they are to be recorded again."""
    rates = [(name, rate) for name, rate, _ in sold.tax_parts]
    alone = sold.tax_level == "line"
    returned, given = core.deposit if taxed else ZERO, dict.fromkeys((name for name, _ in rates), ZERO)
    for other, entry, _ in units:
        if entry is None or other.stale or other.document != core.document or other.number == core.number:
            continue
        if alone and other.ref != core.ref:
            continue
        if any(item.taxed for item in entry.posting.lines):
            returned += other.deposit
        for name, _, amount in entry.posting.tax_parts:
            given[name] += amount
    scope = [line] if alone else sold.lines
    due = core_refund_tax(scope, returned, rates).parts
    return tuple((name, rate, amount - given[name]) for name, rate, amount in due)


def core_findings(connection: sqlite3.Connection) -> Iterator[Finding]:
    """Settled core deposits whose document was revised or taken back since."""
    for unit, entry, invoice in _units(connection):
        if entry is not None and unit.stale:
            if invoice is None:
                what = f"{unit.number}: settled as {unit.state}, and its document has no such core deposit"
                fix = "post the right revision of the document, or record the core of the right one"
            else:
                what = f"{unit.number}: settled as {unit.state}, and its document was revised since"
                fix = f"record it again: document {unit.document}, core {unit.ref}, {unit.state}"
            yield Finding("out-of-balance", "warn", what, fix)
