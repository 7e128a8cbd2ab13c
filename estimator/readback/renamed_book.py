"""What an earlier version drafted, under the names that its cells have now."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from estimator.boxes.keys import apart
from estimator.migrations import Step, key_now
from estimator.workbook.book import Block, Book, Row

_NAME = re.compile(r"\{([^{}]+)\}")


@dataclass(frozen=True)
class _Names:
    """What a block, its rows and its columns are called now, by what they were called."""

    block: str
    refs: dict[str, str]
    columns: dict[str, str]


def renamed(book: Book, steps: Sequence[Step]) -> Book:
    """The Book with the present keys, in its formulas too. Places, texts and words stay as they were drafted.

    A block whose cells didn't stay together keeps its old names: only its entries are moved, box by box.
    """
    if not any(step.keys for step in steps):
        return book
    parts = [part for tab in book.tabs for part in (tab.head, *tab.blocks)]
    names = {part.name: _names(part, lambda key: key_now(key, steps)) for part in parts}

    def block(part: Block) -> Block:
        if part.kind == "form":
            return replace(part, rows=tuple(form_row(part, item) for item in part.rows))
        mine = names[part.name]
        columns = tuple(replace(column, name=mine.columns[column.name]) for column in part.columns)
        return replace(part, name=mine.block, columns=columns, rows=tuple(row(part, item) for item in part.rows))

    def form_row(part: Block, item: Row) -> Row:
        cells = [
            cell._replace(key=key_now(cell.key, steps), formula=_template(cell.formula, part.name, "", names, steps))
            for cell in item.cells
        ]
        return replace(item, cells=tuple(cells))

    def row(part: Block, item: Row) -> Row:
        mine = names[part.name]
        ref = mine.refs[item.ref]
        cells = [
            cell._replace(
                key=f"{mine.block}.{ref}.{column.name}",
                formula=_template(cell.formula, part.name, item.ref, names, steps),
            )
            for cell, column in zip(
                item.cells, (replace(c, name=mine.columns[c.name]) for c in part.columns), strict=True
            )
        ]
        return replace(item, ref=ref, cells=tuple(cells))

    tabs = tuple(replace(tab, head=block(tab.head), blocks=tuple(map(block, tab.blocks))) for tab in book.tabs)
    return replace(book, tabs=tabs)


def _names(part: Block, rename: Callable[[str], str]) -> _Names:
    refs, columns = [row.ref for row in part.rows], [column.name for column in part.columns]
    blocks: set[str] = set()
    refs_now: dict[str, set[str]] = {}
    columns_now: dict[str, set[str]] = {}
    for ref in refs or [""]:
        for column in columns:
            name, ref_now, column_now = apart(rename(f"{part.name}.{ref}.{column}"))
            blocks.add(name)
            refs_now.setdefault(ref, set()).add(ref_now)
            columns_now.setdefault(column, set()).add(column_now)
    alike = all(len(found) == 1 for found in (blocks, *refs_now.values(), *columns_now.values()))
    if not alike:
        return _Names(part.name, dict(zip(refs, refs, strict=True)), dict(zip(columns, columns, strict=True)))
    only = {name: min(found) for name, found in columns_now.items()}
    return _Names(min(blocks), {ref: min(refs_now[ref]) for ref in refs}, only)


def _template(formula: str | None, block: str, row: str, names: dict[str, _Names], steps: Sequence[Step]) -> str | None:
    """A formula template of a cell of a block and a row, with the names that cells have now."""
    if formula is None:
        return None

    def name(match: re.Match[str]) -> str:
        first, dots, last = match[1].partition("..")
        owner = block
        if "~" in first:
            first = "~".join(key_now(key, steps) for key in first.split("~"))
        elif "@" in first:
            owner, column = first.split("@")
            mine = names.get(owner)
            known = mine is not None and column in mine.columns
            first = f"{mine.block}@{mine.columns[column]}" if known else key_now(f"{owner}.{row}.{column}", steps)  # type: ignore[union-attr]
        elif ":" in first:
            owner, column = first.split(":")
            first = f"{names[owner].block}:{names[owner].columns[column]}"
        elif first.startswith("|"):
            first = f"|{names[owner].refs[first[1:]]}"
        elif "." in first:
            owner, ref, column = apart(first)
            mine = names.get(owner)
            known = mine is not None and ref in mine.refs and column in mine.columns
            first = f"{mine.block}.{mine.refs[ref]}.{mine.columns[column]}" if known else key_now(first, steps)  # type: ignore[union-attr]
        else:
            mark = "^" if first.startswith("^") else ""
            first = mark + names[owner].columns[first.removeprefix("^")]
        return "{" + first + dots + (names[owner].columns[last] if last else "") + "}"

    return _NAME.sub(name, formula)
