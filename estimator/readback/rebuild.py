"""A workbook that was read back, made again: with entries typed in, or with other rates and tables."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from fnmatch import fnmatchcase

from estimator.appraisal import Appraisal
from estimator.appraise import appraise, drafted
from estimator.boxes import keys
from estimator.boxes.entries import Entries
from estimator.errors import Finding, Refused
from estimator.intake.entries_csv import EntryFile
from estimator.pricing.decisions import DONE, SINCE
from estimator.pricing.first_entries import first_entries
from estimator.pricing.room import with_room
from estimator.readback.added_texts import with_added_texts
from estimator.readback.apply_entries import apply_entries
from estimator.readback.box_entries import ReadBox
from estimator.readback.check import Checked
from estimator.readback.earlier_readings import is_over, next_round, taken_out
from estimator.readback.equal_values import words
from estimator.readback.other_version import Lost, arriving
from estimator.records import EntryValue, JobRecord
from estimator.workbook.book import Cell
from estimator.workbook.compose import compose

# What drafting again puts right: whatever was done to formulas, texts and rates stays behind, and is named.
_UNDONE = frozenset(("formula-replaced", "formula-changed", "input-changed", "text-changed"))
_PUT_RIGHT = _UNDONE | {"value-stale", "values-absent", "other-version", "state-changed", "text-added"}


@dataclass(frozen=True)
class LeftBehind:
    """An entry that is given up, or a change outside the boxes that is undone."""

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
    assert checked.appraisal is not None
    names = {str(item.ref): item.label for item in checked.appraisal.standings}
    entries = Entries.from_boxes(apply_entries(file, checked.entries.boxes, checked.entries.values, names))
    record = with_added_texts(checked.carried.record, checked)
    log = (*record.earlier, *taken_out(checked.appraisal, entries))
    return drafted(record.model_copy(update={"earlier": log}), entries)


def done_after_readings(before: Appraisal, after: Appraisal) -> Iterator[str]:
    """What to ask where a job was marked done in a workbook that held readings after work of what it makes void."""
    was = {item.line.ref: item for item in before.decisions.decided}
    for item in after.decisions.decided:
        if item.work.done_now and not item.work.done_since and not was[item.line.ref].work.done:
            void = {row.ref for line, row in after.plan.voids if line.ref == item.line.ref}
            held = [standing for standing in before.standings if standing.ref in void and standing.made_after]
            if held:
                yield (
                    f'{item.line.title}: marked "{DONE}", but {len(held)} of the checks that it voids already have readings '
                    f'after work. Done since these readings? Then choose "{SINCE}", which voids them; otherwise leave it.'
                )


def record_of(checked: Checked) -> JobRecord:
    """The record of a workbook that can be drafted again. Raises Refused where its entries can't be read for certain."""
    broken = [item for item in checked.integrity if item.severity != "note" and item.rule not in _PUT_RIGHT]
    if broken or checked.carried is None:
        raise _unsound(checked, "redrafted", broken or checked.integrity)
    return checked.carried.record


def redrafted(checked: Checked, present: JobRecord, accepted: Iterable[str] = ()) -> Redrafted:
    """The appraisal of `present` with the entries of a workbook carried over.

    A default that nobody touched gives way to the present default; what a person typed is kept, in the present unit.
    accepted: keys of entries that may be lost; `*` in one stands for any letters.
    Raises Refused as `record_of`, and where an entry would be lost that `accepted` doesn't name.
    """
    old = record_of(checked)
    assert checked.entries is not None and checked.appraisal is not None
    present = with_added_texts(present, checked)
    boxes, log, done = checked.entries.boxes, old.earlier, old.done_earlier
    if is_over(checked.appraisal):
        begun, log, done = next_round(checked.appraisal)
        values = dict.fromkeys(checked.appraisal.entries.as_boxes()) | begun.as_boxes()
        boxes = tuple(replace(box, value=values.get(box.key, box.value)) for box in boxes)
    present = present.model_copy(update={"earlier": log, "done_earlier": done})
    typed = Entries.from_boxes({box.key: box.value for box in boxes if box.value is not None})
    present = with_room(present, typed)
    places = {cell.key: cell for cell in compose(appraise(present, Entries())).boxes()}
    was, now = (first_entries(record).as_boxes() for record in (old, present))
    entries, lost = _carried(boxes, was, now, places)
    patterns = tuple(accepted)
    kept = [item for item in lost if not any(fnmatchcase(item.box.key, pattern) for pattern in patterns)]
    if kept:
        raise _would_lose(checked, kept)
    undone = [
        LeftBehind(item.place, f"{item.what}: {item.found}".rstrip(": "), "a change outside the boxes")
        for item in checked.integrity
        if item.severity != "note" and item.rule in _UNDONE
    ]
    left = (LeftBehind(f"{item.box.tab}!{item.box.cell}", words(item.box.value), item.why) for item in lost)
    return Redrafted(drafted(present, Entries.from_boxes(entries)), checked.appraisal, (*undone, *left))


def _would_lose(checked: Checked, lost: Iterable[Lost]) -> Refused:
    """The refusal that names each entry that has no place in the next workbook."""
    findings = []
    for item in lost:
        box = item.box
        what = f'"{words(box.value)}" would be lost: {item.why}'
        fix = f"note it elsewhere, then accept the loss: --accept-loss {box.key}"
        found = words(box.value)
        findings.append(
            Finding(
                "entry-lost", "stop", what, fix, tab=box.tab, cell=box.cell, key=box.key, found=found, unit=box.unit
            )
        )
    number = f"{len(findings)} entries" if len(findings) > 1 else "an entry"
    what = f"{checked.path}: {number} would be lost; not redrafted. Accept each named loss, or keep the workbook."
    return Refused(what, findings)


def _unsound(checked: Checked, done: str, findings: Iterable[Finding]) -> Refused:
    what = f"{checked.path}: workbook not intact; not {done}. Correct what `estimator check` names, save and try again."
    return Refused(what, findings)


def _carried(
    boxes: Iterable[ReadBox],
    old_defaults: Mapping[str, EntryValue],
    defaults: Mapping[str, EntryValue],
    places: Mapping[str, Cell],
) -> tuple[dict[str, EntryValue], tuple[Lost, ...]]:
    boxes = tuple(boxes)
    touched = {keys.kept_together(box.key) for box in boxes if box.value != old_defaults.get(box.key)}
    typed = [box for box in boxes if keys.kept_together(box.key) in touched]
    emptied = {box.key for box in typed if box.key in places}
    entries, lost = arriving(typed, places)
    return {key: value for key, value in defaults.items() if key not in emptied} | entries, lost
