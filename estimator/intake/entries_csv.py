"""entries.csv: what people would type into the boxes of a workbook, as key, value, unit, note."""

from __future__ import annotations

import datetime as dt
import math
import re
from pathlib import Path
from typing import NamedTuple

from estimator.errors import InputProblem
from estimator.intake.csv_rows import read_csv
from estimator.intake.model_errors import printable
from estimator.quantities import UNITS
from estimator.records import EntryValue, plain_text
from estimator.written_quantities import parse_any_quantity

# Columns of `estimator boxes` that tell a person what a box is; nothing reads them.
SAID_BESIDE = ("what", "allowed")
_KEY = re.compile(r"[a-z0-9][a-z0-9_-]*(\.[a-z0-9][a-z0-9_-]*)+")
_NUMBER = re.compile(r"[+-]?(0|[1-9][0-9]*)(\.[0-9]+)?([eE][+-]?[0-9]+)?")
_WITH_COMMA = re.compile(r"[+-]?[0-9][0-9.,]*,[0-9][0-9.,]*\s*(.*)")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


class EntryRow(NamedTuple):
    """One row. `value` is a number, a date or a text as it looks; None where the field is empty, which leaves the box
    empty. `text` is what stood there, for boxes that take text (the serial number 4711 stays "4711")."""

    line_no: int
    key: str
    value: EntryValue | None
    unit: str
    note: str
    text: str


class EntryFile(NamedTuple):
    """The entries of a file, in its order, and what is wrong with its other lines, each with the number of its line."""

    path: Path
    rows: tuple[EntryRow, ...]
    problems: tuple[tuple[int, InputProblem], ...] = ()


def load_entries(path: Path) -> EntryFile:
    """The entries of a file. Which keys and values a workbook has room for isn't known here.

    Wrong lines have a decimal comma, a key twice or malformed, an unknown unit, or no such date; `apply_entries` tells
    of them together with what no box takes. Raises InputError for a file that has no rows of these columns.
    """
    rows: list[EntryRow] = []
    read = read_csv(path, ("key", "value"), ("unit", "note", *SAID_BESIDE))
    problems = list(read.problems)
    first: dict[str, int] = {}
    for line, fields in read.rows:
        key, text, unit = fields["key"], fields["value"], fields.get("unit", "")

        def wrong(column: str, found: str, allowed: str, fix: str = "", line: int = line) -> None:
            place = f'line {line}, column "{column}"'
            problems.append((line, InputProblem(str(path), place, printable(found), allowed, fix)))

        if not _KEY.fullmatch(key):
            wrong("key", f'found "{key}"', 'enter a key, for example "reading.cut-out.system-1.before"')
        elif first.setdefault(key, line) != line:
            wrong("key", f'"{key}" stands twice', f"line {first[key]} has it already", "take one of them out")
        try:
            value = _value(plain_text(text))
            plain_text(fields.get("note", ""))
        except _NotAValue as error:
            wrong("value", *error.args)
            continue
        except ValueError as error:
            wrong("value", *str(error).partition("; ")[::2])
            continue
        try:
            parse_any_quantity(f"1 {unit}")
        except ValueError as error:
            wrong("unit", *str(error).partition("; ")[::2])
        if not problems or problems[-1][0] != line:
            rows.append(EntryRow(line, key, value, unit, fields.get("note", ""), text))
    return EntryFile(path, tuple(rows), tuple(problems))


class _NotAValue(ValueError):
    """What was found, what is allowed, what to do."""


def _value(text: str) -> EntryValue | None:
    if not text:
        return None
    if _NUMBER.fullmatch(text):
        number = float(text)
        if not math.isfinite(number):
            raise _NotAValue(f'found "{text}"', "the number is too large to be true", "correct the number")
        return number
    comma = _WITH_COMMA.fullmatch(text)
    if comma and (not comma[1] or comma[1] in UNITS):
        found = f'"{text}" has a comma in its number'
        raise _NotAValue(
            found, "numbers have a decimal point and nothing between thousands", "write it as 2150 or 2.15"
        )
    if _DATE.fullmatch(text):
        try:
            return dt.date.fromisoformat(text)
        except ValueError:
            raise _NotAValue(f'"{text}" is no day of the calendar', "enter a date", "correct the date") from None
    return text
