"""The agreed document as lines for the books, and whether they balance."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.money import ZERO, add
from estimator.pricing.money_lines import TaxRules
from estimator.records import JobRecord


@dataclass(frozen=True)
class JournalRow:
    """One line for the books: its amount, credit positive, debit negative."""

    ref: str
    label: str
    account: str
    tax_code: str
    amount: Decimal

    @property
    def debit(self) -> Decimal:
        return max(ZERO, -self.amount)

    @property
    def credit(self) -> Decimal:
        return max(ZERO, self.amount)


def journal_rows(
    totals: Mapping[str, Decimal], tax_parts: Sequence[tuple[str, Decimal]], record: JobRecord, tax: TaxRules
) -> tuple[JournalRow, ...]:
    """The agreed document as it goes to the books; rows of nothing stay at zero."""
    accounts = record.shop.accounts

    def code(kind: str) -> str:
        return "taxed" if tax.is_taxed(kind) else "untaxed"

    discount = {"taxed": totals["discount_taxed"], "untaxed": totals["discount_parts"] - totals["discount_taxed"]}
    discount[code("labor")] += totals["discount_labor"]
    rows = [
        JournalRow("receivable", "Customer", accounts.receivable, "", -totals["total"]),
        JournalRow("labor", "Labor", accounts.labor, code("labor"), totals["labor"]),
        JournalRow("parts_taxed", "Parts, taxed", accounts.parts, "taxed", totals["parts_taxed"]),
        JournalRow(
            "parts_untaxed", "Parts, untaxed", accounts.parts, "untaxed", totals["parts"] - totals["parts_taxed"]
        ),
        JournalRow("supplies", "Supplies", accounts.supplies, code("supplies"), totals["supplies"]),
        JournalRow("disposal", "Disposal", accounts.disposal, code("disposal"), totals["disposal"]),
        JournalRow("sublet", "Sublet", accounts.sublet, code("sublet"), totals["sublet"]),
        JournalRow("core", "Core deposits", accounts.core_deposits, code("core"), totals["core"]),
        JournalRow("discount_taxed", "Discount, taxed", accounts.discount, "taxed", discount["taxed"]),
        JournalRow("discount_untaxed", "Discount, untaxed", accounts.discount, "untaxed", discount["untaxed"]),
    ]
    rows += [
        JournalRow(f"tax{number}", f"Tax, {name}", accounts.tax, name, amount)
        for number, (name, amount) in enumerate(tax_parts, 1)
    ]
    return tuple(rows)


@dataclass(frozen=True)
class Balance:
    """What the lines add up to on each side."""

    debit: Decimal
    credit: Decimal

    ref = "all"
    label = "all lines"

    @classmethod
    def of(cls, rows: Sequence[JournalRow]) -> Balance:
        return cls(add(row.debit for row in rows), add(row.credit for row in rows))

    @property
    def out(self) -> Decimal:
        return self.debit - self.credit
