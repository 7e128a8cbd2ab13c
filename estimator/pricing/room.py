"""How many lines the lists of a workbook have room for: what is filled in, and some more."""

from __future__ import annotations

from collections.abc import Mapping

from estimator.boxes.entries import Entries
from estimator.records import JobRecord, Room

# Lines that stay free.
_FREE = {"changes": 3, "extra_parts": 1, "extra_work": 1, "sublet": 1, "again": 2, "consents": 2}
FREE_OFFERS = 6


def with_room(record: JobRecord, entries: Entries) -> JobRecord:
    """Return the record with room for all lines that entries fill, never fewer than a fresh workbook has."""
    least = Room()
    lists: Mapping[str, Mapping[str, object]] = {name: getattr(entries, name) for name in _FREE}
    filled = {name: max((int(ref) for ref, row in rows.items() if row), default=0) for name, rows in lists.items()}
    wanted = {name: max(getattr(least, name), filled[name] + free) for name, free in _FREE.items()}
    return record.model_copy(update={"room": record.room.model_copy(update=wanted)})


def with_offers(record: JobRecord, offered: int) -> JobRecord:
    """Return the record with room on the estimate for so many items, and six more."""
    most = max(Room().offers, offered + FREE_OFFERS)
    return record.model_copy(update={"room": record.room.model_copy(update={"offers": most})})
