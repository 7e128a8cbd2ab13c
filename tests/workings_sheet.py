"""The workings of a record as a workbook of one sheet, to hold every expression against Python by another engine."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from pathlib import Path

import xlsxwriter

from estimator.limits.constants import CONSTANTS
from estimator.limits.working import Si, Workings
from tests.engines import Values, recalculate_with_ironcalc

_KEY = re.compile(r"\{([^{}]+)\}")
SHEET = "Limits"


class WorkingsSheet:
    """Each key in a row of its own: readings, constants, data and facts as numbers, working rows as formulas."""

    def __init__(self, workings: Workings) -> None:
        self.workings = workings
        self.plain: dict[str, Si] = {f"constant.{item.ref}.value": item.value for item in CONSTANTS}
        self.plain |= workings.readings
        self.plain |= {f"fact.{fact.id}.si": fact.si for fact in workings.record.facts}
        self.plain |= {f"datum.{ref}.si": datum.si for ref, datum in workings.data.items()}
        self.plain |= {f"missing.{ref}.si": datum.si for ref, datum in workings.missing.items()}
        self.working = {f"working.{ref}.si": row for ref, row in workings.rows.items()}
        self.row_of = {key: number for number, key in enumerate((*self.plain, *self.working), 1)}

    def formula(self, key: str) -> str:
        """A row's expression with addresses."""
        return "=" + _KEY.sub(lambda match: f"$B${self.row_of[match[1]]}", self.working[key].expression)

    def write(self, path: Path) -> None:
        with xlsxwriter.Workbook(str(path), {"strings_to_formulas": False, "strings_to_numbers": False}) as book:
            sheet = book.add_worksheet(SHEET)
            for key, value in self.plain.items():
                at = self.row_of[key] - 1
                sheet.write_string(at, 0, key)
                if value == "":  # in the Book an empty box reads as the formula's ""
                    sheet.write_formula(at, 1, '=""', value="")
                elif isinstance(value, str):
                    sheet.write_string(at, 1, value)
                else:
                    sheet.write_number(at, 1, value)
            for key, row in self.working.items():
                at = self.row_of[key] - 1
                sheet.write_string(at, 0, key)
                sheet.write_formula(at, 1, self.formula(key), value=row.si)

    def by_key(self, values: Values) -> dict[str, object]:
        """Each working row as an engine worked it out, by its key."""
        return {key: values[SHEET, f"B{self.row_of[key]}"] for key in self.working}

    def disagreements(self, found: Mapping[str, object]) -> dict[str, tuple[Si, object]]:
        """Rows whose value differs between Python and the sheet: numbers by more than 1e-9, words at all.

        Near zero, pressures are compared to 1e-3 Pa and other numbers to 1e-15 of their SI unit.
        """
        return {
            key: (row.si, found[key])
            for key, row in self.working.items()
            if not _same(row.si, found[key], 1e-3 if row.unit in PRESSURES else 1e-15)
        }


def disagreements(workings: Workings, path: Path) -> dict[str, tuple[Si, object]]:
    """The rows in which ironcalc and Python differ."""
    sheet = WorkingsSheet(workings)
    sheet.write(path)
    return sheet.disagreements(sheet.by_key(recalculate_with_ironcalc(path)))


PRESSURES = ("psi", "kPa", "bar", "MPa", "Pa")


def _same(python: Si, sheet: object, absolute: float) -> bool:
    if isinstance(python, str) or isinstance(sheet, str):
        return python == sheet
    return isinstance(sheet, int | float) and math.isclose(python, sheet, rel_tol=1e-9, abs_tol=absolute)
