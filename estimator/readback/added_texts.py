"""Notes for the next workbook of what people wrote outside the boxes."""

from __future__ import annotations

from estimator.intake.current_job import FOUND_OUTSIDE
from estimator.intake.model_errors import printable
from estimator.readback.check import Checked
from estimator.records import JobRecord

_LONGEST = 1800


def added_texts(checked: Checked) -> tuple[str, ...]:
    """Return one note a tab, more where they are long: each text with its cell.

    A note neither begins nor ends with a blank: the record that holds it would lose it when it is read.
    """
    by_tab: dict[str, list[str]] = {}
    for finding in checked.findings:
        if finding.rule == "text-added" and finding.found:
            by_tab.setdefault(finding.tab, []).append(f"{finding.cell} {finding.found}".strip())
    for sheet in checked.workbook.sheets.values():
        if sheet.shapes:
            by_tab.setdefault(sheet.name, []).extend(f"text box: {text}" for text in sheet.shapes)
    notes = []
    for tab, texts in by_tab.items():
        whole = printable(" · ".join(texts))
        pieces = (whole[start : start + _LONGEST].strip() for start in range(0, len(whole), _LONGEST))
        notes += [f"{FOUND_OUTSIDE} {printable(tab)}: {piece}" for piece in pieces if piece]
    return tuple(notes)


def with_added_texts(record: JobRecord, checked: Checked) -> JobRecord:
    """The record with what was written outside the boxes among the shop's notes of its job."""
    notes = tuple(note for note in added_texts(checked) if note not in record.job.shop_notes)
    if not notes:
        return record
    job = record.job.model_copy(update={"shop_notes": (*record.job.shop_notes, *notes)})
    return record.model_copy(update={"job": job})
