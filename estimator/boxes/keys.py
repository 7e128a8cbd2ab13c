"""Keys of the boxes: made here and taken apart here, nowhere else.

A key is `block.reference.column`; a reference may hold dots. It names a box in a file of entries and a cell of the Book.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NewType

# `cut-out.system-1.2`: a check, its place and, where it is made more than once, its number.
CheckRef = NewType("CheckRef", str)
# `pads.front-left`: a job and its place.
LineRef = NewType("LineRef", str)
# `pad-set.pads.front-left`: a part and its line.
PartRef = NewType("PartRef", str)

# `decision.<job>.<place>` is short for `line.<job>.<place>.decision`.
SHORT = ("decision", "done")
# Blocks whose rows belong together: a reading and its gauge, a line that people fill in.
WHOLE_ROWS = ("reading", "stated", "again", "change", "extra_part", "extra_work", "sublet", "consent", "visit")


def check_ref(check: str, place: str, number: int = 0) -> CheckRef:
    """The reference of a check at a place; `number` for one that is made more than once.

    >>> check_ref("precharge", "accumulator-1"), check_ref("cut-out", "system-1", 2)
    ('precharge.accumulator-1', 'cut-out.system-1.2')
    """
    plain = f"{check}.{place}"
    return CheckRef(f"{plain}.{number}" if number else plain)


def line_ref(job: str, place: str) -> LineRef:
    """The reference of a job at a place."""
    return LineRef(f"{job}.{place}")


def part_ref(part: str, line: LineRef) -> PartRef:
    """The reference of a part of a job line."""
    return PartRef(f"{part}.{line}")


def row(block: str, ref: str) -> str:
    """What the keys of a row begin with, and the reference of its line in the books.

    >>> row("sublet", "1")
    'sublet.1'
    """
    return f"{block}.{ref}"


def key(block: str, ref: str, column: str) -> str:
    """The key of a box.

    >>> key("consent", "1", "amount")
    'consent.1.amount'
    """
    return f"{block}.{ref}.{column}"


def column(block: str, refs: Iterable[str], column: str) -> list[str]:
    """The keys of a whole column, in the order of its rows."""
    return [f"{block}.{ref}.{column}" for ref in refs]


def reading(ref: CheckRef, phase: str) -> str:
    """The key of what was measured or seen in a phase.

    >>> reading(check_ref("cut-out", "system-1", 2), "before")
    'reading.cut-out.system-1.2.before'
    """
    return key("reading", ref, phase)


def gauge(ref: CheckRef, phase: str) -> str:
    """The key of the gauge of a reading."""
    return key("reading", ref, f"gauge_{phase}")


def stated_how(ref: CheckRef, phase: str) -> str:
    """The key of how the reading of a phase was made."""
    return key("stated", ref, f"how_{phase}")


def stated_u(ref: CheckRef, phase: str) -> str:
    """The key of the standard uncertainty that is stated of the reading of a phase."""
    return key("stated", ref, f"u_{phase}")


def certificate(ref: CheckRef, phase: str, name: str) -> str:
    """The key of what a bench certificate of a reading says, by name: serial, removed, dated."""
    return key("stated", ref, f"{name}_{phase}")


def judged_si(ref: CheckRef, phase: str) -> str:
    """The key of a reading in SI, which the workings take."""
    return key("judging", ref, f"si_{phase}")


def held(ref: CheckRef, phase: str) -> str:
    """The key of what a reading stands for where it is held against others: measured again, else as read."""
    return key("judging", ref, f"held_{phase}")


def gauge_u(ref: CheckRef, phase: str) -> str:
    """The key of the standard uncertainty that a reading's gauge gives it, in SI."""
    return key("judging", ref, f"gauge_u_{phase}")


def again_si(ref: CheckRef) -> str:
    """The key of the first further reading of a check that counts, in SI."""
    return key("judging", ref, "again_si")


def decision(ref: LineRef) -> str:
    """The key of what the customer decided of a job.

    >>> decision(line_ref("road-test", "car"))
    'line.road-test.car.decision'
    """
    return key("line", ref, "decision")


def apart(key: str) -> tuple[str, str, str]:
    """A key's block, reference and column. Raises ValueError for a text that is no key.

    >>> apart("reading.cut-out.system-1.2.before")
    ('reading', 'cut-out.system-1.2', 'before')
    """
    block, rest = key.split(".", 1)
    ref, column = rest.rsplit(".", 1)
    return block, ref, column


def check_of(key: str) -> str:
    """The reference of the check whose row a key stands in; nothing for another key.

    >>> check_of("reading.cut-out.system-1.2.before"), check_of("consent.1.amount")
    ('cut-out.system-1.2', '')
    """
    block, _, rest = key.partition(".")
    return rest.rpartition(".")[0] if block == "reading" else ""


def is_line(row: str) -> bool:
    """Whether what the keys of a row begin with is that of a job line."""
    return row.startswith("line.")


def long_form(key: str) -> str:
    """A key as the Book has it.

    >>> long_form("decision.road-test.car")
    'line.road-test.car.decision'
    """
    first, _, rest = key.partition(".")
    return f"line.{rest}.{first}" if first in SHORT else key


def of_same_block(key: str, others: Iterable[str]) -> Iterator[str]:
    """The keys among others that begin as a key does."""
    block = f"{key.partition('.')[0]}."
    return (other for other in others if other.startswith(block))


def note_beside(key: str) -> str:
    """The key of the note in the row of a key.

    >>> note_beside("reading.cut-out.system-1.2.before")
    'reading.cut-out.system-1.2.note'
    """
    return f"{key.rpartition('.')[0]}.note"


def kept_together(key: str) -> str:
    """What is kept or renewed together: a box, or its whole row.

    >>> kept_together("consent.1.amount"), kept_together("discount.labor.percent")
    ('consent.1', 'discount.labor.percent')
    """
    return key.rpartition(".")[0] if key.partition(".")[0] in WHOLE_ROWS else key
