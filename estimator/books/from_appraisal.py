"""A sound workbook's agreed work as a document for the books."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

from estimator.appraisal import Appraisal
from estimator.books.journal import accounts_of, journal_of
from estimator.books.posting import InvoiceLine, Party, PostedConsent, Posting
from estimator.boxes import keys
from estimator.money import from_float
from estimator.pricing.decisions import DECLINED
from estimator.pricing.fees_and_tax import document_totals
from estimator.pricing.totals import AnyPart

CAUTIONS = (
    "Work on stored-pressure brakes is for qualified people; release the pressure first; local codes and licensed "
    "practice come before this document. Nothing here says that a car is safe.",
)
_ONE = Decimal(1)


def posting_of(appraisal: Appraisal, date: dt.date | None = None) -> Posting:
    """The agreed work of an appraisal as an invoice: lines, tax, consents, journal.

    Parameters: date, of the invoice; that of the job if left out.
    Returns: a Posting whose journal is that of the Journal tab, rows of nothing left out.
    """
    record, car = appraisal.record, appraisal.record.car.car
    shop, job, tax = record.shop, record.job, record.shop.tax
    lines = tuple(_lines(appraisal))
    tax_parts = tuple((row.label, row.percent / 100, row.agreed.share) for row in appraisal.tax_parts)
    return Posting(
        document=job.document,
        revision=job.revision,
        kind="invoice",
        date=date or job.date,
        currency=shop.shop.currency,
        seller=Party(shop.shop.name, shop.shop.address, shop.shop.country, shop.shop.tax_id),
        customer=Party(job.customer.name, job.customer.address, shop.shop.country),
        car_text=", ".join(str(part) for part in (car.name, car.year, car.plate) if part),
        tax_kind=tax.kind,
        tax_rate=appraisal.tax.rate,
        tax_parts=tax_parts,
        tax_level=tax.scope,
        lines=lines,
        totals=document_totals(appraisal.agreed),
        journal=journal_of(lines, tax_parts, accounts_of(shop)),
        consents=tuple(_consents(appraisal)),
        declined_safety=tuple(
            line.line.title
            for line in appraisal.labor.lines
            if line.decided.decision == DECLINED and line.line.job.safety == "yes" and line.decided.recommended_by
        ),
        cautions=CAUTIONS,
    )


def _lines(appraisal: Appraisal) -> Iterator[InvoiceLine]:
    """Labor, parts, sublet work, fees, core deposits, discounts, in this order; lines of nothing left out."""
    parts: tuple[AnyPart, ...] = (*appraisal.parts, *appraisal.extra_parts)
    sold = [(part, from_float(part.quantity)) for part in parts if part.agreed and isinstance(part.quantity, float)]
    yield from _labor(appraisal)
    for part, quantity in sold:
        if part.amount:
            each = (quantity, part.unit, part.price)
            yield _line(appraisal, part.row, "parts", part.title, part.amount_agreed, each, part.tax_class)
    for sublet in appraisal.sublet:
        if sublet.agreed and sublet.amount:
            yield _line(appraisal, sublet.row, "sublet", sublet.title, sublet.amount_agreed)
    for kind, words in (("supplies", "Shop supplies"), ("disposal", "Disposal of drained fluid")):
        if net := appraisal.agreed[kind]:
            yield _line(appraisal, keys.row("total", kind), kind, words, net)
    for part, quantity in sold:
        if part.core:
            each = (quantity, part.unit, part.deposit_each)
            words = f"Core deposit: {part.title}"
            yield _line(appraisal, keys.row("core", part.row), "core", words, part.core_agreed, each)
    yield from _discounts(appraisal)


def _line(
    appraisal: Appraisal,
    ref: str,
    kind: str,
    words: str,
    net: Decimal,
    each: tuple[Decimal, str, Decimal] | None = None,
    tax_class: str = "",
) -> InvoiceLine:
    """A line; `each` is its quantity, unit and unit price, left out where it is one at its net."""
    quantity, unit, price = each or (_ONE, "each", net)
    tax_class = tax_class or kind
    taxed = bool(appraisal.tax.is_taxed(tax_class))
    return InvoiceLine(ref, kind, words, quantity, unit, price, net, tax_class, taxed)


def _labor(appraisal: Appraisal) -> Iterator[InvoiceLine]:
    for job in appraisal.labor.lines:
        if job.agreed and job.amount_agreed:
            alone, hours = job.alone, job.share_agreed
            line = _line(appraisal, keys.row("line", job.ref), "labor", job.line.title, job.amount_agreed)
            note = f"{hours:.2f} h in this visit ({alone:.2f} h alone) at {job.rate}"
            title = job.line.job.title
            yield replace(line, note=note, job_title=title, hours_alone=alone, hours_in_visit=hours)
    for work in appraisal.extra_work:
        if work.agreed and isinstance(work.boxes.hours, float) and work.amount_agreed:
            each = (from_float(work.boxes.hours), "h", work.rate)
            yield _line(appraisal, work.row, "labor", work.title, work.amount_agreed, each)


def _discounts(appraisal: Appraisal) -> Iterator[InvoiceLine]:
    totals = appraisal.agreed
    labor_taxed = bool(appraisal.tax.is_taxed("labor"))
    untaxed = totals["discount_parts"] - totals["discount_taxed"]
    for ref, words, net, tax_class, taxed in (
        ("discount.labor", "Discount on labor", totals["discount_labor"], "labor", labor_taxed),
        ("discount.parts_taxed", "Discount on parts, taxed", totals["discount_taxed"], "parts", True),
        ("discount.parts_untaxed", "Discount on parts, untaxed", untaxed, "parts", False),
    ):
        if net:
            yield InvoiceLine(ref, "discount", words, _ONE, "each", net, net, tax_class, taxed)


def _consents(appraisal: Appraisal) -> Iterator[PostedConsent]:
    for item in appraisal.consents:
        if (item.counted or item.declines) and isinstance(item.date, dt.date):
            yield PostedConsent(item.stage, item.date, item.counted, item.who, item.way, item.taken_by)
