"""What a workbook drafted, with the values that the present version works out where both mean the same."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from estimator.readback.root_causes import Walk, dependents_of
from estimator.workbook.book import Block, Book, Cell
from estimator.workbook.manifest import Manifest, constant, manifest


class _Unknown:
    def __repr__(self) -> str:
        return "not worked out"


UNKNOWN: Final = _Unknown()


@dataclass(frozen=True)
class Agreement:
    """`book`: what to compare a workbook with; formulas whose value isn't known have UNKNOWN. `same`: both versions draft
    the same. `other_boxes`: keys of boxes that take another kind of entry now, or aren't there."""

    book: Book
    same: bool
    other_boxes: frozenset[str] = frozenset()


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
    boxes = frozenset(key for key in changed if key in drafted.by_key and drafted.by_key[key].box is not None)
    return Agreement(replace(drafted, tabs=tabs), False, boxes)


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
        return ("formula", cell.formula)
    return ("constant", constant(cell.value))
