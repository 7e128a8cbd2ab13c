"""Values of one cell as markup stores them: texts, numbers, truth values, errors, dates."""

from __future__ import annotations

import math
import re
from datetime import datetime, time
from functools import lru_cache
from typing import NamedTuple


class ErrorValue(str):
    """An error that a formula yielded, as "#DIV/0!"; a text of the same letters is a plain str."""

    __slots__ = ()


Value = str | float | int | bool | ErrorValue | None


class ReadCell(NamedTuple):
    """One cell as it was saved.

    value: stored constant or result; None where a formula stores none. A date is the serial number that the sheet
    holds (days since 1899-12-30, or since 1904-01-01 where the workbook's `date1904` says so).
    formula: with its leading "=", or None. is_date: a number shown as a date or time.
    array: the range that an array formula or a data table fills, "" for an ordinary formula.
    """

    value: Value
    formula: str | None = None
    is_date: bool = False
    array: str = ""


class WrongMarkup(Exception):
    """Markup that contradicts itself or the standard; the message says what."""


# ECMA-376 part 1, 18.8.30: the built-in formats that show dates and times; 27 to 36 and 50 to 58 are those of
# East Asian languages.
_BUILT_IN_DATES = frozenset((*range(14, 23), *range(27, 37), *range(45, 48), *range(50, 59)))
# Quoted words, escaped letters, padding and fills, and all brackets but elapsed time say nothing of dates
_NOT_A_DATE = re.compile(r'"[^"]*"|[\\_*].|\[(?!(?:h+|m+|s+)\])[^\]]*\]', re.IGNORECASE)
_DATE_LETTERS = re.compile("[dmhys]", re.IGNORECASE)

_ESCAPE = re.compile("_x([0-9A-Fa-f]{4})_")
_SAFE_DIGITS = 16
_LONGEST_NUMBER = 400


def text_value(text: str) -> str:
    """Return the text of a cell, the escapes of ECMA-376 part 1, 22.9.2.19 (ST_Xstring), decoded.

    openpyxl decodes only _x005F_. An escape for what no spreadsheet could hold (NUL, half a letter) stays as it is.

    >>> text_value("a_x0007_ and _x005F_x0041_")
    'a\\x07 and _x0041_'
    """
    return _ESCAPE.sub(_escaped, text) if "_x" in text else text


def _escaped(match: re.Match[str]) -> str:
    number = int(match[1], 16)
    return match[0] if number == 0 or 0xD800 <= number < 0xE000 or number >= 0xFFFE else chr(number)


def number_value(text: str) -> int | float:
    """Return the number that a cell stores; whole ones as int. Raises WrongMarkup for what isn't a finite number.

    >>> number_value("2200"), number_value("1E-3")
    (2200, 0.001)
    """
    if len(text) < _SAFE_DIGITS and text.isdecimal() and text.isascii():
        return int(text)
    try:
        value = float(text) if len(text) <= _LONGEST_NUMBER else math.inf
    except ValueError:
        value = math.inf
    if value - value != 0 or "_" in text or not text.isascii():  # infinite, not a number, or Python's own spelling
        raise WrongMarkup(f'"{text[:20]}" where a number should be')
    return value if "." in text or "e" in text.lower() else int(text)


def truth_value(text: str) -> bool:
    """Return the truth value that a cell stores. Raises WrongMarkup for what is none."""
    if text.strip() in ("1", "true"):
        return True
    if text.strip() in ("0", "false"):
        return False
    raise WrongMarkup(f'"{text[:20]}" where a truth value should be')


def date_value(text: str, date1904: bool) -> float:
    """Return the serial number, in days, of a date, time or both in ISO 8601 form (cells of type "d").

    Raises WrongMarkup for what is none. The sheet's own day count has a 29 February 1900 that never was; serials
    before 1 March 1900 are one less, as openpyxl gives them.

    >>> date_value("2026-11-25T12:00:00", date1904=False)
    46351.5
    """
    try:
        if "-" not in text:
            clock = time.fromisoformat(text.removeprefix("T").removesuffix("Z"))
            return (clock.hour * 3600 + clock.minute * 60 + clock.second + clock.microsecond / 1e6) / 86400
        moment = datetime.fromisoformat(text.removesuffix("Z")).replace(tzinfo=None)
    except ValueError:
        raise WrongMarkup(f'"{text[:30]}" where a date should be') from None
    start = datetime(1904, 1, 1) if date1904 else datetime(1899, 12, 30)
    gone = moment - start
    serial = gone.days + (gone.seconds + gone.microseconds / 1e6) / 86400
    return serial - 1 if not date1904 and 0 < gone.days <= 60 else serial


@lru_cache(maxsize=1024)
def shows_dates(number: int, code: str | None) -> bool:
    """Return whether a number format shows dates or times, by its number and, for one of the workbook's own, its code.

    >>> shows_dates(14, None), shows_dates(164, "yyyy-mm-dd"), shows_dates(165, '0.0 "days"'), shows_dates(0, None)
    (True, True, False, False)
    """
    if code is None:
        return number in _BUILT_IN_DATES
    first = _NOT_A_DATE.sub("", code).partition(";")[0]
    return bool(_DATE_LETTERS.search(first))
