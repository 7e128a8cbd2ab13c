"""Fees, discount, tax and totals: each figure rounded once, half away from zero, and each as a spreadsheet would."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, Protocol

from estimator.money import EXACT, ZERO, add, allocate, half_up, percent_of, product

TaxLevel = Literal["document", "line"]
TOTAL_OF_KIND = {
    "labor": "labor",
    "parts": "parts",
    "supplies": "fees",
    "disposal": "fees",
    "sublet": "sublet",
    "core": "core_deposits",
    "discount": "discount",
}
TOTALS = ("labor", "parts", "sublet", "fees", "core_deposits", "discount", "tax", "total")
# Totals of a document that are rows of the Estimate under other names.
_ROWS_OF = {
    "fees": ("supplies", "disposal"),
    "core_deposits": ("core",),
    "discount": ("discount_labor", "discount_parts"),
}


class TaxableLine(Protocol):
    """What tax needs to know of a line: its net in currency units and whether its class is taxed."""

    @property
    def net(self) -> Decimal: ...

    @property
    def taxed(self) -> bool: ...


class PricedLine(TaxableLine, Protocol):
    @property
    def kind(self) -> str: ...


@dataclass(frozen=True)
class TaxResult:
    """`taxable` is the base; `parts` are name, rate and amount of each jurisdiction."""

    taxable: Decimal
    amount: Decimal
    parts: tuple[tuple[str, Decimal, Decimal], ...]


def supplies_fee(labor: Decimal, percent: Decimal, cap: Decimal) -> Decimal:
    """Shop supplies: a percentage of labor, at most the cap.

    Formula: MIN(ROUND(labor*percent/100,2),cap); a cap of 0 leaves the percentage uncapped:
    IF(cap=0,ROUND(labor*percent/100,2),MIN(ROUND(labor*percent/100,2),cap)).
    Parameters: labor and cap in currency units, percent of labor. Returns: an amount with two decimals.

    >>> supplies_fee(Decimal("161.50"), Decimal(5), Decimal("40.00"))
    Decimal('8.08')
    """
    fee = percent_of(labor, percent)
    return min(fee, cap) if cap else fee


def disposal_fee(liters: Decimal, per_liter: Decimal) -> Decimal:
    """Disposal of drained fluid. Formula: ROUND(liters*per_liter,2). Liters; currency units per liter.

    >>> disposal_fee(Decimal("3.5"), Decimal("1.25"))
    Decimal('4.38')
    """
    return product(liters, per_liter)


def tax_on(
    lines: Sequence[TaxableLine], parts: Sequence[tuple[str, Decimal]], level: TaxLevel = "document"
) -> TaxResult:
    """Tax on the aggregate rate, and its parts by jurisdiction.

    Formula: rate = ROUND(SUM(part rates),10). Document: ROUND(ROUND(SUMIFS(net,taxed,"yes"),2)*rate,2). Line: each
    ROUND(net*rate,2) where taxed, then SUM. Parts: the tax shared by the part rates (`estimator.money.allocate`), so
    that they add up.
    Parameters: lines, net in currency units, discounts as negative lines; parts, (name, rate as a fraction); level.
    Returns: a TaxResult. Validity: rates from 0 to 10.
    Raises: ValueError for a rate outside that.
    Source: Streamlined Sales and Use Tax Agreement, section 324 (aggregate rate, rounded once; by item or by invoice
    as the seller chooses).

    >>> from types import SimpleNamespace as L
    >>> rate = [("state", Decimal("0.0625")), ("county", Decimal("0.02"))]
    >>> tax_on([L(net=Decimal("5.39"), taxed=True)], rate).parts
    (('state', Decimal('0.0625'), Decimal('0.33')), ('county', Decimal('0.02'), Decimal('0.11')))
    """
    for name, rate in parts:
        if not 0 <= rate <= 10:
            raise ValueError(f'tax rate of "{name}": {rate} is out of range; a fraction from 0 to 10 is allowed')
    aggregate = sum((rate for _, rate in parts), Decimal(0))
    taxable = add(line.net for line in lines if line.taxed)
    if level == "line":
        amount = add(half_up(EXACT.multiply(line.net, aggregate)) for line in lines if line.taxed)
    else:
        amount = half_up(EXACT.multiply(taxable, aggregate))
    shares = allocate(amount, [rate for _, rate in parts])
    shown = tuple((name, rate, share) for (name, rate), share in zip(parts, shares, strict=True))
    return TaxResult(taxable, amount, shown)


def totals_of(lines: Sequence[PricedLine], tax: Decimal) -> dict[str, Decimal]:
    """The totals of a document by kind of line.

    Formula: SUMIFS(net,kind,…) each; discount is negative; total = SUM(net)+tax. Supplies and disposal are
    fees.
    Parameters: lines with kind and net in currency units; tax in currency units.
    Returns: labor, parts, sublet, fees, core_deposits, discount, tax, total. Raises: KeyError for an unknown kind.
    """
    totals = dict.fromkeys(TOTALS, ZERO)
    for line in lines:
        totals[TOTAL_OF_KIND[line.kind]] += line.net
    totals["tax"] = tax + ZERO
    totals["total"] = add(line.net for line in lines) + tax
    return totals


def document_totals(rows: Mapping[str, Decimal]) -> dict[str, Decimal]:
    """The totals of a document by kind, from the rows of the Estimate. Formula: fees, discounts: SUM(rows); else the row."""
    return {name: add(rows[row] for row in _ROWS_OF.get(name, (name,))) for name in TOTALS}


def before_tax(totals: Mapping[str, Decimal]) -> Decimal:
    """A document's total without its tax. Formula: total-tax."""
    return totals["total"] - totals["tax"]


def core_refund_tax(lines: Sequence[TaxableLine], returned: Decimal, parts: Sequence[tuple[str, Decimal]]) -> TaxResult:
    """The tax that goes back with core deposits: the difference of two taxes, never a rate on the deposit.

    Formula: tax on what was taxed, minus tax on the same less all deposits returned. At line level `lines` is the core
    line alone.
    Parameters: lines of the document as posted; returned, taxed deposits in currency units, those of earlier returns
    included; parts as for `tax_on`. Returns: a TaxResult with the base and tax to give back, earlier returns included; a
    part may be a cent either way.
    Raises: ValueError where more is returned than was taxed.
    Source: the tax goes back with the deposit in Virginia (second-hand); elsewhere as the shop's setting says.
    """
    first, second = tax_on(lines, parts), tax_on([*lines, _Returned(-returned)], parts)
    if second.taxable < 0:
        raise ValueError(f"cores of {returned} are returned, and only {first.taxable} was taxed")
    shares = zip(first.parts, second.parts, strict=True)
    return TaxResult(
        returned + ZERO,
        first.amount - second.amount,
        tuple((name, rate, before - after) for (name, rate, before), (_, _, after) in shares),
    )


@dataclass(frozen=True)
class _Returned:
    net: Decimal
    taxed: bool = True
