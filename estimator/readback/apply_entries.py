"""What entries.csv types into the boxes of a workbook: each row checked against its box and brought to its unit."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Protocol

from estimator.boxes import keys
from estimator.errors import InputError, InputProblem, nearest
from estimator.intake.entries_csv import EntryFile, EntryRow
from estimator.intake.model_errors import printable
from estimator.migrations import key_now, word_now
from estimator.quantities import UNITS, from_si, twelve_digits
from estimator.readback.gathered import change_key, joined_key, says_nothing
from estimator.records import EntryValue, Show
from estimator.records.shop import DATE_PATTERNS
from estimator.workbook.book import Box
from estimator.written_quantities import parse_quantity

LONGEST_TEXT = 2000


class Place(Protocol):
    """A box of a Book, or one that was read back: its key, what is allowed there, and its unit."""

    @property
    def key(self) -> str: ...

    @property
    def box(self) -> Box | None: ...

    @property
    def unit(self) -> str: ...


def apply_entries(
    file: EntryFile,
    places: Iterable[Place],
    present: Mapping[str, EntryValue],
    names: Mapping[str, str] = MappingProxyType({}),
    listed: Mapping[str, float] = MappingProxyType({}),
    dates: str = Show().dates,
) -> dict[str, EntryValue]:
    """The entries that stand in the boxes once the rows of a file are typed into them.

    places: all boxes; present: what stands in them. A row without a value empties its box. A number without a unit is
    in the unit of its box; the note of a reading is added to the note of its check. Keys and words of earlier versions
    are understood. names: what a list's words may be called besides; listed: the quantities of parts, which are no entries;
    dates: how the shop writes November 25, 2026.
    Raises InputError with every line that is wrong, names no box, or gives what its box doesn't allow.
    """
    boxes = {place.key: place for place in places}
    entries = dict(present)
    problems = list(file.problems)
    lines: dict[str, int] = {}
    for row in file.rows:
        key = keys.long_form(row.key)
        key = key if key in boxes else key_now(key)
        if key not in boxes and (into := joined_key(key)):
            entries[into] = _joined(str(entries.get(into, "")), row.text)
            continue
        try:
            if keys.apart(key)[0] == "part":
                if says_nothing(key, row.value, listed) and keys.apart(key)[1] not in entries.values():
                    continue
                key = _named(key, row, entries, boxes)
            place = _box_of(key, row.key, boxes)
            if lines.setdefault(key, row.line_no) != row.line_no:
                raise _NotAllowed("key", f'"{row.key}"', f"line {lines[key]} fills this box already", "take one out")
            value = _value(row, place, names, dates)
            note_key = _note_key(row, key, boxes)
        except _NotAllowed as trouble:
            column, *words = trouble.args
            where = f'line {row.line_no}, column "{column}"'
            problem = InputProblem(str(file.path), where, *(printable(text) for text in words))
            problems.append((row.line_no, problem))
            continue
        if value is None:
            entries.pop(key, None)
        else:
            entries[key] = value
        if note_key:
            entries[note_key] = _joined(str(entries.get(note_key, "")), row.note)
    if problems:
        raise InputError(problem for _, problem in sorted(problems, key=lambda item: item[0]))
    return entries


def _named(key: str, row: EntryRow, entries: dict[str, EntryValue], boxes: Mapping[str, Place]) -> str:
    """The key of the box of a part in the line that names it; in a line that was free its name is typed as well."""
    lines = [keys.apart(other)[1] for other in boxes if keys.apart(other)[::2] == ("change", "part")]
    try:
        found, name_key, name = change_key(key, entries, lines)
    except LookupError:
        raise _NotAllowed(
            "key", f'"{row.key}"', "all lines of changed parts are taken", "redraft: it adds lines"
        ) from None
    box = boxes[name_key].box
    if box is None or name not in box.allowed:
        hint = nearest(name, box.allowed if box else ())
        allowed = "part.<part>.<job>.<place>.<box> names one"
        raise _NotAllowed("key", f'no part is called "{name}"{hint}', allowed, "correct the key")
    entries[name_key] = name
    return found


class _NotAllowed(ValueError):
    """Column, what was found, what is allowed, what to do."""


def _box_of(key: str, written: str, boxes: Mapping[str, Place]) -> Place:
    if key in boxes:
        return boxes[key]
    # A mistake is most often in one word: the keys of the same block are tried first.
    hint = nearest(key, keys.of_same_block(key, boxes)) or nearest(key, boxes)
    allowed = "`estimator check --json` lists the key of every box"
    raise _NotAllowed("key", f'no box has the key "{written}"{hint}', allowed, "correct the key")


def day_as_written(text: str, dates: str) -> dt.date | None:
    """The day of a text in the order and with the marks of `dates`; None for any other text.

    >>> day_as_written("7/4/2026", "11/25/2026"), day_as_written("4.7.2026", "25.11.2026"), day_as_written("4.7.2026", "25/11/2026")
    (datetime.date(2026, 7, 4), datetime.date(2026, 7, 4), None)
    """
    try:
        return dt.datetime.strptime(text.strip(), DATE_PATTERNS[dates]).date()
    except ValueError:
        return None


def _value(row: EntryRow, place: Place, names: Mapping[str, str], dates: str) -> EntryValue | None:
    box = place.box
    assert box is not None
    if row.unit and (box.kind != "number" or not place.unit):
        raise _NotAllowed("unit", f'found "{row.unit}"', f"this box takes {box.rule}, without a unit", "take it out")
    if row.value is None:
        return None
    match box.kind:
        case "number":
            return _number(row, place, box)
        case "date":
            if isinstance(row.value, dt.date):
                return row.value
            if day := day_as_written(row.text, dates):
                return day
            raise _NotAllowed("value", f'found "{row.text}"', "this box takes a date", f"write it as {dates}")
        case "list":
            named = row.text if row.text in box.allowed else names.get(row.text, row.text)
            return _word(named, box, place.key)
    if len(row.text) > LONGEST_TEXT:
        raise _NotAllowed("value", f"{len(row.text)} letters", f"a box takes at most {LONGEST_TEXT}", "shorten it")
    return row.text


def _word(text: str, box: Box, key: str) -> str:
    text = text if text in box.allowed else word_now(key, text)
    found = next((word for word in box.allowed if word.casefold() == text.casefold()), None)
    if found is None:
        hint = nearest(text.casefold(), box.allowed)
        raise _NotAllowed("value", f'found "{text}"{hint}', f"this box takes {box.rule}", "write one of these")
    return found


def _number(row: EntryRow, place: Place, box: Box) -> float:
    allowed = f"this box takes {box.rule} {shown_unit(place.unit)}".rstrip()
    if not isinstance(row.value, float):
        fix = "write the number alone; a unit has a column of its own"
        raise _NotAllowed("value", f'found "{row.text}"', allowed, fix)
    value = row.value if not row.unit else in_unit(row.value, row.unit, place.unit)
    assert box.low is not None and box.high is not None
    if not box.low <= value <= box.high:
        typed = f"found {row.text} {row.unit}".rstrip()
        same = f", which is {value:.6g} {shown_unit(place.unit)}" if row.unit and row.unit != place.unit else ""
        raise _NotAllowed("value", typed + same, allowed, "correct the number or its unit")
    return value


def in_unit(value: float, unit: str, wanted_unit: str) -> float:
    """A number in another unit, to twelve digits, which leaves out the noise of binary fractions.

    >>> in_unit(25.4, "mm", "in"), in_unit(68.0, "°F", "°C")
    (1.0, 20.0)
    """
    if unit == wanted_unit:
        return value
    try:
        si = parse_quantity(f"{value!r} {unit}", UNITS[wanted_unit].kind).si
    except ValueError as error:
        allowed = f"{str(error).partition('; ')[2]}; the box is in {shown_unit(wanted_unit) or 'plain numbers'}"
        raise _NotAllowed("unit", f'found "{unit}"', allowed, "correct the unit") from None
    return twelve_digits(from_si(si, wanted_unit))


def shown_unit(unit: str) -> str:
    """A unit as messages show it; counts have none.

    >>> shown_unit("psi"), shown_unit("count")
    ('psi', '')
    """
    return "" if unit in ("count", "1") else unit


def _note_key(row: EntryRow, key: str, boxes: Mapping[str, Place]) -> str:
    """The box that takes a row's note, or nothing where the row has none."""
    if not row.note:
        return ""
    note_key = keys.note_beside(key)
    if note_key not in boxes or key == note_key:
        fix = "leave it out, or begin a line of its own with #"
        raise _NotAllowed("note", f'found "{row.note}"', "only the boxes of a check have a note beside them", fix)
    return note_key


def _joined(before: str, note: str) -> str:
    """Both notes, each once."""
    if note in before.split("; "):
        return before
    return f"{before}; {note}" if before else note
