"""The totals of a document in one case: what the lines add up to, fees, discount, tax, and what may be billed.

Each figure is rounded once; the names are those of the rows on the Estimate tab.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType

from estimator.money import ZERO, add, allocate, half_up
from estimator.pricing.fees_and_tax import disposal_fee, supplies_fee
from estimator.pricing.money_lines import Amounts, TaxRules, number
from estimator.records import EntryValue, JobRecord

TOTAL_ROWS = (
    ("labor", "Labor"),
    ("parts", "Parts"),
    ("sublet", "Sublet work"),
    ("supplies", "Shop supplies"),
    ("disposal", "Disposal of drained fluid"),
    ("core", "Core deposits, given back with the old part"),
    ("discount_labor", "Discount on labor"),
    ("discount_parts", "Discount on parts"),
    ("net", "Before tax"),
    ("parts_taxed", "of this, parts that are taxed"),
    ("discount_taxed", "of the discount on parts, on taxed parts"),
    ("taxable", "What is taxed"),
    ("tax_by_document", "Tax, reckoned once on the document"),
    ("tax_by_line", "Tax, reckoned line by line"),
    ("tax", "Tax"),
    ("total", "Total"),
)


@dataclass(frozen=True)
class TotalRow:
    name: str
    title: str
    agreed: Decimal
    proposed: Decimal

    @property
    def ref(self) -> str:
        return self.name

    @property
    def label(self) -> str:
        return self.title


@dataclass(frozen=True)
class MoneyLines:
    """All lines of money: labor (jobs and extra work), parts (and extra ones), sublet work."""

    labor: Sequence[Amounts]
    parts: Sequence[Amounts]
    sublet: Sequence[Amounts]


def case_totals(
    case: str, lines: MoneyLines, record: JobRecord, entries: Mapping[str, EntryValue], tax: TaxRules
) -> Mapping[str, Decimal]:
    """The totals of a case (agreed, proposed), by the names of TOTAL_ROWS."""

    def total(items: Sequence[Amounts], name: str = "amount") -> Decimal:
        return add(getattr(item, f"{name}_{case}") for item in items)

    fees = record.shop.fees
    found: dict[str, Decimal] = {}
    found["labor"], found["parts"], found["sublet"] = (total(x) for x in (lines.labor, lines.parts, lines.sublet))
    found["supplies"] = supplies_fee(found["labor"], fees.supplies_percent_of_labor, fees.supplies_cap)
    liters = number(entries, "disposal.drained.liters")
    charged = liters if isinstance(liters, float) and found["labor"] > 0 else 0.0
    found["disposal"] = disposal_fee(Decimal(format(charged, ".15g")), fees.disposal_per_liter)
    found["core"] = total(lines.parts, "core")
    for kind in ("labor", "parts"):
        percent = number(entries, f"discount.{kind}.percent")
        rate = Decimal(format(percent, ".15g")) if isinstance(percent, float) else Decimal(0)
        found[f"discount_{kind}"] = -half_up(found[kind] * rate / 100) + ZERO
    own = ("labor", "parts", "sublet", "supplies", "disposal", "core", "discount_labor", "discount_parts")
    found["net"] = add(found[name] for name in own)
    found["parts_taxed"] = add(getattr(item, f"amount_{case}") for item in lines.parts if item.taxed)
    rest = found["parts"] - found["parts_taxed"]
    shares = allocate(found["discount_parts"], [found["parts_taxed"], rest]) if found["parts"] else (ZERO, ZERO)
    found["discount_taxed"] = shares[0]
    taxed_by_class = {
        "labor": found["labor"] + found["discount_labor"],
        "sublet": found["sublet"],
        "supplies": found["supplies"],
        "disposal": found["disposal"],
        "core": found["core"],
    }
    found["taxable"] = add(amount for name, amount in taxed_by_class.items() if tax.is_taxed(name)) + add(
        (found["parts_taxed"], found["discount_taxed"])
    )
    found["tax_by_document"] = half_up(found["taxable"] * tax.rate)
    by_line = [total(items, "tax") for items in (lines.labor, lines.parts, lines.sublet)]
    by_line.append(total(lines.parts, "core_tax"))
    by_line += [tax.on(found[name], name) for name in ("supplies", "disposal")]
    by_line.append(tax.on(found["discount_labor"], "labor"))
    by_line.append(half_up(found["discount_taxed"] * tax.rate))
    found["tax_by_line"] = add(by_line)
    found["tax"] = found["tax_by_line"] if tax.by_line else found["tax_by_document"]
    found["total"] = found["net"] + found["tax"]
    return MappingProxyType(found)


def total_rows(agreed: Mapping[str, Decimal], proposed: Mapping[str, Decimal]) -> tuple[TotalRow, ...]:
    """Both cases side by side, in the order of the Estimate tab."""
    return tuple(TotalRow(name, title, agreed[name], proposed[name]) for name, title in TOTAL_ROWS)
