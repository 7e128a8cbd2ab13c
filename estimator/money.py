"""Money as exact decimals: rounded half away from zero, once, and shared out without losing a cent."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from decimal import ROUND_DOWN, ROUND_HALF_UP, Context, Decimal

CENT = Decimal("0.01")
ZERO = Decimal("0.00")
EXACT = Context(prec=60)
_STEP = Decimal("0.000001")


def half_up(x: Decimal | str | int) -> Decimal:
    """An amount to the cent, half away from zero: look at the third decimal, up if it is over four, once.

    Formula: ROUND(x,2) of every spreadsheet program.
    Parameters: x, an exact amount in currency units. A float is refused: see `from_float`.
    Returns: the amount with two decimals.
    Validity: up to 56 digits before the point.
    Raises: TypeError for a float, decimal.InvalidOperation for what isn't a number.
    Source: Streamlined Sales and Use Tax Agreement, section 324.

    >>> half_up("0.44475"), half_up("-0.165")
    (Decimal('0.44'), Decimal('-0.17'))
    """
    return _exact(x).quantize(CENT, ROUND_HALF_UP, EXACT) + ZERO


def from_float(x: float) -> Decimal:
    """The decimal that a spreadsheet program means by a binary number: its 15 significant digits.

    Formula: Decimal(format(x, ".15g")); 1.005 becomes 1.005, not 1.00499999999999989…
    Parameters: x, a finite float or int. Returns: a Decimal.
    Validity: amounts under 10 trillion keep their cents.
    Raises: ValueError for infinity, not-a-number, or a truth value.

    >>> from_float(0.1 + 0.2), half_up(from_float(1.15 * 100 / 1000))
    (Decimal('0.3'), Decimal('0.12'))
    """
    if isinstance(x, bool) or not math.isfinite(x):
        raise ValueError(f"{x!r} is not an amount; enter a finite number")
    return Decimal(format(x, ".15g"))


def percent_of(amount: Decimal | str | int, percent: Decimal | str | int) -> Decimal:
    """A percentage of an amount, rounded once.

    Formula: ROUND(amount*percent/100,2).
    Parameters: amount in currency units; percent, 8.25 for 8.25 %. Returns: an amount with two decimals.
    Validity and errors: as `half_up`.

    >>> percent_of("5.39", "8.25")
    Decimal('0.44')
    """
    return half_up(EXACT.divide(EXACT.multiply(_exact(amount), _exact(percent)), Decimal(100)))


def product(quantity: Decimal | str | int, unit_price: Decimal | str | int) -> Decimal:
    """A quantity at a unit price, rounded once: the net of a line.

    Formula: ROUND(quantity*unit_price,2). Parameters: quantity in its unit, unit_price in currency units per unit.
    Returns: an amount with two decimals. Validity and errors: as `half_up`.

    >>> product("0.5", "6.97")
    Decimal('3.49')
    """
    return half_up(EXACT.multiply(_exact(quantity), _exact(unit_price)))


def allocate(total: Decimal, weights: Sequence[Decimal]) -> tuple[Decimal, ...]:
    """Share an amount in proportion to weights, to the cent, so that the shares add up: largest remainder.

    Formula, with T the total and w the column of weights:
    exact = ROUND(ABS(T)*w/SUM(w),6); down = ROUNDDOWN(exact,2); rest = ROUND(exact-down,6);
    left = ROUND((ABS(T)-SUM(down))*100,0);
    rank = SUMPRODUCT(1*(rest column>rest))+SUMPRODUCT(1*(rest column down to this one=rest));
    share = SIGN(T)*ROUND(down+IF(rank<=left,0.01,0),2). Equal remainders: the earlier line gets the cent.
    Parameters: total with at most two decimals, of either sign; weights, none negative, not all zero unless total is.
    Returns: one amount a weight. Validity: up to a million weights.
    Raises: ValueError for a fraction of a cent, a negative weight, or nothing to share to.

    >>> allocate(Decimal("-16.15"), [Decimal(1), Decimal(1), Decimal(1)])
    (Decimal('-5.39'), Decimal('-5.38'), Decimal('-5.38'))
    """
    total, exact_weights = _cents(total), [_exact(weight) for weight in weights]
    if any(weight < 0 for weight in exact_weights):
        raise ValueError("a weight is negative; an amount is shared by weights of zero or more")
    whole = sum(exact_weights, Decimal(0))
    if not whole:
        if total:
            raise ValueError(f"{total} can't be shared: every weight is zero")
        return tuple(ZERO for _ in exact_weights)
    size = abs(total)
    portions = (EXACT.divide(EXACT.multiply(size, weight), whole) for weight in exact_weights)
    exact = [portion.quantize(_STEP, ROUND_HALF_UP, EXACT) for portion in portions]
    shares = [share.quantize(CENT, ROUND_DOWN, EXACT) for share in exact]
    left = int((size - sum(shares, ZERO)) * 100)
    by_remainder = sorted(range(len(exact)), key=lambda i: (shares[i] - exact[i], i))
    for i in by_remainder[:left]:
        shares[i] += CENT
    return tuple(share.copy_sign(total) if share else ZERO for share in shares)


def add(amounts: Iterable[Decimal]) -> Decimal:
    """The sum of amounts that are already rounded. Formula: SUM(amounts).

    >>> add([Decimal("0.10"), Decimal("0.20")])
    Decimal('0.30')
    """
    return sum(amounts, ZERO)


def money_text(x: Decimal) -> str:
    """An amount as files write it: two decimals, a point, no thousands separator, no minus on zero.

    Raises: ValueError for a fraction of a cent, since writing never rounds.

    >>> money_text(Decimal("-0")), money_text(Decimal("1234.5"))
    ('0.00', '1234.50')
    """
    return format(_cents(x), "f")


def _cents(x: Decimal) -> Decimal:
    amount = _exact(x)
    rounded = amount.quantize(CENT, ROUND_HALF_UP, EXACT)
    if rounded != amount:
        raise ValueError(f"{amount} has a fraction of a cent; round it once where it arises")
    return rounded + ZERO


def _exact(x: Decimal | str | int) -> Decimal:
    if isinstance(x, float | bool):
        raise TypeError(f"{x!r} is a {type(x).__name__}; money is exact: turn it into a decimal with from_float")
    return x if isinstance(x, Decimal) else Decimal(x)
