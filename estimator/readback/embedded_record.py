"""What a workbook carries of itself: the record without its entries, and the manifest of cells as drafted."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from pydantic import ValidationError

from estimator import __version__
from estimator.errors import Finding
from estimator.intake.load_job import published_numbers
from estimator.migrations import Step, record_now, steps_since
from estimator.readback.budget import one_line
from estimator.readback.cells import SheetCells, WorkbookCells
from estimator.records import JobRecord
from estimator.workbook.manifest import Manifest
from estimator.workbook.seal import NOT_SEALED, SealKey
from estimator.workbook.tabs.record import SCHEMA, Packed, digest_of, joined, unpacked

EARLIER = "take an earlier copy, or draft the workbook again from its job file and fill its entries in"


@dataclass(frozen=True)
class Carried:
    """The record of a workbook under present names, its manifest as drafted, who drafted it, and the rows that hold them.
    `seal` says in words what is known of the seal; `steps` lead from the version that drafted it to this one."""

    record: JobRecord
    manifest: Manifest
    packed: Packed
    seal: str
    steps: tuple[Step, ...] = ()

    @property
    def program(self) -> str:
        return self.packed.program

    @property
    def boxes_on_each_part(self) -> bool:
        """Whether it was drafted when each part had boxes of its own."""
        return self.packed.schema == "1"

    @property
    def same_program(self) -> bool:
        return self.program == __version__ and self.packed.schema == str(SCHEMA)


# What a seal that holds says: no more than it covers.
COVERED = "sealed: record, limits and rates as drafted"


class _Stop(Exception):
    """What keeps the record from being had: rule, what was found, what to do."""


def carried(workbook: WorkbookCells, key: SealKey | None = None) -> tuple[Carried | None, tuple[Finding, ...]]:
    """What a workbook carries, or why it can't be had, and what is wrong with it.

    A digest shows accidents; with the shop's key, a seal shows what was changed on purpose.
    """
    sheet, rows = _record_rows(workbook)
    try:
        if sheet is None:
            raise _Stop(
                "record-missing",
                "no tab holds the record that the program reads back",
                "this isn't a workbook of this program, or its Record tab was deleted: take an earlier copy",
            )
        found, altered = _carried(rows, key)
    except _Stop as stop:
        rule, what, fix = stop.args
        return None, (Finding(rule, "stop", what, fix, tab="" if sheet is None else sheet.name),)
    return found, tuple(Finding("record-altered", "stop", what, EARLIER, tab=sheet.name) for what in altered)


def _carried(rows: Mapping[str, str], key: SealKey | None) -> tuple[Carried, list[str]]:
    schema, program = rows.get("schema", ""), rows.get("program", "")
    if not (schema.isascii() and schema.isdecimal() and len(schema) < 10 and int(schema) > 0):
        raise _Stop("record-altered", f'the record has the schema "{one_line(schema)}", which is none', EARLIER)
    if int(schema) > SCHEMA:
        what = (
            f"version {one_line(program) or 'unknown'} of the program drafted this workbook, with schema {schema}; "
            f"this is version {__version__}, which knows schemas up to {SCHEMA}"
        )
        raise _Stop("other-version", what, "read it with that version or a later one")
    try:
        packed = {name: joined(rows, name) for name in ("record", "manifest")[: 1 if int(schema) > 2 else 2]}
        texts = unpacked(packed)
    except ValueError as error:
        raise _Stop("record-altered", f"the record in the workbook can't be read: {error}", EARLIER) from None
    try:
        steps = steps_since(program)
        manifest: Manifest = json.loads(texts[1])
        record = _with_new_facts(JobRecord.model_validate(record_now(json.loads(texts[0]), steps)))
    except (ValidationError, ValueError, RecursionError) as error:
        what = f"the record in the workbook isn't a whole one ({type(error).__name__})"
        raise _Stop("record-altered", what, EARLIER) from None
    given = Packed(schema, program, rows.get("digest", ""), rows.get("seal", NOT_SEALED), packed)
    altered = []
    if digest_of(*texts) != given.digest:
        altered.append("the record doesn't agree with its digest: it was changed after drafting")
    seal, broken = _seal(given, texts, key)
    return Carried(record, manifest, given, seal, steps), [*altered, *broken]


def _with_new_facts(record: JobRecord) -> JobRecord:
    """The record with those of the present published numbers that it lacks: an earlier version did without them."""
    known = {fact.id for fact in record.facts}
    added = (fact for fact in published_numbers(record.car) if fact.id not in known)
    return record.model_copy(update={"facts": (*record.facts, *added)})


def _seal(given: Packed, texts: Iterable[str], key: SealKey | None) -> tuple[str, list[str]]:
    """What is known of the seal, in words, and what is wrong with it."""
    if key is None:
        return ("sealed; not looked at, because no key was given" if given.sealed else "not sealed"), []
    if not given.sealed:
        return "not sealed", ["the workbook isn't sealed, and a key was given: nobody can tell what was changed in it"]
    if not key.made(given.seal, given.schema, given.program, *texts):
        return "sealed with another key, or changed since", [
            "the seal doesn't agree with the record: record, limits or rates were changed, or another key sealed it"
        ]
    return COVERED, []


def _record_rows(workbook: WorkbookCells) -> tuple[SheetCells | None, dict[str, str]]:
    """The tab that holds the record, whatever it is called now, and the texts beside its labels."""
    for sheet in sorted(workbook.sheets.values(), key=lambda sheet: sheet.name != "Record"):
        label = next((place for place, cell in sheet.cells.items() if cell.value == "record 1"), None)
        if label is not None:
            return sheet, _beside(sheet, label[1])
    return None, {}


def _beside(sheet: SheetCells, column: int) -> dict[str, str]:
    """The texts to the right of the labels of a column; of a label that stands twice, the first."""
    found: dict[str, str] = {}
    right = min((place[1] for place in sheet.cells if place[1] > column), default=column + 1)
    for (row, at), cell in sorted(sheet.cells.items()):
        if at == column and isinstance(cell.value, str) and (value := sheet.cells.get((row, right))) is not None:
            found.setdefault(cell.value, str(value.value))
    return found
