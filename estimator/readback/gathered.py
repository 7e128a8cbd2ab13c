"""Entries of workbooks and files that had boxes on each part and check, gathered where they are typed now.

Before version 0.4.0 each part of each job had six boxes, and each check one for initials. Now a part that is changed has a
line that names it, initials stand once on a page, each phase has a reason of its own, and a check's note takes the number
of its photo.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from estimator.boxes import keys
from estimator.facts.stages import stages
from estimator.intake.entries_csv import EntryFile
from estimator.pricing.plan import plan
from estimator.pricing.room import LISTS
from estimator.readback.box_entries import ReadBox, ReadEntries
from estimator.records import EntryValue, JobRecord
from estimator.workbook.book import Box


def gathered(entries: ReadEntries, record: JobRecord) -> ReadEntries:
    """Return the entries of an earlier version with those of parts in lines that name them, with initials by page and photos in
    the notes of their checks.

    A quantity that is the listed one isn't an entry; one that was taken out is none of the part.
    """
    listed = listed_quantities(record)
    of_part: dict[str, list[ReadBox]] = {}
    initials: dict[int, list[ReadBox]] = {}
    boxes: list[ReadBox] = []
    for box in entries.boxes:
        block, ref, column = keys.apart(box.key)
        if block == "part":
            mine = replace(box, value=0.0) if column == "quantity" and box.value is None else box
            if mine.value is not None and not (column == "quantity" and mine.value == listed.get(ref)):
                of_part.setdefault(ref, []).append(mine)
        elif block == "reading" and column == "initials":
            if box.value is not None:
                initials.setdefault(_page_of(ref), []).append(box)
        else:
            boxes.append(box)
            if block == "reading" and column == "why":  # one reason held for both phases
                boxes.append(replace(box, key=keys.key(block, ref, "why_after")))
    for number, (ref, typed) in enumerate(of_part.items(), 1):
        boxes.append(
            replace(typed[0], key=keys.key("change", str(number), "part"), box=Box("text"), unit="", value=ref)
        )
        boxes += [replace(box, key=keys.key("change", str(number), keys.apart(box.key)[2]), unit="") for box in typed]
    for page, found in initials.items():
        words = "; ".join(dict.fromkeys(str(box.value) for box in found))
        boxes.append(replace(found[0], key=_initials_of(page), value=words))
    boxes = _with_photos(boxes)
    values = {box.key: box.value for box in boxes if box.value is not None}
    return replace(entries, boxes=tuple(boxes), values=values)


def _with_photos(boxes: list[ReadBox]) -> list[ReadBox]:
    """The boxes with the numbers of photos in notes."""
    taken = {key: box.value for box in boxes if (key := joined_key(box.key)).endswith(".note")}
    kept = {box.key: box for box in boxes if not joined_key(box.key).endswith(".note")}
    for key, photo in taken.items():
        if photo is not None and key in kept:
            said = kept[key].value
            kept[key] = replace(kept[key], value=f"photo {photo}" if said is None else f"{said}; photo {photo}")
    return list(kept.values())


def _initials_of(page: int) -> str:
    """The key of a page's initials; one that is made after work alone has no others."""
    phase = "after" if stages()[page - 1].after_work else "before"
    return keys.key("page", str(page), f"initials_{phase}")


def joined_key(key: str) -> str:
    """Return the key of the box that takes what was typed into a check's initials or photo; "" for another key."""
    block, ref, column = keys.apart(key) if key.count(".") > 1 else ("", "", "")
    if (block, column) == ("reading", "photo"):
        return keys.key(block, ref, "note")
    return _initials_of(_page_of(ref)) if (block, column) == ("reading", "initials") else ""


def _page_of(ref: str) -> int:
    check = ref.partition(".")[0]
    return next(
        (number for number, stage in enumerate(stages(), 1) if any(check in band.checks for band in stage.band)), 1
    )


def lines_of(file: EntryFile, taken: Mapping[str, EntryValue], listed: Mapping[str, float]) -> dict[str, int]:
    """Return how many lines of each block a file of entries needs; taken: what stands in the boxes already."""
    needed: dict[str, int] = {}
    parts = {str(value) for key, value in taken.items() if keys.apart(key)[::2] == ("change", "part")}
    used = len(parts)
    for row in file.rows:
        key = keys.long_form(row.key)
        if key.count(".") < 2:
            continue
        block, ref, _ = keys.apart(key)
        if block in LISTS and ref.isdecimal():
            needed[block] = max(needed.get(block, 0), int(ref))
        elif block == "part" and ref not in parts and not says_nothing(key, row.value, listed):
            parts.add(ref)
            used += 1
    return needed | {"change": max(needed.get("change", 0), used)}


def says_nothing(key: str, value: EntryValue | None, listed: Mapping[str, float]) -> bool:
    """Whether what is entered of a part is nothing, or its listed quantity."""
    _, ref, column = keys.apart(key)
    return value is None or (column == "quantity" and isinstance(value, float) and value == listed.get(ref))


def listed_quantities(record: JobRecord) -> dict[str, float]:
    """Return the listed quantity of each part, by its reference."""
    return {part.ref: float(part.quantity) for part in plan(record).parts}


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
