"""The road of a user's number to a computed figure: the formula of a working row, for published cases."""

from __future__ import annotations

import importlib
from collections.abc import Iterator, Mapping
from pathlib import Path

from estimator.limits.constants import CONSTANTS
from estimator.limits.expressions import parse
from estimator.limits.row_table import Row, filled

ROWS = "estimator.limits.rows"
FOLDER = Path(importlib.import_module(ROWS).__path__[0])
CONSTANT = {f"constant.{item.ref}": item.value for item in CONSTANTS}


class _Itself(dict[str, str]):
    """Each `$name` of a table stands for itself."""

    def __missing__(self, name: str) -> str:
        return name


def _tables(module: str) -> Iterator[Row]:
    for value in vars(importlib.import_module(f"{ROWS}.{module}")).values():
        if isinstance(value, tuple):
            yield from (item for item in value if isinstance(item, Row))


def every_row() -> Iterator[Row]:
    """Every row of every table of limits/rows/."""
    for path in sorted(FOLDER.glob("*.py")):
        yield from _tables(path.stem)


def row(row: str, **names: float) -> float | str | bool:
    """What the formula of a row gives for the SI values of its names; `$name` is written `name`.

    A name that isn't given is worked out by the row of that name in the same file.

    >>> row("line_rows:burst", tensile=300e6, worn=0.5e-3, outer=5e-3)
    60000000.0
    """
    module, _, name = row.partition(":")
    formulas = {filled(one.name, _Itself()): filled(one.expression, _Itself()) for one in _tables(module)}

    def value(wanted: str) -> float | str | bool:
        known: Mapping[str, float] = CONSTANT | names
        if wanted in known:
            return known[wanted]
        expression = parse(formulas[wanted])
        return expression.value({one: value(one) for one in expression.names})

    expression = parse(formulas[name])
    return expression.value({one: value(one) for one in expression.names})
