"""Where the rows and columns of a form lie now: found by all words that are printed in a row."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

from estimator.readback.align import aligned
from estimator.readback.cells import SheetCells
from estimator.readback.find_tabs import texts_of
from estimator.workbook.book import Row, Tab
from estimator.workbook.layout import Layout

_SEPARATOR = "\x1f"


class PrintedForms:
    """The words of the forms of a tab as they were drafted, by row and column, held against those of a sheet."""

    def __init__(self, layout: Layout, tab: Tab, sheet: SheetCells) -> None:
        self.layout, self.tab, self.sheet = layout, tab, sheet
        self.drafted: dict[int, dict[int, str]] = {}
        for part in (tab.head, *tab.blocks):
            rows = layout.placed[part.name].drafted_rows
            self.drafted |= {rows[row.ref]: words_of(row) for row in part.rows}
        self.by_word: dict[str, set[tuple[str, ...]]] = {}
        for words in self.drafted.values():
            for text in words.values():
                self.by_word.setdefault(text, set()).add(_ordered(words))
        self.found: dict[int, dict[int, str]] = {}
        for (row, column), text in sorted(texts_of(sheet).items()):
            if text in self.by_word:
                self.found.setdefault(row, {})[column] = text

    @property
    def in_place(self) -> bool:
        """Whether all words stand where they were drafted, and no row of them anywhere else."""
        cells = self.sheet.cells
        for row, words in self.drafted.items():
            for column, text in words.items():
                if (cell := cells.get((row, column))) is None or cell.value != text:
                    return False
        return not any(row not in self.drafted and self.label(row) for row in self.found)

    def rows(self) -> tuple[dict[int, int], list[int]]:
        """Each row as drafted with where it is found, 0 for one that is gone; and the rows that stand once too often."""
        drafted = [(row, _joined(words)) for row, words in sorted(self.drafted.items())]
        found = [(row, label) for row in sorted(self.found) if (label := self.label(row))]
        return aligned(drafted, found, {row for row, _ in self.sheet.cells}.__contains__)

    def label(self, row: int) -> str:
        """The words of the drafted row, all of which stand in a row of the sheet, as one text; "" for none.

        What people type in boxes may be printed elsewhere: of several drafted rows the one of most words is meant.
        """
        there = set(self.found[row].values())
        drafted = {words for text in there for words in self.by_word[text] if there.issuperset(words)}
        return _SEPARATOR.join(sorted(sorted(drafted), key=len)[-1]) if drafted else ""

    def columns(self, rows: Mapping[int, int]) -> dict[int, int]:
        """Each column as drafted with where it is found, 0 for one that is gone. rows: as they were found."""
        votes: dict[int, Counter[int]] = {}
        for row, words in self.drafted.items():
            there = _places(self.found.get(rows[row], {}))
            for text, drafted in _places(words).items():
                if len(there.get(text, ())) == len(drafted):
                    for old, new in zip(drafted, there[text], strict=True):
                        votes.setdefault(old, Counter())[new] += 1
        known = {column: count.most_common(1)[0][0] for column, count in votes.items()}
        printed = {column for words in self.drafted.values() for column in words}
        last = max((at for part in (self.tab.head, *self.tab.blocks) for row in part.rows for at in row.at), default=1)
        for column in range(1, last + 1):
            if column not in known:
                known[column] = 0 if column in printed else _between(column, known, votes.keys())
        return known


def _places(words: Mapping[int, str]) -> dict[str, list[int]]:
    """The columns of each text of a row, in their order."""
    found: dict[str, list[int]] = {}
    for column, text in sorted(words.items()):
        found.setdefault(text, []).append(column)
    return found


def _between(column: int, known: Mapping[int, int], told: Iterable[int]) -> int:
    """Where a column without words lies, by its neighbors that have some; 0 where nothing is left between them."""
    before = max((at for at in told if at < column), default=0)
    after = min((at for at in told if at > column), default=0)
    where = known[before] + column - before if before else known[after] - (after - column) if after else column
    return where if not after or where < known[after] else 0


def words_of(row: Row) -> dict[int, str]:
    """The words that are printed in a row of a form, by column."""
    return {
        at: cell.value
        for at, cell in zip(row.at, row.cells, strict=True)
        if cell.formula is None and cell.box is None and isinstance(cell.value, str) and cell.value
    }


def label_of_form(row: Row) -> str:
    """What is printed in a row of a form, as one text."""
    return _joined(words_of(row))


def _joined(words: Mapping[int, str]) -> str:
    return _SEPARATOR.join(_ordered(words))


def _ordered(words: Mapping[int, str]) -> tuple[str, ...]:
    return tuple(text for _, text in sorted(words.items()))
