"""Rows of a CSV file that a person keeps: comma between columns, the columns named in the first row."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from pathlib import Path
from typing import Any, NamedTuple

from estimator.errors import InputError, InputProblem, nearest
from estimator.intake.model_errors import printable
from estimator.intake.toml_files import read_text


class Line(NamedTuple):
    """One row of one table, and where it stands."""

    path: Path
    number: int
    row: Any

    def problem(self, column: str, found: str, allowed: str, fix: str = "") -> InputProblem:
        place = f'line {self.number}, column "{column}"' if column else f"line {self.number}"
        return InputProblem(str(self.path), place, found, allowed, fix)


class Row(NamedTuple):
    """One row: its line in the file, and its fields by column, without blanks around them."""

    line: int
    fields: dict[str, str]


class Rows(NamedTuple):
    """The rows of a file, and the rows of another length, each with the number of its line: they hide nothing else."""

    rows: list[Row]
    problems: list[tuple[int, InputProblem]]


def read_csv(path: Path, needed: Iterable[str], optional: Iterable[str] = ()) -> Rows:
    """The rows of a CSV file. Empty rows, and rows that begin with #, are left out.

    Raises InputError where no row can be read: a column missing, unknown or doubled, semicolons or tabs between
    columns, a quotation mark that isn't closed.
    """
    text = read_text(path)
    try:
        rows = _rows(text)
    except csv.Error as error:
        raise InputError([_broken(path, text, str(error))]) from None
    if not rows:
        raise InputError([_problem(path, "line 1", "the file is empty", f"columns: {', '.join(needed)}")])
    columns, body = [name.strip() for name in rows[0][1]], rows[1:]
    if problems := _column_problems(path, columns, list(needed), list(optional)):
        raise InputError(problems)
    fix = "put a text that holds a comma in double quotes; leave an empty field for nothing"
    allowed = f"the first row names {len(columns)} columns"
    found, wrong = [], []
    for line, cells in body:
        if len(cells) == len(columns):
            found.append(Row(line, dict(zip(columns, (cell.strip() for cell in cells), strict=True))))
        else:
            wrong.append((line, _problem(path, f"line {line}", f"{len(cells)} fields", allowed, fix)))
    return Rows(found, wrong)


def _rows(text: str) -> list[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    found, line = [], 1
    for cells in reader:
        if any(cell.strip() for cell in cells) and not cells[0].lstrip().startswith("#"):
            found.append((line, cells))
        line = reader.line_num + 1
    return found


def _column_problems(path: Path, columns: list[str], needed: list[str], optional: list[str]) -> list[InputProblem]:
    known = [*needed, *optional]
    for mark, name in ((";", "semicolons"), ("\t", "tabs")):
        if len(columns) == 1 and mark in columns[0]:
            fix = 'save it again as "CSV, comma between columns, UTF-8", with the decimal point as a point'
            return [_problem(path, "line 1", f"{name} stand between the columns", "use commas", fix)]
    problems = []
    for name in columns:
        if columns.count(name) > 1:
            problems.append(
                _problem(path, "line 1", f'the column "{printable(name)}" twice', "each column stands once")
            )
        elif name not in known:
            found = f'unknown column "{printable(name)}"{nearest(name, known)}'
            problems.append(
                _problem(path, "line 1", found, f"columns: {', '.join(known)}", "correct the name or take it out")
            )
    for name in needed:
        if name not in columns:
            found = f'the column "{name}" is missing'
            problems.append(_problem(path, "line 1", found, f"columns: {', '.join(known)}", "add the column"))
    return list(dict.fromkeys(problems))


def _broken(path: Path, text: str, message: str) -> InputProblem:
    line = 1
    try:
        reader = csv.reader(io.StringIO(text, newline=""), strict=True)
        for _ in reader:
            line = reader.line_num + 1
    except csv.Error:
        pass
    found = "a quotation mark isn't closed" if "end of data" in message else "a row that can't be split into columns"
    return _problem(path, f"line {line}", found, 'a text in double quotes ends before a comma; a quote in it is ""')


def _problem(path: Path, place: str, found: str, allowed: str, fix: str = "") -> InputProblem:
    return InputProblem(str(path), place, found, allowed, fix)
