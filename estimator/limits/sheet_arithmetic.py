"""What a spreadsheet does with numbers and dates, for the few places where Python must decide as the sheet does."""

from __future__ import annotations

import datetime as dt
from decimal import ROUND_HALF_UP, Decimal

_EPOCH = dt.date(1899, 12, 30)


def sheet_round(value: float, digits: int) -> float:
    """ROUND(value, digits): half away from zero, seen through the 15 digits that a spreadsheet keeps.

    >>> sheet_round(0.1 + 0.2, 6), sheet_round(-2.5, 0)
    (0.3, -3.0)
    """
    exact = Decimal(format(value, ".15g"))
    return float(exact.quantize(Decimal(1).scaleb(-digits), ROUND_HALF_UP))


def through_15_digits(value: float) -> float:
    """The number as a spreadsheet keeps it.

    >>> through_15_digits(0.1 + 0.2)
    0.3
    """
    return float(format(value, ".15g"))


def serial(day: dt.date) -> int:
    """The day number by which a spreadsheet keeps a date (1900 system, right from 1900-03-01).

    >>> serial(dt.date(2026, 11, 25))
    46351
    """
    return (day - _EPOCH).days


def day_of_serial(number: int) -> dt.date | None:
    """The date of a day number; None for one that is no date.

    >>> day_of_serial(46351)
    datetime.date(2026, 11, 25)
    """
    try:
        return _EPOCH + dt.timedelta(days=number)
    except OverflowError:
        return None
