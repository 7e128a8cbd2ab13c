"""The manifest of a Book: what was drafted, as plain data, from which the places of all cells can be worked out again.

It holds every text, constant and formula, and what each box takes; neither the entries nor the values of formulas. So
a workbook drafted by another version of the program is read and compared by what that version drafted.

    {"boxes": [[kind, unit, low, high, allowed word, …], …],
     "tabs": [{"name", "title", "cautions": […], "head": block, "blocks": [block, …]}, …]}
    block: {"name", "title", "note", "kind", "columns": [[name, heading], …],
            "rows": [reference, or [reference, [[text, look] above, …], [[text, look] below, …]], …],
            "cells": a list for each column: one entry for all rows, or one for each}
    form: {"name", "kind", "columns": how many, "rows": [reference, …], "cells": for each row [[column, key, entry], …]}
    key: "" for that of a form's cell of no meaning; with _OWN for the reference of the last other key in its row
    entry: a constant, ["f", formula template], ["b", number of a box] or ["d", date]

In a template, _OWN stands for the reference of the cell itself, _PLACE for that without its last part.
"""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any

from estimator.boxes import keys
from estimator.workbook.book import Block, Book, Box, Cell, Column, Line, Lines, Row, Tab, cell_of, form_columns

Manifest = dict[str, Any]
_OWN, _PLACE = "\x7f", "\x80"
_FAULTS = (KeyError, TypeError, ValueError, IndexError, AttributeError, RecursionError)


def manifest(book: Book) -> Manifest:
    """What a Book drafts. Two Books with one manifest differ in entries and in values of formulas at most."""
    numbers: dict[tuple[Any, ...], int] = {}
    tabs = [
        {
            "name": tab.name,
            "title": tab.title,
            "cautions": list(tab.cautions),
            "head": _block(tab.head, numbers),
            "blocks": [_block(part, numbers) for part in tab.blocks],
        }
        for tab in book.tabs
    ]
    return {"boxes": [list(item) for item in numbers], "tabs": tabs}


def _block(part: Block, numbers: dict[tuple[Any, ...], int]) -> dict[str, Any]:
    if part.kind == "form":
        return {
            "name": part.name,
            "kind": part.kind,
            "columns": len(part.columns),
            "rows": [row.ref for row in part.rows],
            "cells": [_placed(part.name, row, numbers) for row in part.rows],
        }
    refs = [row.ref for row in part.rows]
    return {
        "name": part.name,
        "title": part.title,
        "note": part.note,
        "kind": part.kind,
        "columns": [[column.name, column.heading] for column in part.columns],
        "rows": [_row(row) for row in part.rows],
        "cells": [_column(refs, cells, numbers) for cells in zip(*(row.cells for row in part.rows), strict=True)],
    }


def _row(row: Row) -> str | list[Any]:
    return [row.ref, *([list(line) for line in side] for side in row.lines)] if any(row.lines) else row.ref


def _placed(name: str, row: Row, numbers: dict[tuple[Any, ...], int]) -> list[Any]:
    found, last = [], ""
    for at, cell in zip(row.at, row.cells, strict=True):
        key, ref = cell.key, keys.apart(cell.key)[1]
        if key == _plain_key(name, row.ref, at):
            key = ""
        elif ref == last:
            key = _short(key, ref)
        else:
            last = ref
        found.append([at, key, _entry(cell, ref, numbers)])
    return found


def _plain_key(name: str, ref: str, at: int) -> str:
    return f"{name}.{ref}.c{at}"


def _entry(cell: Cell, ref: str, numbers: dict[tuple[Any, ...], int]) -> Any:
    if cell.box is not None:
        return ["b", _number(cell, numbers)]
    return constant(cell.value) if cell.formula is None else ["f", _short(cell.formula, ref)]


def _short(text: str, ref: str) -> str:
    text = text.replace(f".{ref}.", _OWN)
    return text.replace(f".{place}.", _PLACE) if (place := ref.rpartition(".")[0]) else text


def _whole(text: str, ref: str) -> str:
    return text.replace(_OWN, f".{ref}.").replace(_PLACE, f".{ref.rpartition('.')[0]}.")


def _column(refs: Sequence[str], cells: Sequence[Cell], numbers: dict[tuple[Any, ...], int]) -> list[Any]:
    entries = [_entry(cell, ref, numbers) for ref, cell in zip(refs, cells, strict=True)]
    return entries[:1] if entries.count(entries[0]) == len(entries) else entries


def _number(cell: Cell, numbers: dict[tuple[Any, ...], int]) -> int:
    box = cell.box
    assert box is not None
    return numbers.setdefault((box.kind, cell.unit, box.low, box.high, *box.allowed), len(numbers))


def constant(value: Any) -> Any:
    """A constant as JSON holds it; an empty text is nothing."""
    if isinstance(value, Decimal):
        return float(value)
    if isinstance(value, dt.date):
        return ["d", value.isoformat()]
    return None if value == "" else value


def drafted_book(data: Manifest, document: str, revision: int) -> Book:
    """The Book of a manifest: places, texts, constants, formulas, boxes; formulas and boxes without a value.

    Raises ValueError where the data is no manifest.
    """
    try:
        boxes = [(Box(kind, tuple(allowed), low, high), unit) for kind, unit, low, high, *allowed in data["boxes"]]
        tabs = tuple(
            Tab(
                tab["name"],
                tab["title"],
                _drafted_block(tab["head"], boxes),
                tuple(tab["cautions"]),
                tuple(_drafted_block(part, boxes) for part in tab["blocks"]),
                widths=(),
            )
            for tab in data["tabs"]
        )
        return Book(document, revision, tabs)
    except _FAULTS as fault:
        raise ValueError(f"it isn't a whole one ({type(fault).__name__})") from None


def _drafted_block(data: dict[str, Any], boxes: list[tuple[Box, str]]) -> Block:
    if data["kind"] == "form":
        return _drafted_form(data, boxes)
    name, columns = data["name"], tuple(Column(*item) for item in data["columns"])
    rows = [(row, Lines()) if isinstance(row, str) else (row[0], _lines(row)) for row in data["rows"]]
    refs = [ref for ref, _ in rows]
    cells = [
        _drafted_column(refs, keys.column(name, refs, column.name), entries, boxes)
        for column, entries in zip(columns, data["cells"], strict=bool(rows))
    ]
    by_row = zip(*cells, strict=True)
    whole = tuple(Row(ref, mine, lines) for (ref, lines), mine in zip(rows, by_row, strict=True))
    return Block(name, data["title"], columns, whole, data["note"], data["kind"])


def _drafted_form(data: dict[str, Any], boxes: list[tuple[Box, str]]) -> Block:
    rows = [
        _drafted_row(data["name"], ref, cells, boxes) for ref, cells in zip(data["rows"], data["cells"], strict=True)
    ]
    return Block(data["name"], "", form_columns(data["columns"]), tuple(rows), kind="form")


def _drafted_row(name: str, ref: str, cells: list[Any], boxes: list[tuple[Box, str]]) -> Row:
    made, last = [], ""
    for at, short, entry in cells:
        key = _whole(str(short), last) or _plain_key(name, ref, at)
        own = keys.apart(key)[1]
        last = own if short else last
        made.append(cell_of((key, *_drafted(entry, own, boxes))))
    return Row(ref, tuple(made), at=tuple(int(at) for at, _, _ in cells))


def _lines(row: list[Any]) -> Lines:
    _, above, below = row
    return Lines(tuple(Line(*line) for line in above), tuple(Line(*line) for line in below))


def _drafted_column(
    refs: Sequence[str], keys: list[str], entries: list[Any], boxes: list[tuple[Box, str]]
) -> Iterable[Cell]:
    entries = entries * len(keys) if len(entries) == 1 else entries
    if any(isinstance(entry, list) for entry in entries):
        return (cell_of((key, *_drafted(item, ref, boxes))) for ref, key, item in zip(refs, keys, entries, strict=True))
    same = itertools.repeat
    if len(entries) != len(keys):
        raise ValueError
    return map(cell_of, zip(keys, entries, same(None), same(""), same(""), same(None), strict=False))


def _drafted(entry: Any, ref: str, boxes: list[tuple[Box, str]]) -> tuple[Any, str | None, str, str, Box | None]:
    """A cell of this entry and reference, but for its key: value, formula, look, unit, box."""
    if not isinstance(entry, list):
        return entry, None, "", "", None
    kind, content = entry
    if kind == "f":
        return None, _whole(str(content), ref), "", "", None
    if kind == "b":
        box, unit = boxes[content]
        return None, None, "", unit, box
    return dt.date.fromisoformat(content), None, "", "", None
