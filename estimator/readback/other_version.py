"""Workbooks of another version of the program: what can be compared, and what becomes of their entries."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from estimator.boxes.keys import apart
from estimator.migrations import Step, key_now, word_now
from estimator.quantities import UNITS, from_si, to_si, twelve_digits
from estimator.readback.box_entries import ReadBox, ReadEntries
from estimator.readback.root_causes import Walk, dependents_of
from estimator.records import EntryValue
from estimator.workbook.book import Block, Book, Box, Cell
from estimator.workbook.manifest import Manifest, constant, manifest

# A column of another block in the row of the same name: a manifest names the row.
_OF_ROW = re.compile(r"\{(\w+)@(\w+)\}")


class _Unknown:
    def __repr__(self) -> str:
        return "not worked out"


UNKNOWN: Final = _Unknown()


@dataclass(frozen=True)
class Agreement:
    """`book`: what to compare a workbook with; formulas whose value isn't known have UNKNOWN. `same`: both versions draft
    the same."""

    book: Book
    same: bool


def agreement(drafted: Book, data: Manifest, present: Book) -> Agreement:
    """Compare what was drafted with what the present version drafts from the same record.

    drafted: the Book of the manifest `data`. A value is known where the cell, and all that it is computed from, are the
    same in both.
    """
    if manifest(present) == data:
        return Agreement(present, True)
    changed = _changed(drafted, present)
    unknown = {
        *Walk(dependents_of(drafted)).reach(changed),
        *Walk(dependents_of(present)).reach(changed),
    }
    values = {key: cell.value for key, cell in present.by_key.items() if key not in unknown}

    def known(cell: Cell) -> Cell:
        if cell.box is not None:
            return cell
        if cell.formula is not None:
            return cell._replace(value=values.get(cell.key, UNKNOWN))  # type: ignore[arg-type]
        return cell

    def block(part: Block) -> Block:
        return replace(part, rows=tuple(replace(row, cells=tuple(map(known, row.cells))) for row in part.rows))

    tabs = tuple(replace(tab, head=block(tab.head), blocks=tuple(map(block, tab.blocks))) for tab in drafted.tabs)
    return Agreement(replace(drafted, tabs=tabs), False)


def _changed(drafted: Book, present: Book) -> set[str]:
    """The keys whose cells differ: formula, constant or kind of box; or are only in one of the two."""
    before, now = drafted.by_key, present.by_key
    return {key for key in before.keys() | now.keys() if _meaning(before.get(key)) != _meaning(now.get(key))}


def _meaning(cell: Cell | None) -> object:
    if cell is None:
        return None
    if cell.box is not None:
        box = cell.box
        return ("box", box.kind, cell.unit, box.low, box.high, *box.allowed)
    if cell.formula is not None:
        _, row, _ = apart(cell.key)
        return ("formula", _OF_ROW.sub(rf"{{\1.{row}.\2}}", cell.formula))
    return ("constant", constant(cell.value) or None)  # nothing counts as 0


def entries_now(entries: ReadEntries, steps: Sequence[Step]) -> ReadEntries:
    """Entries that were read as an earlier version drafted their boxes, under present keys and in present words."""
    if not any(step.keys or step.words for step in steps):
        return entries

    def now(item: ReadBox) -> ReadBox:
        allowed = tuple(word_now(item.key, word, steps) for word in item.box.allowed)
        value = word_now(item.key, item.value, steps) if item.box.kind == "list" else item.value
        unit = word_now("/unit", item.unit, steps)
        box = replace(item.box, allowed=allowed)
        return replace(item, key=key_now(item.key, steps), box=box, value=value, unit=unit)

    boxes = tuple(map(now, entries.boxes))
    values = {box.key: box.value for box in boxes if box.value is not None}
    return replace(
        entries, boxes=boxes, values=values, not_found=tuple(key_now(key, steps) for key in entries.not_found)
    )


@dataclass(frozen=True)
class Lost:
    """An entry that has no place in the present workbook, and why."""

    box: ReadBox
    why: str


def arriving(boxes: Iterable[ReadBox], places: Mapping[str, Cell]) -> tuple[dict[str, EntryValue], tuple[Lost, ...]]:
    """The entries of boxes that were read, in the boxes of the present workbook and their units; and those that can't be.

    boxes: with present keys. places: the cells of the present Book, by key. What wasn't understood arrives as it was read.
    """
    found: dict[str, EntryValue] = {}
    lost: list[Lost] = []
    for item in boxes:
        if item.value is None:
            continue
        cell = places.get(item.key)
        if cell is None or cell.box is None:
            lost.append(Lost(item, f"there is no entry box {item.key} any more"))
        elif not item.understood:
            found[item.key] = item.value
        elif (value := _in_present_unit(item, cell)) is None:
            lost.append(Lost(item, f"the box takes {cell.box.rule} {cell.unit} now".replace("  ", " ")))
        elif not _allowed(value, cell.box):
            lost.append(Lost(item, f"the box takes {cell.box.rule} now"))
        else:
            found[item.key] = value
    return found, tuple(lost)


def _in_present_unit(item: ReadBox, cell: Cell) -> EntryValue | None:
    """The entry in the unit of its present box; None where that is a unit of something else."""
    value = item.value
    if not isinstance(value, float) or item.unit == cell.unit:
        return value
    old, new = UNITS.get(item.unit), UNITS.get(cell.unit)
    if old is None or new is None or old.kind != new.kind:
        return None
    return twelve_digits(from_si(to_si(value, item.unit), cell.unit))


def _allowed(value: EntryValue, box: Box) -> bool:
    if box.kind == "list":
        return value in box.allowed
    if box.kind == "number":
        return (
            isinstance(value, float) and box.low is not None and box.high is not None and box.low <= value <= box.high
        )
    return box.kind == "text" or isinstance(value, dt.date)
