"""The shape of a log's text: encoding, mark between columns, decimal mark, header, first line of data."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass

from estimator.pressure_logs.columns import is_unit

HEADER_MOST = 200
_MARKS = (";", "\t", "|", ",")
_CLOCK = re.compile(r"(?:.*[ T])?\d{1,2}:\d{2}:\d{2}(?:[.,]\d+)?(?: ?[AaPp][Mm])?Z?")
_NUMBER = {
    ".": re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?"),
    ",": re.compile(r"[+-]?(\d+,?\d*|,\d+)([eE][+-]?\d+)?"),
}


@dataclass(frozen=True)
class Shape:
    """How a log is written; `first` is the number of lines before its data."""

    encoding: str
    mark: str  # " " stands for any run of blanks
    decimal: str
    quoted: bool
    first: int
    names: tuple[str, ...]
    units: tuple[str, ...]
    clock: tuple[bool, ...]


class NoShape(ValueError):
    """The line, what was found there, what to do."""


def shape_of(beginning: bytes, whole: bool) -> Shape:
    """The shape of a log from its beginning; `whole` where nothing comes after it. Raises NoShape.

    >>> shape = shape_of(b"Gauge 7\\nt;p\\ns;bar\\n0,0;140,1\\n0,5;139,8\\n", True)
    >>> shape.mark, shape.decimal, shape.first, shape.names, shape.units
    (';', ',', 3, ('t', 'p'), ('s', 'bar'))
    """
    encoding = _encoding(beginning)
    lines = beginning.decode(encoding, "replace").split("\n")
    lines = [line.rstrip("\r") for line in (lines if whole else lines[:-1])]
    if not any(line.strip() for line in lines):
        raise NoShape(1, "the file is empty", "export the log again")
    for number, line in enumerate(lines[:HEADER_MOST]):
        for mark in (*_MARKS, " "):
            cells = split(line, mark)
            decimal = _decimal(cells, mark)
            later = [split(text, mark) for text in lines[number + 1 : number + 4] if text.strip()]
            if decimal and all(len(row) == len(cells) for row in later) and (later or len(lines) < 4):
                decimal = _from_all(lines[number:], mark, decimal)
                names, units = _header(lines[:number], mark, len(cells))
                clock = tuple(bool(_CLOCK.fullmatch(cell)) for cell in cells)
                quoted = '"' in "".join(lines[number:])
                return Shape(encoding, mark, decimal, quoted, number, names, units, clock)
    at = min(len(lines), HEADER_MOST)
    found = f"no row of a time and a pressure in the first {at} lines"
    raise NoShape(at, found, "export the log as CSV: a row a sample, with its time and its pressure")


def split(line: str, mark: str) -> list[str]:
    """The cells of a line, without blanks and quotes around them."""
    if mark == " ":
        return line.split()
    if '"' in line:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=mark), [])]
    return [cell.strip() for cell in line.split(mark)]


def _encoding(beginning: bytes) -> str:
    if beginning.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    try:
        beginning[: beginning.rfind(b"\n") + 1].decode("utf-8")
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8-sig"


def _decimal(cells: list[str], mark: str) -> str:
    """The decimal mark where a row holds samples: two cells or more, numbers or times of day; else nothing."""
    for decimal in (".", ",") if mark != "," else (".",):
        numbers = sum(bool(_NUMBER[decimal].fullmatch(cell)) for cell in cells)
        clocks = sum(bool(_CLOCK.fullmatch(cell)) for cell in cells)
        if numbers and numbers + clocks >= 2:
            return decimal
    return ""


def _from_all(lines: list[str], mark: str, decimal: str) -> str:
    """The decimal mark by all lines at hand: the first row may hold whole numbers."""
    if mark == "," or any("." in cell for line in lines for cell in split(line, mark) if not _CLOCK.fullmatch(cell)):
        return decimal
    return "," if any("," in line for line in lines) else decimal


def _header(lines: list[str], mark: str, width: int) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Names and units of the columns from the last lines above the data."""
    nothing = ("",) * width
    rows = [split(line.lstrip("#"), mark) for line in lines if line.strip()]
    rows = [row for row in rows if len(row) == width] if mark != " " else rows[-2:]
    if not rows:
        return nothing, nothing
    last = rows[-1]
    if len(rows) > 1 and len(last) == width and sum(map(is_unit, last)) >= 2:
        return _fitted(rows[-2], width), tuple(last)
    return _fitted(last, width), nothing


def _fitted(row: list[str], width: int) -> tuple[str, ...]:
    """A row of names; between blanks a unit in brackets belongs to the name before it."""
    if len(row) > width:
        joined: list[str] = []
        for word in row:
            if joined and word.startswith(("[", "(")):
                joined[-1] += f" {word}"
            else:
                joined.append(word)
        row = joined
    return tuple(row) if len(row) == width else ("",) * width
