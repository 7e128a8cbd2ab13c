"""Cell addresses to numbers and back. Rows and columns count from 1."""

from __future__ import annotations

import functools
import re

ROWS, COLUMNS = 1_048_576, 16_384  # ECMA-376 part 1, 18.17.2.3 names the last column XFD

_ADDRESS = re.compile(r"([A-Z]{1,3})([1-9][0-9]{0,6})", re.ASCII)
_LETTERS = re.compile("[A-Z]{1,3}", re.ASCII)
_ROW = re.compile(r"[1-9][0-9]{0,6}", re.ASCII)
_RANGE = re.compile(rf"{_ADDRESS.pattern}(?::{_ADDRESS.pattern})?", re.ASCII)


@functools.lru_cache(maxsize=1024)
def column_number(letters: str) -> int | None:
    """Return the number of a column, or None for letters that name none.

    >>> column_number("AB"), column_number("XFD"), column_number("XFE"), column_number("a")
    (28, 16384, None, None)
    """
    if not _LETTERS.fullmatch(letters):
        return None
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number if number <= COLUMNS else None


def column_letters(number: int) -> str:
    """Return the letters of a column.

    >>> column_letters(28)
    'AB'
    """
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def row_number(text: str) -> int | None:
    """Return the number of a row, or None for what is none.

    >>> row_number("12"), row_number("012"), row_number("9999999")
    (12, None, None)
    """
    return int(text) if _ROW.fullmatch(text) and int(text) <= ROWS else None


def row_and_column(text: str) -> tuple[int, int] | None:
    """Return row and column of an address, or None for what is none.

    >>> row_and_column("AB12"), row_and_column("XFE1")
    ((12, 28), None)
    """
    match = _ADDRESS.fullmatch(text)
    column = column_number(match[1]) if match else None
    return (int(match[2]), column) if match and column and int(match[2]) <= ROWS else None


def cells_in(text: str) -> int | None:
    """Return how many cells a range covers, or None for what is none.

    >>> cells_in("A1:B3"), cells_in("C4"), cells_in("A:A")
    (6, 1, None)
    """
    match = _RANGE.fullmatch(text)
    if not match:
        return None
    first, last = row_and_column(match[1] + match[2]), row_and_column((match[3] or match[1]) + (match[4] or match[2]))
    if not first or not last:
        return None
    return (abs(last[0] - first[0]) + 1) * (abs(last[1] - first[1]) + 1)
