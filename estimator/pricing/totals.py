"""The totals of a document in one case: what the lines add up to, fees, discount, tax, and what may be billed.

Each figure is rounded once; the names are those of the rows on the Estimate tab.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType

from estimator.boxes.entries import Entries
from estimator.money import EXACT, ZERO, add, half_up, percent_of
from estimator.pricing.extra_lines import ExtraPart, SubletLine
from estimator.pricing.fees_and_tax import disposal_fee, supplies_fee
from estimator.pricing.job_lines import JobLine
from estimator.pricing.money_lines import Amounts, Case, TaxRules, exact
from estimator.pricing.part_lines import PartLine
from estimator.records import JobRecord

TOTAL_ROWS = (
    ("labor", "labor"),
    ("parts", "parts"),
    ("sublet", "sublet work"),
    ("supplies_share", "shop supplies before the cap"),
    ("supplies", "shop supplies"),
    ("disposal", "fluid disposal"),
    ("core", "core deposits, refundable with the old parts"),
    ("discount_labor", "discount on labor"),
    ("discount_parts", "discount on parts"),
    ("net", "before tax"),
    ("parts_taxed", "taxable parts"),
    ("discount_taxed", "discount on taxable parts"),
    ("labor_taxed", "taxable labor"),
    ("fees_taxed", "taxable fees"),
    ("others_taxed", "taxable sublet work and core deposits"),
    ("taxable", "taxable amount"),
    ("tax_by_document", "tax, computed once on the document"),
    ("tax_labor", "tax line by line, labor"),
    ("tax_parts", "tax line by line, parts"),
    ("tax_others", "tax line by line, sublet work and core deposits"),
    ("tax_fees", "tax line by line, fees"),
    ("tax_by_line", "tax, computed line by line"),
    ("tax", "tax"),
    ("total", "total"),
)


NET = ("labor", "parts", "sublet", "supplies", "disposal", "core", "discount_labor", "discount_parts")


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
        return self.name.replace("_", " ")


LaborLine = JobLine | Amounts
AnyPart = PartLine | ExtraPart
MoneyLine = LaborLine | AnyPart | SubletLine


@dataclass(frozen=True)
class MoneyLines:
    """All lines of money: labor (jobs and extra work), parts (and extra ones), sublet work."""

    labor: tuple[LaborLine, ...]
    parts: tuple[AnyPart, ...]
    sublet: tuple[SubletLine, ...]


def case_totals(
    case: Case, lines: MoneyLines, record: JobRecord, entries: Entries, tax: TaxRules
) -> Mapping[str, Decimal]:
    """The totals of a case (agreed, proposed), by the names of TOTAL_ROWS."""
    agreed = case == "agreed"

    def total(items: Iterable[MoneyLine]) -> Decimal:
        return add(item.amount_agreed if agreed else item.amount_proposed for item in items)

    def tax_alone(items: Iterable[MoneyLine]) -> Decimal:
        return add(item.tax_agreed if agreed else item.tax_proposed for item in items)

    fees = record.shop.fees
    found: dict[str, Decimal] = {}
    found["labor"], found["parts"], found["sublet"] = (total(x) for x in (lines.labor, lines.parts, lines.sublet))
    found["supplies_share"] = supplies_fee(found["labor"], fees.supplies_percent_of_labor, ZERO)
    found["supplies"] = supplies_fee(found["labor"], fees.supplies_percent_of_labor, fees.supplies_cap)
    charged = exact(entries.disposal["drained"].liters) if found["labor"] > 0 else ZERO
    found["disposal"] = disposal_fee(charged, fees.disposal_per_liter)
    found["core"] = add(item.core_agreed if agreed else item.core_proposed for item in lines.parts)
    for kind in ("labor", "parts"):
        found[f"discount_{kind}"] = ZERO - percent_of(found[kind], exact(entries.discounts[kind].percent))
    found["net"] = add(found[name] for name in NET)
    found["parts_taxed"] = total(item for item in lines.parts if item.taxed)
    # Not by `allocate`: a negative quantity that was pasted in gives a negative weight.
    share = EXACT.divide(found["discount_parts"] * found["parts_taxed"], found["parts"]) if found["parts"] else ZERO
    found["discount_taxed"] = half_up(share)

    def taxed(*names: str, of: str = "") -> Decimal:
        return add(found[name] for name in names if tax.is_taxed(of or name))

    found["labor_taxed"] = taxed("labor", "discount_labor", of="labor")
    found["fees_taxed"] = taxed("supplies", "disposal")
    found["others_taxed"] = taxed("sublet", "core")
    found["taxable"] = add(found[f"{name}_taxed"] for name in ("labor", "parts", "discount", "fees", "others"))
    found["tax_by_document"] = half_up(found["taxable"] * tax.rate)
    found["tax_labor"] = tax_alone(lines.labor) + tax.on(found["discount_labor"], "labor")
    found["tax_parts"] = tax_alone(lines.parts) + half_up(found["discount_taxed"] * tax.rate)
    core_taxes = (item.core_tax_agreed if agreed else item.core_tax_proposed for item in lines.parts)
    found["tax_others"] = tax_alone(lines.sublet) + add(core_taxes)
    found["tax_fees"] = add(tax.on(found[name], name) for name in ("supplies", "disposal"))
    found["tax_by_line"] = add(found[f"tax_{name}"] for name in ("labor", "parts", "others", "fees"))
    found["tax"] = found["tax_by_line"] if tax.by_line else found["tax_by_document"]
    found["total"] = found["net"] + found["tax"]
    return MappingProxyType(found)


# What the customer reads of the totals.
SUM_ROWS = (
    "labor",
    "parts",
    "sublet",
    "supplies",
    "disposal",
    "core",
    "discount_labor",
    "discount_parts",
    "net",
    "tax",
    "total",
)


def sum_rows(rows: Sequence[TotalRow]) -> tuple[TotalRow, ...]:
    """The totals that the customer reads, in that order."""
    by_name = {row.name: row for row in rows}
    return tuple(by_name[name] for name in SUM_ROWS)


def total_rows(agreed: Mapping[str, Decimal], proposed: Mapping[str, Decimal]) -> tuple[TotalRow, ...]:
    """Both cases side by side, in the order of the Estimate tab."""
    return tuple(TotalRow(name, title, agreed[name], proposed[name]) for name, title in TOTAL_ROWS)
