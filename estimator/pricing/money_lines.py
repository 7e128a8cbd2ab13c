"""Lines of money beside labor from the jobs: parts, spare lines that people fill in, sublet work.

Each line carries its amount, and the tax it would have alone, in both cases (agreed, proposed). What a person typed
may be missing or no number; then the amount is zero, in Python as in the sheet.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from estimator.boxes.entries import Number
from estimator.money import ZERO, from_float, half_up
from estimator.records import JobRecord

Case = Literal["agreed", "proposed"]
CASES: tuple[Case, Case] = ("agreed", "proposed")
TAX_CLASSES = ("labor", "parts", "supplies", "disposal", "sublet", "core")
FAMILIES = ("glycol", "mineral", "silicone", "any")
CONDITIONS = ("new", "rebuilt", "used")


@dataclass(frozen=True)
class TaxRules:
    """The tax setting as the lines need it: the aggregate rate as a fraction, and the classes that are taxed."""

    rate: Decimal
    taxed: frozenset[str]
    by_line: bool

    @classmethod
    def of(cls, record: JobRecord) -> TaxRules:
        tax = record.shop.tax
        rate = sum((part.percent for part in tax.parts), Decimal(0)) / 100
        if tax.kind == "none":
            return cls(Decimal(0), frozenset(), tax.scope == "line")
        return cls(rate, frozenset(tax.taxed), tax.scope == "line")

    def is_taxed(self, tax_class: str) -> int:
        return int(tax_class in self.taxed)

    def on(self, amount: Decimal, tax_class: str) -> Decimal:
        """ROUND(amount*rate*taxed,2)."""
        return half_up(amount * self.rate) if tax_class in self.taxed else ZERO


def exact(value: Number) -> Decimal:
    """What a number box holds as an exact number; zero where it is empty or holds words."""
    return from_float(value) if isinstance(value, float) else Decimal(0)


@dataclass(frozen=True)
class Amounts:
    """What a line amounts to in both cases, and the tax that it would have alone."""

    agreed: int
    proposed: int
    amount: Decimal
    tax_class: str
    tax: TaxRules

    @property
    def taxed(self) -> int:
        return self.tax.is_taxed(self.tax_class)

    @property
    def amount_agreed(self) -> Decimal:
        return self.amount * self.agreed

    @property
    def amount_proposed(self) -> Decimal:
        return self.amount * self.proposed

    @property
    def tax_agreed(self) -> Decimal:
        return self.tax.on(self.amount_agreed, self.tax_class)

    @property
    def tax_proposed(self) -> Decimal:
        return self.tax.on(self.amount_proposed, self.tax_class)


@dataclass(frozen=True)
class PartAmounts(Amounts):
    """A line of parts: beside its amount the core deposits on it."""

    core: Decimal

    @property
    def core_agreed(self) -> Decimal:
        return self.core * self.agreed

    @property
    def core_proposed(self) -> Decimal:
        return self.core * self.proposed

    @property
    def core_tax_agreed(self) -> Decimal:
        return self.tax.on(self.core_agreed, "core")

    @property
    def core_tax_proposed(self) -> Decimal:
        return self.tax.on(self.core_proposed, "core")
