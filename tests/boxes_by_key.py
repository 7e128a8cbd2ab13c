"""The road from what stands in boxes, by key, as tests write it."""

from __future__ import annotations

from collections.abc import Mapping

from estimator.appraisal import Appraisal
from estimator.appraise import appraise
from estimator.boxes.entries import Entries
from estimator.pricing.first_entries import first_entries
from estimator.records import EntryValue, JobRecord


def appraise_boxes(record: JobRecord, boxes: Mapping[str, EntryValue]) -> Appraisal:
    """The appraisal of a record with these entries in its boxes."""
    return appraise(record, Entries.from_boxes(boxes))


def first_boxes(record: JobRecord) -> dict[str, EntryValue]:
    """What stands in the boxes of a fresh workbook."""
    return first_entries(record).as_boxes()
