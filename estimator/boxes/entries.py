"""What stands in the boxes, by check, place and line, each value as its box takes it.

An empty box is "". A number box that holds words keeps them: the sheet sees words, and no number.
"""

from __future__ import annotations

import datetime as dt
import functools
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, fields
from typing import Any, TypeVar

from estimator.boxes import keys
from estimator.boxes.keys import CheckRef, LineRef
from estimator.records import EntryValue

Number = float | str
Day = dt.date | float | str


def _as_words(value: EntryValue) -> str:
    return f"{value:.15g}" if isinstance(value, float) else str(value)


def _as_number(value: EntryValue) -> Number:
    return value if isinstance(value, float) else str(value)


def _as_typed(value: EntryValue) -> Day:
    return value


# How a box takes a value, by the type that its field declares.
_TAKES = {"str": _as_words, "Number": _as_number, "Day": _as_typed}


@dataclass(frozen=True)
class ReadingBoxes:
    """A row of the inspection. What was measured or seen is a number or words, as the check asks."""

    before: Number = ""
    after: Number = ""
    gauge_before: str = ""
    gauge_after: str = ""
    why: str = ""
    why_after: str = ""
    note: str = ""

    def value(self, phase: str) -> Number:
        """What was measured or seen in a phase."""
        return self.before if phase == "before" else self.after

    def reason(self, phase: str) -> str:
        """Why it wasn't measured in a phase."""
        return self.why if phase == "before" else self.why_after

    def gauge(self, phase: str) -> str:
        """The gauge that gave the reading of a phase."""
        return self.gauge_before if phase == "before" else self.gauge_after


@dataclass(frozen=True)
class StatedBoxes:
    """How the readings of a check were made, and the standard uncertainty that is stated of each; of a bench certificate the
    serial, the day the shell was removed, and that of the certificate."""

    how_before: str = ""
    u_before: Number = ""
    how_after: str = ""
    u_after: Number = ""
    serial_before: str = ""
    removed_before: Day = ""
    dated_before: Day = ""
    serial_after: str = ""
    removed_after: Day = ""
    dated_after: Day = ""

    def of(self, phase: str) -> tuple[str, Number]:
        """How the reading of a phase was made, and its stated uncertainty."""
        return (self.how_before, self.u_before) if phase == "before" else (self.how_after, self.u_after)

    def certificate(self, phase: str) -> tuple[str, Day, Day]:
        """Serial, day of removal and day of the bench certificate of a phase."""
        if phase == "before":
            return self.serial_before, self.removed_before, self.dated_before
        return self.serial_after, self.removed_after, self.dated_after

    def moved(self) -> StatedBoxes:
        """Those after work as those before it."""
        return StatedBoxes(self.how_after, self.u_after, "", "", *self.certificate("after"))


@dataclass(frozen=True)
class UsualBoxes:
    """The gauge of a band's readings, where none stands beside one."""

    before: str = ""
    after: str = ""


@dataclass(frozen=True)
class PageBoxes:
    """What is written once on a page of the inspection."""

    ready_before: str = ""
    ready_after: str = ""
    note_before: str = ""
    note_after: str = ""
    initials_before: str = ""
    initials_after: str = ""


@dataclass(frozen=True)
class VisitBoxes:
    """When and by whom the readings of a phase were taken."""

    date: Day = ""
    by: str = ""


@dataclass(frozen=True)
class AgainBoxes:
    """A further reading of a check: a number, or what was seen."""

    check: str = ""
    value: Number = ""
    seen: str = ""
    gauge: str = ""
    by: str = ""
    date: Day = ""


@dataclass(frozen=True)
class LineBoxes:
    """What was decided of a job, and whether it is done."""

    decision: str = ""
    done: str = ""


@dataclass(frozen=True)
class ChangeBoxes:
    """A part of which another number is taken, or something in its place."""

    part: str = ""
    quantity: Number = ""
    substitute: str = ""
    substitute_cost: Number = ""
    substitute_family: str = ""
    compared: str = ""
    approved_by: str = ""


@dataclass(frozen=True)
class ExtraPartBoxes:
    """A part that no table foresees."""

    description: str = ""
    unit: str = ""
    condition: str = ""
    family: str = ""
    quantity: Number = ""
    cost: Number = ""
    deposit: Number = ""
    decision: str = ""


@dataclass(frozen=True)
class ExtraWorkBoxes:
    """Work that no table foresees."""

    description: str = ""
    hours: Number = ""
    rate_id: str = ""
    decision: str = ""
    touched: str = ""


@dataclass(frozen=True)
class SubletBoxes:
    """Work that another workshop does."""

    description: str = ""
    supplier: str = ""
    charge: Number = ""
    decision: str = ""
    touched: str = ""


@dataclass(frozen=True)
class ConsentBoxes:
    """A line of the log of consents."""

    who: str = ""
    stage: str = ""
    way: str = ""
    amount: Number = ""
    date: Day = ""
    taken_by: str = ""


@dataclass(frozen=True)
class PostedBoxes:
    """What the bookkeeper notes of the entry."""

    number: str = ""
    date: Day = ""
    by: str = ""


@dataclass(frozen=True)
class DisposalBoxes:
    """The fluid that was drained."""

    liters: Number = ""


@dataclass(frozen=True)
class DiscountBoxes:
    """A discount before tax."""

    percent: Number = ""


Ref = TypeVar("Ref", bound=str)
Row = TypeVar("Row")


class Rows(dict[Ref, Row]):
    """The rows of a block by reference; a row that nobody typed in is an empty one."""

    def __init__(self, kind: Callable[[], Row], rows: Mapping[Ref, Row] | None = None) -> None:
        super().__init__(rows or {})
        self._kind = kind

    def __missing__(self, ref: Ref) -> Row:
        return self._kind()


def _rows(block: str, kind: Callable[[], Any]) -> Any:
    return field(default_factory=lambda: Rows(kind), metadata={"block": block, "kind": kind})


@dataclass(frozen=True)
class Entries:
    """All that stands in the boxes of a workbook."""

    readings: Mapping[CheckRef, ReadingBoxes] = _rows("reading", ReadingBoxes)
    stated: Mapping[CheckRef, StatedBoxes] = _rows("stated", StatedBoxes)
    usual: Mapping[str, UsualBoxes] = _rows("usual", UsualBoxes)
    pages: Mapping[str, PageBoxes] = _rows("page", PageBoxes)
    visits: Mapping[str, VisitBoxes] = _rows("visit", VisitBoxes)
    again: Mapping[str, AgainBoxes] = _rows("again", AgainBoxes)
    lines: Mapping[LineRef, LineBoxes] = _rows("line", LineBoxes)
    changes: Mapping[str, ChangeBoxes] = _rows("change", ChangeBoxes)
    extra_parts: Mapping[str, ExtraPartBoxes] = _rows("extra_part", ExtraPartBoxes)
    extra_work: Mapping[str, ExtraWorkBoxes] = _rows("extra_work", ExtraWorkBoxes)
    sublet: Mapping[str, SubletBoxes] = _rows("sublet", SubletBoxes)
    consents: Mapping[str, ConsentBoxes] = _rows("consent", ConsentBoxes)
    posted: Mapping[str, PostedBoxes] = _rows("posted", PostedBoxes)
    disposal: Mapping[str, DisposalBoxes] = _rows("disposal", DisposalBoxes)
    discounts: Mapping[str, DiscountBoxes] = _rows("discount", DiscountBoxes)

    @classmethod
    def from_boxes(cls, boxes: Mapping[str, EntryValue]) -> Entries:
        """The entries that stand in boxes, by key. A key that no box of this program has is left out.

        >>> Entries.from_boxes({"reading.cut-out.system-1.2.before": 2190.0}).readings["cut-out.system-1.2"].before
        2190.0
        """
        found: dict[str, dict[str, dict[str, EntryValue]]] = {}
        for key, value in boxes.items():
            block, ref, column = keys.apart(key)
            found.setdefault(block, {}).setdefault(ref, {})[column] = value
        blocks: dict[str, Any] = {}
        for item in fields(cls):
            kind = item.metadata["kind"]
            rows = found.get(item.metadata["block"], {})
            blocks[item.name] = Rows(kind, {ref: _row(kind, columns) for ref, columns in rows.items()})
        return cls(**blocks)

    def as_boxes(self) -> dict[str, EntryValue]:
        """What stands in the boxes, by key; an empty box has no entry."""
        return dict(self._boxes())

    def _boxes(self) -> Iterator[tuple[str, EntryValue]]:
        for block in fields(self):
            for ref, row in getattr(self, block.name).items():
                for column in fields(row):
                    value = getattr(row, column.name)
                    if value != "":
                        yield keys.key(block.metadata["block"], ref, column.name), value


@functools.cache
def _takes(kind: Any) -> Mapping[str, Callable[[EntryValue], Any]]:
    return {item.name: _TAKES[str(item.type)] for item in fields(kind)}


def _row(kind: Callable[..., Row], columns: Mapping[str, EntryValue]) -> Row:
    takes = _takes(kind)
    return kind(**{name: takes[name](value) for name, value in columns.items() if name in takes})


def number(value: Number) -> Number:
    """What a number box holds, or nothing where it holds words."""
    return value if isinstance(value, float) else ""
