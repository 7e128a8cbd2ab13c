"""Faults planted one at a time in a workbook: which cell, what is done to it in the file, what must be said of it.

A fault of each kind that a block's cells allow, in a cell of it that a seed picks, over all blocks of all tabs.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from random import Random

from written_file import Edit, emptied, of_formula, to_formula, to_stored, to_value, without_formula

from estimator.workbook.book import Book, Cell
from estimator.workbook.layout import Layout
from estimator.workbook.placed_cells import PlacedBlock, column_letter

_TEXT_OR_NAME = r'"[^"]*"|[A-Z][A-Z0-9.]*\('
_CELL = re.compile(rf"(?P<other>{_TEXT_OR_NAME})|(?P<column>\$?[A-Z]{{1,3}}\$?)(?P<row>[0-9]+)")
_RANGE = re.compile(r"(\$?[A-Z]{1,3}\$?)([0-9]+):(\$?[A-Z]{1,3}\$?)([0-9]+)")
_OPERATORS = {"+": "-", "-": "+", "*": "/", "/": "*", ">": "<", "<": ">", "=": "<>"}
_OPERATOR = re.compile(rf"{_TEXT_OR_NAME}|(?P<sign><=|>=|<>|[-+*/=<>])")


@dataclass(frozen=True)
class Fault:
    """One edit of one cell. `cell` is the address, `key` the Book's name for it."""

    kind: str
    tab: str
    cell: str
    key: str
    rule: str
    edit: Edit

    @property
    def name(self) -> str:
        return f"{self.kind}: {self.tab}!{self.cell} {self.key}"


def faults(book: Book, seed: int) -> list[Fault]:
    """A fault of each kind in each block, and in the texts of each tab."""
    layout = Layout(book)
    rng = Random(seed)
    found: list[Fault] = []
    for tab in book.tabs:
        if tab.name != "Record":
            for part in (tab.head, *tab.blocks):
                found += _of_block(layout, layout.placed[part.name], rng)
        found += _of_texts(layout, tab, rng)
    return found


def _of_texts(layout: Layout, tab: object, rng: Random) -> Iterator[Fault]:
    """A title, a caution, a heading, a section, a line about a row."""
    by_look: dict[str, list] = {}
    for text in layout.texts(tab):  # type: ignore[arg-type]
        if text.text:
            by_look.setdefault(text.look, []).append(text)
    for look, texts in by_look.items():
        text = rng.choice(texts)
        place = f"{column_letter(text.column)}{text.row}"
        other = text.text[:-1] + ("?" if text.text[-1] != "?" else "!")
        yield Fault(f"{look} changed", tab.name, place, text.key, "text-changed", to_value(other))  # type: ignore[attr-defined]


def _of_block(layout: Layout, place: PlacedBlock, rng: Random) -> Iterator[Fault]:
    tab = place.tab.name
    placed = [(f"{column_letter(column)}{row}", cell, text) for row, column, cell, text in layout.formulas(place)]
    formulas = [item for item in placed if item[2] is not None]
    fixed = [item for item in placed if item[2] is None and item[1].box is None and item[1].value not in (None, "")]
    labels = [item for item in fixed if re.fullmatch("A[0-9]+", item[0])]
    constants = [item for item in fixed if not re.fullmatch("A[0-9]+", item[0])]
    boxes = [item for item in placed if item[1].box is not None]

    def pick(kind: str, items: list, rule: str, edit: Callable[[Cell, str], Edit | None]) -> Iterator[Fault]:
        for address, cell, text in rng.sample(items, len(items)):
            found = edit(cell, text or "")
            if found is not None:
                yield Fault(kind, tab, address, cell.key, rule, found)
                return

    def formula_edit(change: Callable[[str], str]) -> Callable[[Cell, str], Edit | None]:
        return lambda cell, text: of_formula(change) if change(text[1:]) != text[1:] else None

    yield from pick("value for formula", formulas, "formula-replaced", lambda cell, text: _typed_over(cell))
    yield from pick("formula deleted", formulas, "formula-replaced", lambda cell, text: emptied)
    yield from pick("operator", formulas, "formula-changed", formula_edit(other_operator))
    yield from pick("reference shifted", formulas, "formula-changed", formula_edit(shifted))
    yield from pick("range shortened", formulas, "formula-changed", formula_edit(shortened))
    yield from pick("constant for reference", formulas, "formula-changed", formula_edit(with_constant))
    yield from pick("figure added", formulas, "formula-changed", formula_edit(lambda text: f"({text})+0.01"))
    yield from pick("stored value", formulas, "value-stale", lambda cell, text: to_stored(other_value(cell.value)))
    rule = "input-changed" if tab == "Basis" else ""
    numbers = [item for item in constants if not isinstance(item[1].value, str)]
    words = [item for item in constants if isinstance(item[1].value, str)]
    yield from pick(
        "number changed", numbers, "input-changed", lambda cell, text: to_value(float(cell.value) * 1.01 + 1)
    )
    yield from pick("word changed", words, rule or "text-changed", lambda cell, text: to_value(f"{cell.value}x"))
    yield from pick(
        "formula for number", numbers, "input-changed", lambda cell, text: to_formula(repr(float(cell.value)))
    )
    yield from pick("formula for word", words, rule or "text-changed", lambda cell, text: to_formula('"x"&"y"'))
    of_deleted = rule or ("input-changed" if numbers else "text-changed")
    yield from pick("constant deleted", numbers or words, of_deleted, lambda cell, text: emptied)
    yield from pick("label changed", labels, "label", lambda cell, text: to_value(f"{cell.value} or so"))
    typed = [item for item in boxes if item[1].box.kind == "number"]
    listed = [item for item in boxes if item[1].box.kind == "list"]
    yield from pick("text in a number box", typed, "entry-not-understood", lambda cell, text: to_value("about 12"))
    yield from pick(
        "number out of range", typed, "entry-out-of-range", lambda cell, text: to_value(cell.box.high * 2 + 1)
    )
    yield from pick("no choice of the box", listed, "entry-not-understood", lambda cell, text: to_value("perhaps"))
    yield from pick("formula in a box", boxes, "entry-not-understood", lambda cell, text: to_formula("1+1"))


def _typed_over(cell: Cell) -> Edit | None:
    """The stored value alone; a formula that yields nothing is typed over with a word."""
    return without_formula if cell.value not in (None, "") else to_value("x")


def other_operator(formula: str) -> str:
    """The first operator of a formula changed into another."""
    match = next((match for match in _OPERATOR.finditer(formula) if match["sign"] in _OPERATORS), None)
    return formula if match is None else formula[: match.start()] + _OPERATORS[match["sign"]] + formula[match.end() :]


def shifted(formula: str) -> str:
    """The first reference of a formula one row further down."""
    match = next((match for match in _CELL.finditer(formula) if match["row"]), None)
    if match is None:
        return formula
    return f"{formula[: match.start()]}{match['column']}{int(match['row']) + 1}{formula[match.end() :]}"


def shortened(formula: str) -> str:
    """The first range of a formula one row shorter."""
    match = next((match for match in _RANGE.finditer(formula) if match[2] != match[4]), None)
    if match is None:
        return formula
    return f"{formula[: match.start()]}{match[1]}{match[2]}:{match[3]}{int(match[4]) - 1}{formula[match.end() :]}"


def with_constant(formula: str) -> str:
    """The last reference of a formula replaced by a number."""
    pattern = rf"{_TEXT_OR_NAME}|(?P<one>(?:\w+!)?(?<![:\w$])\$?[A-Z]{{1,3}}\$?[0-9]+(?![:\w]))"
    found = [match for match in re.finditer(pattern, formula) if match["one"]]
    return formula if not found else f"{formula[: found[-1].start()]}1.5{formula[found[-1].end() :]}"


def other_value(value: object) -> float | str:
    """A stored value that is wrong by little, but not by noise."""
    if isinstance(value, str) or value is None:
        return f"{value or ''}x"
    number = float(value)  # type: ignore[arg-type]
    return number * (1 + 1e-6) if number else 0.01
