"""Entries of workbooks and files that had boxes on each part and check, gathered where they are typed now.

Before version 0.3.0 each part of each job had six boxes, and each check one for initials. Now a part that is changed has a
line that names it, and initials stand once on a page.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from estimator.boxes import keys
from estimator.facts.stages import stages
from estimator.pricing.plan import plan
from estimator.readback.box_entries import ReadBox, ReadEntries
from estimator.records import EntryValue, JobRecord
from estimator.workbook.book import Box


def gathered(entries: ReadEntries, record: JobRecord) -> ReadEntries:
    """Return the entries of an earlier version with those of parts in lines that name them, and with initials by page.

    A quantity that is the listed one isn't an entry; one that was taken out is none of the part.
    """
    listed = {part.ref: float(part.quantity) for part in plan(record).parts}
    of_part: dict[str, list[ReadBox]] = {}
    initials: dict[int, list[ReadBox]] = {}
    boxes: list[ReadBox] = []
    for box in entries.boxes:
        block, ref, column = keys.apart(box.key)
        if block == "part":
            mine = replace(box, value=0.0) if column == "quantity" and box.value is None else box
            if mine.value is not None and not (column == "quantity" and mine.value == listed.get(keys.PartRef(ref))):
                of_part.setdefault(ref, []).append(mine)
        elif block == "reading" and column == "initials":
            if box.value is not None:
                initials.setdefault(_page_of(ref), []).append(box)
        else:
            boxes.append(box)
    for number, (ref, typed) in enumerate(of_part.items(), 1):
        boxes.append(
            replace(typed[0], key=keys.key("change", str(number), "part"), box=Box("text"), unit="", value=ref)
        )
        boxes += [replace(box, key=keys.key("change", str(number), keys.apart(box.key)[2]), unit="") for box in typed]
    for page, found in initials.items():
        words = "; ".join(dict.fromkeys(str(box.value) for box in found))
        boxes.append(replace(found[0], key=_initials_of(page), value=words))
    values = {box.key: box.value for box in boxes if box.value is not None}
    return replace(entries, boxes=tuple(boxes), values=values)


def _initials_of(page: int) -> str:
    return keys.key("page", str(page), "initials_before")


def initials_key(key: str) -> str:
    """Return the key of a page's initials for that of a check's own; "" for another key."""
    block, ref, column = keys.apart(key) if key.count(".") > 1 else ("", "", "")
    return _initials_of(_page_of(ref)) if (block, column) == ("reading", "initials") else ""


def _page_of(ref: str) -> int:
    check = ref.partition(".")[0]
    return next(
        (number for number, stage in enumerate(stages(), 1) if any(check in band.checks for band in stage.band)), 1
    )


def change_key(key: str, entries: Mapping[str, EntryValue], lines: Iterable[str]) -> tuple[str, str, str]:
    """Return the key of a box of the line that names a part, of the next free line where none does, with the key of that
    line's name and the name.

    key: `part.<part>.<job>.<place>.<box>`, short for it. lines: the references of all lines. Raises LookupError where no
    line is free.
    """
    _, ref, column = keys.apart(key)
    names = {line: entries.get(keys.key("change", line, "part")) for line in lines}
    line = next((line for line, name in names.items() if name == ref), None)
    line = line or next((line for line, name in names.items() if name is None), None)
    if line is None:
        raise LookupError(key)
    return keys.key("change", line, column), keys.key("change", line, "part"), ref
