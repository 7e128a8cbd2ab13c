"""A sound workbook's agreed work as a document for the books."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from decimal import Decimal

from estimator.appraisal import Appraisal
from estimator.books.journal import Account, journal_of
from estimator.books.posting import InvoiceLine, Party, PostedConsent, Posting
from estimator.money import from_float, half_up
from estimator.pricing.decisions import DECLINED

CAUTIONS = (
    "Work on stored-pressure brakes is for qualified people; release the pressure first; local codes and licensed "
    "practice come before this document. Nothing here says that a car is safe.",
)
_ONE = Decimal(1)


def posting_of(appraisal: Appraisal) -> Posting:
    """The agreed work of an appraisal as an invoice: lines, tax, consents, journal.

    Returns: a Posting whose journal is that of the Journal tab, rows of nothing left out.
    """
    record = appraisal.record
    shop, job, tax = record.shop, record.job, record.shop.tax
    lines = tuple(_lines(appraisal))
    tax_parts = tuple((row.label, row.percent / 100, row.agreed.share) for row in appraisal.tax_parts)
    given = shop.accounts
    accounts = {
        "receivable": given.receivable,
        "labor": given.labor,
        "parts": given.parts,
        "supplies": given.supplies,
        "disposal": given.disposal,
        "sublet": given.sublet,
        "core": given.core_deposits,
        "tax": given.tax,
        "discount": given.discount,
    }
    totals = appraisal.agreed
    return Posting(
        document=job.document,
        revision=job.revision,
        kind="invoice",
        date=job.date,
        currency=shop.shop.currency,
        seller=Party(shop.shop.name, shop.shop.address, shop.shop.country, shop.shop.tax_id),
        customer=Party(job.customer.name, job.customer.address, shop.shop.country),
        car_text=f"{record.car.car.name}, {record.car.car.year}, {record.car.car.plate}".rstrip(", "),
        tax_kind=tax.kind,
        tax_rate=appraisal.tax.rate,
        tax_parts=tax_parts,
        tax_level=tax.scope,
        lines=lines,
        totals={
            "labor": totals["labor"],
            "parts": totals["parts"],
            "sublet": totals["sublet"],
            "fees": totals["supplies"] + totals["disposal"],
            "core_deposits": totals["core"],
            "discount": totals["discount_labor"] + totals["discount_parts"],
            "tax": totals["tax"],
            "total": totals["total"],
        },
        journal=journal_of(lines, tax_parts, {name: Account.parse(text) for name, text in accounts.items()}),
        consents=tuple(_consents(appraisal)),
        declined_safety=tuple(
            line.line.title
            for line in appraisal.labor.lines
            if line.decided.decision == DECLINED and line.line.job.safety == "yes" and line.decided.called_by
        ),
        cautions=CAUTIONS,
    )


def _lines(appraisal: Appraisal) -> Iterator[InvoiceLine]:
    """Labor, parts, sublet work, fees, core deposits, discounts, in this order; lines of nothing left out."""
    tax = appraisal.tax

    def line(
        ref: str, kind: str, words: str, quantity: Decimal, unit: str, price: Decimal, net: Decimal, **more: object
    ) -> InvoiceLine:
        tax_class = str(more.pop("tax_class", kind))
        return InvoiceLine(
            ref, kind, words, quantity, unit, price, net, tax_class, bool(tax.is_taxed(tax_class)), **more
        )  # type: ignore[arg-type]

    for job in appraisal.labor.lines:
        if job.agreed and job.amount_agreed:
            hours, rate = job.share_agreed, job.rate
            note = f"{hours:.2f} h in this visit ({job.alone:.2f} h alone) at {rate}"
            more = {"note": note, "job_title": job.line.job.title, "hours_alone": job.alone, "hours_in_visit": hours}
            net = job.amount_agreed
            yield line(f"line.{job.ref}", "labor", job.line.title, _ONE, "each", net, net, **more)
    for work in appraisal.extra_work:
        if work.agreed and isinstance(work.hours, float) and work.amount_agreed:
            hours = from_float(work.hours)
            net = work.amount_agreed
            yield line(f"extra_work.{work.ref}", "labor", work.description or work.label, hours, "h", work.rate, net)
    parts = [
        (f"part.{part.ref}", part.substitute or part.planned.part.description, part.planned.part.unit, part)
        for part in appraisal.parts
    ]
    parts += [
        (f"extra_part.{part.ref}", part.description or part.label, part.unit or "each", part)
        for part in appraisal.extra_parts
    ]
    for ref, words, unit, part in parts:
        if part.agreed and isinstance(part.quantity, float) and part.amount:
            quantity = from_float(part.quantity)
            yield line(ref, "parts", words, quantity, unit, part.price, part.amount_agreed, tax_class=part.tax_class)
    for sublet in appraisal.sublet:
        if sublet.agreed and sublet.amount:
            net = sublet.amount_agreed
            yield line(f"sublet.{sublet.ref}", "sublet", sublet.description or sublet.label, _ONE, "each", net, net)
    for kind, words in (("supplies", "Shop supplies"), ("disposal", "Disposal of drained fluid")):
        if net := appraisal.agreed[kind]:
            yield line(f"total.{kind}", kind, words, _ONE, "each", net, net)
    for ref, words, unit, part in parts:
        if part.agreed and isinstance(part.quantity, float) and part.core:
            quantity = from_float(part.quantity)
            deposit = part.planned.part.core_deposit if hasattr(part, "planned") else half_up(from_float(part.deposit))
            yield line(f"core.{ref}", "core", f"Core deposit: {words}", quantity, unit, deposit, part.core_agreed)
    yield from _discounts(appraisal)


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
