"""A supplier's price list (xlsx or CSV), whose columns shop.toml maps, laid over the parts of the labor tables."""

from __future__ import annotations

import datetime as dt
import io
import re
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any, NamedTuple

from estimator.errors import EXIT_MISSING, InputError, InputProblem, nearest, shortened
from estimator.intake.model_errors import printable
from estimator.intake.toml_files import read_text
from estimator.records import PartRow, PriceList, Tables

_MONEY = re.compile(r"[0-9]+(\.[0-9]+)?")
MOST = Decimal(1_000_000)
LARGEST_BYTES = 20_000_000


class PriceChange(NamedTuple):
    """One figure of one part that the list changed."""

    part_id: str
    what: str
    before: str
    after: str


class NotPlaced(NamedTuple):
    """A row of the list that changed nothing, and why."""

    line: int
    part_id: str
    why: str


@dataclass(frozen=True)
class PriceReport:
    """What a price list did: `parts` counts the parts it holds, changed or not."""

    file: str
    parts: int
    changes: tuple[PriceChange, ...]
    not_placed: tuple[NotPlaced, ...]


def apply_price_list(tables: Tables, path: Path, columns: PriceList, listed_on: dt.date) -> tuple[Tables, PriceReport]:
    """The tables with the list's prices, and what changed and what couldn't be placed.

    `listed_on` is the date of prices whose row has none. A row that names no part of the tables, has no readable
    price, or repeats a part is left out and reported. Raises InputError where the file can't be read or lacks a column.
    """
    rows = _rows(path, columns)
    known = {part.part_id: part for part in tables.parts}
    named: dict[str, int] = {}
    changes: list[PriceChange] = []
    left_out: list[NotPlaced] = []
    for line, row in rows:
        part_id = str(row["part_id"] or "").strip().casefold()
        if not part_id and not any(row.values()):
            continue
        try:
            part = _part(part_id, known, named, line)
            renewed = _renewed(part, row, listed_on)
        except _LeftOut as why:
            left_out.append(NotPlaced(line, shortened(printable(part_id)), shortened(str(why))))
            continue
        changes += _changes(part, renewed)
        known[part_id] = renewed
    parts = tuple(known[part.part_id] for part in tables.parts)
    report = PriceReport(path.name, len(named), tuple(changes), tuple(left_out))
    return tables.model_copy(update={"parts": parts}), report


class _LeftOut(Exception):
    """Why a row can't be placed."""


def _part(part_id: str, known: dict[str, PartRow], named: dict[str, int], line: int) -> PartRow:
    if part_id not in known:
        raise _LeftOut(f"no part has this id{nearest(part_id, known)}")
    if part_id in named:
        raise _LeftOut(f"the list has this part already in line {named[part_id]}")
    named[part_id] = line
    return known[part_id]


def _renewed(part: PartRow, row: dict[str, Any], listed_on: dt.date) -> PartRow:
    update: dict[str, Any] = {"unit_cost": _money(row["unit_cost"], "price")}
    if row.get("core_deposit") not in (None, ""):
        update["core_deposit"] = _money(row["core_deposit"], "core deposit")
    update["priced_on"] = _date(row["priced_on"]) if row.get("priced_on") not in (None, "") else listed_on
    return part.model_copy(update=update)


def _money(value: Any, what: str) -> Decimal:
    """An amount as a spreadsheet or a CSV file gives it; a number of a spreadsheet to its 15 digits."""
    if isinstance(value, bool) or value is None:
        raise _LeftOut(f"no {what} in the row")
    text = format(value, ".15g") if isinstance(value, float) else str(value).strip()
    if not _MONEY.fullmatch(text):
        raise _LeftOut(f'the {what} "{printable(text)}" isn\'t a plain number such as 118.50' if text else f"no {what}")
    amount = Decimal(text)
    if amount > MOST or (what == "price" and not amount):
        raise _LeftOut(f"the {what} {text} can't be true")
    return amount


def _date(value: Any) -> dt.date:
    if isinstance(value, dt.date):
        return value.date() if isinstance(value, dt.datetime) else value
    try:
        return dt.date.fromisoformat(str(value).strip())
    except ValueError:
        raise _LeftOut(f'the date "{printable(str(value))}" isn\'t written as 2026-11-25') from None


def _changes(before: PartRow, after: PartRow) -> Iterator[PriceChange]:
    for what in ("unit_cost", "core_deposit"):
        if getattr(before, what) != getattr(after, what):
            yield PriceChange(before.part_id, what, str(getattr(before, what)), str(getattr(after, what)))


def _rows(path: Path, columns: PriceList) -> list[tuple[int, dict[str, Any]]]:
    """Line and mapped fields of each row."""
    import pandas

    def refuse(found: str, allowed: str, fix: str = "", status: int = 65) -> InputError:
        return InputError([InputProblem(str(path), "the price list", found, allowed, fix)], status)

    excel = path.suffix.lower() == ".xlsx"
    if not excel and path.suffix.lower() != ".csv":
        raise refuse(f'its name ends in "{path.suffix}"', "use xlsx or CSV", "save it as one of these")
    if not path.is_file():
        raise refuse("file not found", "check the name and the folder", status=EXIT_MISSING)
    if path.stat().st_size > LARGEST_BYTES:
        raise refuse("it is larger than 20 MB", "a price list is far smaller", "check the name")
    try:
        with warnings.catch_warnings(action="ignore"):
            frame = pandas.read_excel(path, dtype=object, keep_default_na=False) if excel else _csv_frame(path)
    except InputError:
        raise
    except Exception:  # pandas and openpyxl raise many kinds on a file that isn't what its name says
        allowed = "a first row of column names, and rows as long as it"
        fix = "save it with commas between columns and decimal points, or as xlsx"
        raise refuse("it can't be read as a table", allowed, fix) from None
    wanted = {field: name for field, name in columns.model_dump().items() if name}
    found = {str(name).strip(): name for name in frame.columns}
    if missing := [name for name in wanted.values() if name not in found]:
        hints = "; ".join(f'"{name}"{nearest(name, found)}' for name in missing)
        raise refuse(
            f"it has no column {hints}",
            f"its columns: {', '.join(printable(name) for name in found)}",
            "correct [price_list] in the shop file",
        )
    picked = [(field, frame[found[name]]) for field, name in wanted.items()]
    return [(index + 2, {field: _cell(column.iloc[index]) for field, column in picked}) for index in range(len(frame))]


def _csv_frame(path: Path) -> Any:
    import pandas

    with warnings.catch_warnings(action="error"):  # pandas cuts a row that is too long, with a warning
        return pandas.read_csv(
            io.StringIO(read_text(path)), dtype=str, keep_default_na=False, skip_blank_lines=False, index_col=False
        )


def _cell(value: Any) -> Any:
    import pandas

    return None if pandas.isna(value) else value
