"""How many lines the lists of a workbook have room for: what is filled in, and some more."""

from __future__ import annotations

from collections.abc import Mapping

from estimator.boxes.entries import Entries
from estimator.records import JobRecord, Room

# The lists of a record by the block that holds their lines.
LISTS: Mapping[str, str] = {
    "change": "changes",
    "extra_part": "extra_parts",
    "extra_work": "extra_work",
    "sublet": "sublet",
    "again": "again",
    "consent": "consents",
}
MOST_LINES = 500
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


def with_lines(record: JobRecord, lines: Mapping[str, int]) -> JobRecord:
    """Return the record with room for so many lines of each block, as far as a list may grow at all."""
    room = record.room
    wanted = {LISTS[block]: number for block, number in lines.items() if number <= MOST_LINES}
    grown = {name: number for name, number in wanted.items() if number > getattr(room, name)}
    return record.model_copy(update={"room": room.model_copy(update=grown)}) if grown else record


def with_offers(record: JobRecord, offered: int, declined: int) -> JobRecord:
    """Return the record with room on the estimate for so many items and six more, and for what was declined and one more."""
    least = Room()
    most = {"offers": max(least.offers, offered + FREE_OFFERS), "declined": max(least.declined, declined + 1)}
    return record.model_copy(update={"room": record.room.model_copy(update=most)})
