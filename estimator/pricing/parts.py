"""What a part is sold for: its cost marked up by its bracket, never below what a lower bracket can give."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Protocol

from estimator.money import EXACT, half_up, product


class Bracket(Protocol):
    """Costs up to and including `up_to` are marked up by `percent`; the last bracket has no `up_to`."""

    @property
    def up_to(self) -> Decimal | None: ...

    @property
    def percent(self) -> Decimal: ...


@dataclass(frozen=True)
class MarkupRow:
    """A bracket as the Basis tab shows it: costs over `over`, marked up by `percent`, sold for at least `floor`."""

    over: Decimal
    percent: Decimal
    floor: Decimal


def markup_rows(brackets: Sequence[Bracket]) -> tuple[MarkupRow, ...]:
    """The brackets with the least price of each: the highest that a lower bracket can give.

    Formula, row by row from the top: over = the up_to above;
    floor = MAX(floor above, ROUND(over*(1+percent above/100),2)).
    Parameters: brackets in rising order, amounts in currency units, the last without up_to.
    Returns: one row a bracket, the first with over = 0 and floor = 0.
    Raises: ValueError where the brackets don't rise, or the last is closed, or another is open.
    """
    if not brackets:
        raise ValueError("there is no markup bracket; one without an upper cost is the least that is needed")
    rows, over, floor = [], Decimal("0.00"), Decimal("0.00")
    for place, bracket in enumerate(brackets, start=1):
        rows.append(MarkupRow(over, bracket.percent, floor))
        last = place == len(brackets)
        if (bracket.up_to is None) != last:
            raise ValueError(f"markup bracket {place}: only the last bracket, and it alone, stands without up_to")
        if bracket.up_to is not None:
            if bracket.up_to <= over:
                raise ValueError(f"markup bracket {place}: up to {bracket.up_to} isn't above the {over} before it")
            floor = max(floor, half_up(_marked_up(bracket.up_to, bracket.percent)))
            over = bracket.up_to
    return tuple(rows)


def part_price(cost: Decimal, brackets: Sequence[Bracket]) -> Decimal:
    """The unit price of a part, so that a dearer part never sells for less than a cheaper one.

    Formula: ROUND(MAX(cost*(1+percent/100),floor),2), the row being the last whose over is below cost:
    MATCH by SUMPRODUCT(1*(over<cost)), at least 1.
    Parameters: cost in currency units, 0 or more; brackets as for `markup_rows`. A core deposit is no part of cost.
    Returns: a price with two decimals. Raises: ValueError for a negative cost or unsound brackets.

    >>> from types import SimpleNamespace as B
    >>> part_price(Decimal("101.00"), [B(up_to=Decimal(100), percent=Decimal(50)), B(up_to=None, percent=Decimal(30))])
    Decimal('150.00')
    """
    if cost < 0:
        raise ValueError(f"a part can't cost {cost}; zero or more is allowed")
    return price_in(cost, markup_rows(brackets))


def bracket_in(cost: Decimal, rows: Sequence[MarkupRow]) -> int:
    """The number of the row of a cost, from 1. Formula: SUMPRODUCT(1*(over<cost)), at least 1."""
    return max(sum(1 for row in rows if row.over < cost), 1)


def price_in(cost: Decimal, rows: Sequence[MarkupRow]) -> Decimal:
    """The price of a cost by rows that `markup_rows` gave. Formula: ROUND(MAX(cost*(1+percent/100),floor),2)."""
    row = rows[bracket_in(cost, rows) - 1]
    return half_up(max(_marked_up(cost, row.percent), row.floor))


def core_deposit(quantity: Decimal, deposit: Decimal) -> Decimal:
    """The deposit on old parts to be given back: owed to the customer until then, never marked up.

    Formula: ROUND(quantity*deposit,2). Parameters: quantity in its unit; deposit in currency units per unit.
    Returns: an amount with two decimals.

    >>> core_deposit(Decimal(2), Decimal("45.00"))
    Decimal('90.00')
    """
    return product(quantity, deposit)


def _marked_up(cost: Decimal, percent: Decimal) -> Decimal:
    return EXACT.multiply(cost, 1 + EXACT.divide(percent, Decimal(100)))
