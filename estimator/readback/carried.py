"""What a workbook carries of itself: the record without its entries, and the manifest of cells as drafted."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from estimator import __version__
from estimator.errors import Finding
from estimator.readback.cells import SheetCells, WorkbookCells
from estimator.records import JobRecord
from estimator.workbook.manifest import Entry
from estimator.workbook.tabs.record import SCHEMA, digest_of, unpack

_REDRAFT = "draft the workbook again from its job file, and fill its entries in"


@dataclass(frozen=True)
class Carried:
    """The record and the manifest of a workbook, and who drafted it."""

    record: JobRecord
    manifest: dict[str, dict[str, Entry]]
    program: str

    @property
    def same_program(self) -> bool:
        return self.program == __version__


def carried(workbook: WorkbookCells) -> tuple[Carried | None, tuple[Finding, ...]]:
    """What a workbook carries, or why it can't be had, and what is wrong with it."""
    sheet = _record_sheet(workbook)
    if sheet is None:
        return None, (
            Finding(
                "record-missing",
                "stop",
                "no tab holds the record that the program reads back",
                "this isn't a workbook of this program, or its Record tab was deleted: take an earlier copy",
            ),
        )
    rows = _rows(sheet)
    place = {"tab": sheet.name}
    schema = rows.get("schema", "")
    if not schema.isdecimal() or int(schema) > SCHEMA:
        what = f'the record has the schema "{schema}", and this program ({__version__}) knows up to {SCHEMA}'
        return None, (Finding("other-version", "stop", what, "read it with the program that drafted it, or a newer one", **place),)
    texts: dict[str, str] = {}
    for name in ("record", "manifest"):
        try:
            texts[name] = unpack(_joined(rows, name))
        except ValueError as error:
            what = f"the {name} in the workbook can't be read: {error}"
            return None, (Finding("record-altered", "stop", what, _REDRAFT, **place),)
    try:
        record = JobRecord.model_validate_json(texts["record"])
        manifest: dict[str, Any] = json.loads(texts["manifest"])
    except (ValidationError, ValueError) as error:
        what = f"the record in the workbook isn't a whole one ({type(error).__name__})"
        return None, (Finding("record-altered", "stop", what, _REDRAFT, **place),)
    findings = []
    if digest_of(texts["record"], texts["manifest"]) != rows.get("digest"):
        what = "the record doesn't agree with its digest: it was changed after drafting"
        findings.append(Finding("record-altered", "stop", what, _REDRAFT, **place))
    return Carried(record, manifest, rows.get("program", "")), tuple(findings)


def _record_sheet(workbook: WorkbookCells) -> SheetCells | None:
    named = workbook.sheets.get("Record")
    candidates = [named] if named is not None else []
    candidates += [sheet for sheet in workbook.sheets.values() if sheet is not named]
    return next((sheet for sheet in candidates if "record 1" in _rows(sheet)), None)


def _rows(sheet: SheetCells) -> dict[str, str]:
    """The texts beside the labels of the Record tab."""
    found: dict[str, str] = {}
    for (row, column), cell in sheet.cells.items():
        if isinstance(cell.value, str) and (value := sheet.cells.get((row, column + 1))) is not None:
            found.setdefault(cell.value, str(value.value))
    return found


def _joined(rows: dict[str, str], name: str) -> str:
    pieces = []
    while (piece := rows.get(f"{name} {len(pieces) + 1}")) is not None:
        pieces.append(piece)
    if not pieces:
        raise ValueError("it isn't there")
    return "".join(pieces)
