"""Postings for tests: the invented shop's documents, by hand and at random."""

from __future__ import annotations

import datetime as dt
import random
import sqlite3
from contextlib import closing
from dataclasses import replace
from decimal import Decimal

from estimator.books.journal import Account, journal_of
from estimator.books.posting import InvoiceLine, Party, PostedConsent, Posting
from estimator.books.register import FILE_NAME
from estimator.books.verify import verify as verify_all
from estimator.money import add, percent_of, product
from estimator.pricing.fees_and_tax import tax_on, totals_of

D = Decimal
DAY = dt.date(2026, 11, 25)
ACCOUNTS = {
    "receivable": Account("DUE", "Customers"),
    "labor": Account("WORK", "Labor"),
    "parts": Account("PARTS", "Parts"),
    "supplies": Account("SUPPLY", "Shop supplies"),
    "disposal": Account("DRAIN", "Disposal"),
    "sublet": Account("SUBLET", "Work by others"),
    "core": Account("CORE-HELD", "Core deposits"),
    "discount": Account("LESS", "Discounts"),
    "tax": Account("TAX-OWED", "Tax owed"),
    "forfeited": Account("CORE-KEPT", "Core deposits kept"),
}
SELLER = Party("Lantern Yard Brake Works", ("7 Lantern Yard", "Harrow Fen"), "GB", "GB123456789")
CUSTOMER = Party("Odile Marchbank", ("2 Sluice Row", "Upper Wick", "Harrow Fen"), "GB")
ALL = frozenset(("labor", "parts", "supplies", "disposal", "sublet", "core"))
TWO_PARTS = (("state", D("0.0625")), ("county", D("0.02625")))


def balances(books):
    """The balance of each account and currency, debit less credit, by SQL straight from the register's lines."""
    with closing(sqlite3.connect(f"file:{books / FILE_NAME}?mode=ro", uri=True)) as connection:
        rows = connection.execute(
            "SELECT account_code, currency, SUM(debit_cents) - SUM(credit_cents) FROM entry_lines JOIN entries e "
            "ON e.id = entry GROUP BY account_code, currency"
        )
        return {(code, currency): D(cents) / 100 for code, currency, cents in rows}


def verify(books):
    """Verify where files of months weren't asked for."""
    return verify_all(books, reports=False)


def line(kind, description, quantity, unit, price, taxed, ref="", net=None, **more):
    quantity, price = D(quantity), D(price)
    net = product(quantity, price) if net is None else D(net)
    tax_class = "labor" if kind == "discount" else kind
    return InvoiceLine(ref or f"{kind} 1", kind, description, quantity, unit, price, net, tax_class, taxed, **more)


def posting(
    document="LY-2041",
    lines=None,
    *,
    revision=1,
    kind="invoice",
    taxed=ALL,
    parts=TWO_PARTS,
    tax_kind="sales",
    level="document",
    date=DAY,
    customer=CUSTOMER,
    **more,
):
    if lines is None:
        lines = mixed_lines(taxed)
    lines = tuple(lines)
    parts = () if tax_kind == "none" else parts
    tax = tax_on(lines, parts, level)
    return Posting(
        document=document,
        revision=revision,
        kind=kind,
        date=date,
        currency="USD",
        seller=SELLER,
        customer=customer,
        car_text="Vardowe Longcourt, 1971, chassis C6-004417",
        tax_kind=tax_kind,
        tax_rate=sum((rate for _, rate in parts), D(0)),
        tax_parts=tax.parts,
        lines=lines,
        totals=totals_of(lines, tax.amount),
        journal=journal_of(lines, tax.parts, ACCOUNTS, credit_note=kind != "invoice"),
        tax_level=level,
        **{
            "consents": (PostedConsent("diagnosis", DAY, D("600.00"), "Odile Marchbank", "signed", "T. Quill"),),
            "declined_safety": ("Pressure hoses, front axle",),
            "cautions": ("Work on stored-pressure brakes is for qualified people: release the pressure first.",),
            **more,
        },
    )


def mixed_lines(taxed=ALL):
    """The mixed invoice of the check values: labor 1.7 h at 95.00, parts, core, supplies, sublet, discount."""
    return (
        line(
            "labor",
            "Accumulator exchange",
            "1.7",
            "h",
            "95.00",
            "labor" in taxed,
            "job 1",
            hours_alone=2.2,
            hours_in_visit=1.7,
            job_title="Accumulator exchange",
        ),
        line(
            "parts",
            "Accumulator, rebuilt",
            1,
            "each",
            "184.35",
            "parts" in taxed,
            "part 1",
            job_title="Accumulator exchange",
        ),
        line("parts", "Mineral oil", "1.5", "L", "18.30", "parts" in taxed, "part 2"),
        line("parts", "Return hose", "0.5", "m", "6.97", "parts" in taxed, "part 3"),
        line("core", "Old accumulator", 1, "each", "45.00", "core" in taxed, "core 1"),
        line("supplies", "Shop supplies, 5 % of labor", 1, "each", "8.08", "supplies" in taxed),
        line("sublet", "Pipe flaring", 1, "each", "79.99", "sublet" in taxed),
        line("discount", "10 % off labor", 1, "each", "-16.15", "labor" in taxed),
    )


def revised(original, **changes):
    """The same document with one more line, as the next revision."""
    more = line("parts", "Seal set", 1, "set", "12.35", True, "part 9")
    same = {"document": original.document, "revision": original.revision + 1, "date": original.date}
    return posting(lines=(*original.lines, more), **{**same, **changes})


UNITS = {"labor": "h", "parts": "each", "supplies": "each", "disposal": "L", "sublet": "each", "core": "each"}
RATES = ["0.0825", "0.07", "0.0725", "0.05", "0.2", "0.1", "0.03", "0.0105", "0.00875"]


def random_posting(rng: random.Random, document: str, **more) -> Posting:
    """A document of 1 to 8 lines whose products and taxes are rich in exact half cents."""
    lines = []
    for place in range(rng.randint(1, 8)):
        kind = rng.choice(tuple(UNITS))
        taxed = rng.random() < 0.7
        if kind == "core":
            quantity, price = D(rng.randint(1, 3)), D(rng.randint(1, 20000)) / 100
        elif rng.random() < 0.6:
            quantity, price = (
                D(rng.choice(("0.5", "1.5", "2.5", "0.05", "0.75"))),
                D(2 * rng.randint(1, 9999) + 1) / 100,
            )
        else:
            quantity, price = D(rng.randint(1, 9999)) / 1000, D(rng.randint(1, 99999)) / 100
        lines.append(line(kind, f"{kind} {place}", quantity, UNITS[kind], price, taxed, f"{kind} {place}"))
    labor = add(item.net for item in lines if item.kind == "labor" and item.taxed)
    if labor and rng.random() < 0.5:
        off = percent_of(labor, rng.choice((5, 10, "12.5")))
        lines.append(line("discount", "off labor", 1, "each", -off, True))
    parts = [(name, D(rng.choice(RATES))) for name in ("state", "county", "town")[: rng.randint(1, 3)]]
    choice = {"parts": tuple(parts), "level": rng.choice(("document", "document", "line")), **more}
    if choice.get("tax_kind") == "vat":
        choice["level"] = "document"
    return posting(document, lines, **choice)


def renamed(original: Posting, document: str) -> Posting:
    return replace(original, document=document)
