"""Whether two values are one, as far as saving a workbook in another program leaves them so."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

from estimator.limits.sheet_arithmetic import serial
from estimator.readback.values import ErrorValue
from estimator.workbook.book import Cell

_DAYS_TO_1904 = 1462
# Spreadsheet programs keep 15 digits of a constant.
_CONSTANT = 5e-15
# Of a computed value: engines add and take powers in another order.
_COMPUTED = 1e-9
# Below this a difference of computed values is noise of binary fractions: in money, hours and shown units far less than
# any step that is shown. SI values by the size that they have here: pressures of 1e7 Pa, of which programs take a
# difference in the last digits for none, and volumes of 1e-6 m³.
_FLOOR, _PLAIN_FLOOR = 1e-9, 1e-15
_SI_FLOORS = {"Pa": 1e-6, "m": 1e-12, "m²": 1e-15, "m³": 1e-15, "m³/s": 1e-18, "1/Pa": 1e-24, "rad": 1e-12}


def same_constant(expected: object, found: object, *, date1904: bool = False) -> bool:
    """Whether a constant is as it was drafted, to 15 digits; a text to the letter, but for its kind of line breaks."""
    if isinstance(expected, dt.date):
        expected = serial(expected) - (_DAYS_TO_1904 if date1904 else 0)
    if isinstance(expected, int | float | Decimal):
        number = float(expected)
        return _is_number(found) and abs(number - found) <= _CONSTANT * abs(number)  # type: ignore[operator]
    if expected is None or expected == "":
        return found is None or found == ""
    if not isinstance(found, str) or isinstance(found, ErrorValue):
        return False
    return found == expected or _lines(found) == _lines(str(expected))


def same_value(expected: object, found: object, cell: Cell) -> bool:
    """Whether a stored value is the one that was computed for a cell.

    Numbers agree to 9 digits of the larger one, or differ by noise alone; words agree as `same_words` has it.
    """
    if expected is None or expected == "":
        return found is None or found == ""
    if isinstance(expected, int | float | Decimal):
        if not _is_number(found):
            return False
        number = float(expected)
        floor = (
            _SI_FLOORS.get(cell.unit, _FLOOR)
            if cell.unit
            else _PLAIN_FLOOR
            if cell.look in ("factor", "si")
            else _FLOOR
        )
        return abs(found - number) <= max(_COMPUTED * max(abs(number), abs(found)), floor)  # type: ignore[operator,arg-type]
    return isinstance(found, str) and not isinstance(found, ErrorValue) and same_words(str(expected), found)


def same_words(expected: str, found: str) -> bool:
    r"""Whether worked out words agree to the letter: LibreOffice makes U+0001 of a tab in what it takes from a cell of
    several lines.

    >>> same_words("a\tb\nc", "a\x01b\nc"), same_words("ab", "Ab")
    (True, False)
    """
    return found in (expected, expected.replace("\t", "\x01"))


def words(value: object) -> str:
    """A value as a message shows it."""
    if value is None:
        return ""
    if isinstance(value, float):
        return format(value, ".15g")
    return str(value)[:200]


def _is_number(found: object) -> bool:
    return isinstance(found, int | float) and not isinstance(found, bool)


def _lines(text: str) -> str:
    return text.replace("\r\n", "\n").replace("\r", "\n")
