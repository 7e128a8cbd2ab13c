"""Columns side by side of which one rests on the other by a long way: LibreOffice works those out wrongly.

LibreOffice (7.4.7) works out a column of like formulas at once, together with its neighbors over the same rows, where
each has enough to do: rows times cells read in ranges, in tens, 100 or more. Where one of two such neighbors rests on
the other by four formulas or more, and a cell further ahead reads the way in its middle, the second of two hard
recalculations (Ctrl+Shift+F9) gives Err:522 there, and in all that rests on it: in 3,117 cells of a car of version
0.2.0, though no circle is there. Found by trying; chains of additions are enough (tests/long/test_long_workbooks.py).
"""

from __future__ import annotations

import itertools
import re
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from graphlib import CycleError, TopologicalSorter
from typing import NamedTuple

from openpyxl.utils import column_index_from_string

ENOUGH_TO_DO, LONG_WAY = 100, 4
_NO_REFERENCE = re.compile(r'"[^"]*"|[A-Z][A-Z0-9.]*\(')
_REFERENCE = re.compile(r"(?:('[^']+'|\w+)!)?\$?([A-Z]{1,3})\$?([0-9]+)(?::\$?([A-Z]{1,3})\$?([0-9]+))?")


def long_way(columns: str = "HJLBDG", rows: int = 100, top: int = 11) -> Iterator[tuple[str, str]]:
    """Address and formula of columns that each add 1 to the one before; the last of these lies beside the first."""
    for before, column in itertools.pairwise("A" + columns):
        yield from ((f"{column}{row}", f"{before}{row}+1") for row in range(top, top + rows))


class Area(NamedTuple):
    tab: str
    left: int
    right: int
    top: int
    bottom: int


class Run(NamedTuple):
    """Like formulas one below the other: the first and the last of them."""

    tab: str
    column: int
    top: int
    bottom: int
    formulas: tuple[str, str]

    def reads(self) -> list[Area]:
        first, last = (_areas(formula, self.tab) for formula in self.formulas)
        return [area._replace(bottom=end.bottom) for area, end in zip(first, last, strict=True)]

    def has_enough_to_do(self) -> bool:
        ranges = _areas(self.formulas[0], self.tab)
        cells = sum((area.right - area.left + 1) * (area.bottom - area.top + 1) // 10 for area in ranges)
        return (self.bottom - self.top + 1) * max(1, cells) >= ENOUGH_TO_DO


def _areas(formula: str, tab: str) -> list[Area]:
    found = []
    for other, left, top, right, bottom in _REFERENCE.findall(_NO_REFERENCE.sub("(", formula)):
        columns = column_index_from_string(left), column_index_from_string(right or left)
        found.append(Area(other.strip("'") or tab, *columns, int(top), int(bottom or top)))
    return found


def runs(formulas: Iterable[tuple[str, str, str]], shapes: Mapping[tuple[str, str], str]) -> list[Run]:
    """The runs of formulas of a workbook. formulas: tab, address, formula; shapes: with references as distances."""
    columns: dict[tuple[str, int], list[tuple[int, str, str]]] = defaultdict(list)
    for tab, address, formula in formulas:
        letters = address.rstrip("0123456789")
        at = tab, column_index_from_string(letters)
        columns[at].append((int(address[len(letters) :]), shapes[tab, address], formula))
    found: list[Run] = []
    for (tab, column), cells in columns.items():
        before = (0, "")
        for row, shape, formula in sorted(cells):
            if before == (row - 1, shape):
                found[-1] = found[-1]._replace(bottom=row, formulas=(found[-1].formulas[0], formula))
            else:
                found.append(Run(tab, column, row, row, (formula, formula)))
            before = (row, shape)
    return found


def far_neighbors(of: Sequence[Run]) -> Iterator[str]:
    """Each run that rests on its neighbor by a long way, and a circle of runs."""
    rests_on = _rests_on(of)
    try:
        order = list(TopologicalSorter(rests_on).static_order())
    except CycleError as circle:
        yield f"runs rest on each other: {circle.args[1]}"
        return
    busy = {(run.tab, run.column, run.top, run.bottom): run for run in of if run.has_enough_to_do()}
    for (tab, column, top, bottom), run in busy.items():
        for side in (column - 1, column + 1):
            goal = busy.get((tab, side, top, bottom))
            if goal is not None and (way := _longest(run, goal, order, rests_on)) >= LONG_WAY:
                yield f"{tab}!{top}, columns {column} and {side}: one rests on the other by {way} formulas"


def _rests_on(of: Sequence[Run]) -> dict[Run, set[Run]]:
    columns: dict[tuple[str, int], list[Run]] = defaultdict(list)
    for run in of:  # from top to bottom in each column
        columns[run.tab, run.column].append(run)

    def within(area: Area) -> Iterator[Run]:
        for column in range(area.left, area.right + 1):
            there = columns.get((area.tab, column), [])
            first = bisect_left(there, area.top, key=lambda run: run.bottom)
            yield from itertools.takewhile(lambda run: run.top <= area.bottom, there[first:])

    return {run: {other for area in run.reads() for other in within(area) if other is not run} for run in of}


def _longest(start: Run, goal: Run, order: Sequence[Run], rests_on: Mapping[Run, set[Run]]) -> int:
    """The number of formulas on the longest way from one run to another that it rests on, 0 without a way."""
    steps = {goal: 0}
    for run in order[order.index(goal) + 1 :]:
        ways = [steps[other] for other in rests_on[run] if other in steps]
        if ways:
            steps[run] = max(ways) + 1
        if run is start:
            break
    return steps.get(start, 0)
