"""The tax shared out by jurisdiction, so that the parts add up to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_DOWN, ROUND_HALF_UP, Decimal

from estimator.money import ZERO, add, allocate
from estimator.records import Tax


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
class TaxPartRow:
    """A jurisdiction's percentage and its part of the tax in both cases."""

    order: int
    label: str
    percent: Decimal
    agreed: TaxShare
    proposed: TaxShare

    @property
    def ref(self) -> str:
        return f"t{self.order}"


def tax_part_rows(rule: Tax, agreed: Decimal, proposed: Decimal) -> tuple[TaxPartRow, ...]:
    """The parts of the tax in both cases, in the order of the shop's setting; none where nothing is taxed."""
    parts = () if rule.kind == "none" else rule.parts
    weights = [part.percent for part in parts]
    cases = (tax_shares(tax, weights) for tax in (agreed, proposed))
    return tuple(
        TaxPartRow(number, part.name, part.percent, of_agreed, of_proposed)
        for number, (part, of_agreed, of_proposed) in enumerate(zip(parts, *cases, strict=True), 1)
    )
