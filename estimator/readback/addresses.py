"""Cell addresses to numbers and back. Rows and columns count from 1."""

from __future__ import annotations

import functools
import re
from collections.abc import Collection
from typing import NamedTuple

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


class Area(NamedTuple):
    """A range of cells: its first and last row and column."""

    top: int
    left: int
    bottom: int
    right: int

    @property
    def size(self) -> int:
        """How many cells it covers."""
        return (self.bottom - self.top + 1) * (self.right - self.left + 1)

    def among(self, places: Collection[tuple[int, int]]) -> list[tuple[int, int]]:
        """Return the places, by row and column, that it covers, in order."""
        if self.size > len(places):
            return sorted(p for p in places if self.top <= p[0] <= self.bottom and self.left <= p[1] <= self.right)
        rows, columns = range(self.top, self.bottom + 1), range(self.left, self.right + 1)
        return [(row, column) for row in rows for column in columns if (row, column) in places]


def area_of(text: str) -> Area | None:
    """Return the area of a range or of one cell, or None for what is none.

    >>> area_of("C4"), area_of("B3:A1"), area_of("A:A")
    (Area(top=4, left=3, bottom=4, right=3), Area(top=1, left=1, bottom=3, right=2), None)
    """
    match = _RANGE.fullmatch(text)
    if not match:
        return None
    one, other = row_and_column(match[1] + match[2]), row_and_column((match[3] or match[1]) + (match[4] or match[2]))
    if not one or not other:
        return None
    return Area(min(one[0], other[0]), min(one[1], other[1]), max(one[0], other[0]), max(one[1], other[1]))
