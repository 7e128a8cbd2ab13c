"""A workbook that was read back, made again: with entries typed in, or with other rates and tables."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from estimator.appraisal import Appraisal
from estimator.appraise import appraise
from estimator.boxes import keys
from estimator.boxes.entries import Entries
from estimator.errors import Finding, Refused
from estimator.intake.entries_csv import EntryFile
from estimator.pricing.first_entries import first_entries
from estimator.quantities import UNITS, from_si, to_si
from estimator.readback.added_texts import with_added_texts
from estimator.readback.apply_entries import apply_entries
from estimator.readback.box_entries import ReadBox
from estimator.readback.check import Checked
from estimator.readback.equal_values import words
from estimator.records import EntryValue, JobRecord
from estimator.workbook.book import Box, Cell
from estimator.workbook.compose import compose

# What drafting again puts right: whatever was done to formulas, texts and rates stays behind, and is named.
_PUT_RIGHT = frozenset(
    (
        "formula-replaced",
        "formula-changed",
        "input-changed",
        "text-changed",
        "value-stale",
        "values-absent",
        "other-version",
        "text-added",
    )
)


@dataclass(frozen=True)
class LeftBehind:
    """An entry that the new workbook has no room for, or a change that it undoes."""

    place: str
    what: str
    why: str


@dataclass(frozen=True)
class Redrafted:
    appraisal: Appraisal
    before: Appraisal
    left_behind: tuple[LeftBehind, ...]


def filled(checked: Checked, file: EntryFile) -> Appraisal:
    """The appraisal of a sound workbook once the rows of a file are typed into its boxes.

    Raises Refused for an unsound workbook, InputError for lines that are wrong or that its boxes don't take.
    """
    if checked.state != "sound" or checked.carried is None or checked.entries is None:
        raise _unsound(checked, "filled in", checked.integrity)
    entries = apply_entries(file, checked.entries.boxes, checked.entries.values)
    return appraise(with_added_texts(checked.carried.record, checked), Entries.from_boxes(entries))


def record_of(checked: Checked) -> JobRecord:
    """The record of a workbook that can be drafted again. Raises Refused where its entries can't be read for certain."""
    broken = [item for item in checked.integrity if item.severity != "note" and item.rule not in _PUT_RIGHT]
    if broken or checked.carried is None:
        raise _unsound(checked, "drafted again", broken or checked.integrity)
    return checked.carried.record


def redrafted(checked: Checked, present: JobRecord) -> Redrafted:
    """The appraisal of `present` with the entries of a workbook carried over, and what could not be carried.

    A default that nobody touched gives way to the present default; what a person typed is kept, in the present unit.
    Raises Refused as `record_of`.
    """
    old = record_of(checked)
    assert checked.entries is not None and checked.appraisal is not None
    present = with_added_texts(present, checked)
    book = compose(appraise(present, Entries()))
    was, now = (first_entries(record).as_boxes() for record in (old, present))
    entries, left = _carried(checked.entries.boxes, was, now, list(book.boxes()))
    undone = [
        LeftBehind(item.place, f"{item.what}: {item.found}".rstrip(": "), "a change outside the boxes")
        for item in checked.integrity
        if item.severity != "note" and item.rule not in ("value-stale", "values-absent", "other-version", "text-added")
    ]
    return Redrafted(appraise(present, Entries.from_boxes(entries)), checked.appraisal, (*undone, *left))


def _unsound(checked: Checked, done: str, findings: Iterable[Finding]) -> Refused:
    what = f"{checked.path} · the workbook isn't sound, so it isn't {done} · mend what `estimator check` names, save, try again"
    return Refused(what, findings)


def _carried(
    boxes: Iterable[ReadBox],
    old_defaults: Mapping[str, EntryValue],
    defaults: Mapping[str, EntryValue],
    cells: Iterable[Cell],
) -> tuple[dict[str, EntryValue], list[LeftBehind]]:
    places = {cell.key: cell for cell in cells}
    boxes = tuple(boxes)
    touched = {keys.kept_together(box.key) for box in boxes if box.value != old_defaults.get(box.key)}
    entries = dict(defaults)
    left: list[LeftBehind] = []
    for box in boxes:
        if keys.kept_together(box.key) not in touched:
            continue
        place = f"{box.tab}!{box.cell}"
        if box.key not in places:
            if box.value is not None:
                left.append(LeftBehind(place, words(box.value), f"there is no box {box.key} any more"))
            continue
        entries.pop(box.key, None)
        if box.value is None:
            continue
        value = _in_present_unit(box, places[box.key])
        cell_box = places[box.key].box
        assert cell_box is not None
        if _allowed(value, cell_box):
            entries[box.key] = value
        else:
            left.append(LeftBehind(place, words(box.value), f"the box takes {cell_box.rule} now"))
    return entries, left


def _in_present_unit(box: ReadBox, cell: Cell) -> EntryValue:
    value = box.value
    assert value is not None
    if isinstance(value, float) and box.unit != cell.unit and box.unit in UNITS and cell.unit in UNITS:
        return float(f"{from_si(to_si(value, box.unit), cell.unit):.12g}")
    return value


def _allowed(value: EntryValue, box: Box) -> bool:
    if box.kind == "list":
        return value in box.allowed
    if box.kind == "number" and box.low is not None and box.high is not None:
        return isinstance(value, float) and box.low <= value <= box.high
    return True
