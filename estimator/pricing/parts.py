"""What a part is sold for: its cost marked up by its bracket, never below what a lower bracket can give."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Protocol

from estimator.money import EXACT, half_up


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


def bracket_in(cost: Decimal, rows: Sequence[MarkupRow]) -> int:
    """The number of the row of a cost, from 1. Formula: SUMPRODUCT(1*(over<cost)), at least 1."""
    return max(sum(1 for row in rows if row.over < cost), 1)


def price_in(cost: Decimal, rows: Sequence[MarkupRow]) -> Decimal:
    """Return the unit price of a part, so that a dearer part never sells for less than a cheaper one.

    Formula: ROUND(MAX(cost*(1+percent/100),floor),2), in the row of the cost (`bracket_in`).
    Parameters: cost in currency units, 0 or more, no core deposit in it; rows as `markup_rows` gives them.
    Returns: a price with two decimals.

    >>> rows = (MarkupRow(Decimal(0), Decimal(50), Decimal(0)), MarkupRow(Decimal(100), Decimal(30), Decimal(150)))
    >>> price_in(Decimal("101.00"), rows)
    Decimal('150.00')
    """
    row = rows[bracket_in(cost, rows) - 1]
    return half_up(max(_marked_up(cost, row.percent), row.floor))


def _marked_up(cost: Decimal, percent: Decimal) -> Decimal:
    return EXACT.multiply(cost, 1 + EXACT.divide(percent, Decimal(100)))
