"""The totals of a document in one case: what the lines add up to, fees, discount, tax, and what may be billed.

Each figure is rounded once; the names are those of the rows on the Estimate tab.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_DOWN, ROUND_HALF_UP, Decimal
from types import MappingProxyType

from estimator.money import EXACT, ZERO, add, allocate, from_float, half_up, percent_of
from estimator.pricing.fees_and_tax import disposal_fee, supplies_fee
from estimator.pricing.money_lines import Amounts, TaxRules, number
from estimator.records import EntryValue, JobRecord

TOTAL_ROWS = (
    ("labor", "labor"),
    ("parts", "parts"),
    ("sublet", "sublet work"),
    ("supplies_share", "shop supplies before the cap"),
    ("supplies", "shop supplies"),
    ("disposal", "disposal of drained fluid"),
    ("core", "core deposits, given back with the old parts"),
    ("discount_labor", "discount on labor"),
    ("discount_parts", "discount on parts"),
    ("net", "before tax"),
    ("parts_taxed", "parts that are taxed"),
    ("discount_taxed", "discount on taxed parts"),
    ("labor_taxed", "labor that is taxed"),
    ("fees_taxed", "fees that are taxed"),
    ("others_taxed", "sublet work and core deposits that are taxed"),
    ("taxable", "all that is taxed"),
    ("tax_by_document", "tax, reckoned once on the document"),
    ("tax_labor", "tax line by line, labor"),
    ("tax_parts", "tax line by line, parts"),
    ("tax_others", "tax line by line, sublet work and core deposits"),
    ("tax_fees", "tax line by line, fees"),
    ("tax_by_line", "tax, reckoned line by line"),
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
    found["supplies_share"] = supplies_fee(found["labor"], fees.supplies_percent_of_labor, ZERO)
    found["supplies"] = supplies_fee(found["labor"], fees.supplies_percent_of_labor, fees.supplies_cap)
    liters = number(entries, "disposal.drained.liters")
    charged = from_float(liters) if isinstance(liters, float) and found["labor"] > 0 else ZERO
    found["disposal"] = disposal_fee(charged, fees.disposal_per_liter)
    found["core"] = total(lines.parts, "core")
    for kind in ("labor", "parts"):
        percent = number(entries, f"discount.{kind}.percent")
        rate = from_float(percent) if isinstance(percent, float) else ZERO
        found[f"discount_{kind}"] = ZERO - percent_of(found[kind], rate)
    found["net"] = add(found[name] for name in NET)
    found["parts_taxed"] = add(getattr(item, f"amount_{case}") for item in lines.parts if item.taxed)
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
    found["tax_labor"] = total(lines.labor, "tax") + tax.on(found["discount_labor"], "labor")
    found["tax_parts"] = total(lines.parts, "tax") + half_up(found["discount_taxed"] * tax.rate)
    found["tax_others"] = total(lines.sublet, "tax") + total(lines.parts, "core_tax")
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


@dataclass(frozen=True)
class TaxShare:
    """A jurisdiction's part of the tax in one case, by largest remainder, with the steps that the sheet shows: the exact
    part of the tax's size, whole cents of it, the rest, its place by size among the rests, and the cents left over."""

    exact: Decimal
    down: Decimal
    rest: Decimal
    rank: int
    left: int
    share: Decimal


def tax_shares(tax: Decimal, weights: Sequence[Decimal]) -> tuple[TaxShare, ...]:
    """Share the tax out by the jurisdictions' rates so that the parts add up to it (`money.allocate`)."""
    whole = sum(weights, Decimal(0))
    if not whole:
        return tuple(TaxShare(ZERO, ZERO, ZERO, place, 0, ZERO) for place in range(1, len(weights) + 1))
    exact = [(abs(tax) * weight / whole).quantize(Decimal("1E-6"), ROUND_HALF_UP) for weight in weights]
    down = [item.quantize(Decimal("0.01"), ROUND_DOWN) for item in exact]
    rest = [item - low for item, low in zip(exact, down, strict=True)]
    by_rest = sorted(range(len(rest)), key=lambda place: (-rest[place], place))
    left = int((abs(tax) - add(down)) * 100)
    ranks = [by_rest.index(place) + 1 for place in range(len(rest))]
    shares = allocate(tax, weights)
    return tuple(TaxShare(*row) for row in zip(exact, down, rest, ranks, [left] * len(rest), shares, strict=True))


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
