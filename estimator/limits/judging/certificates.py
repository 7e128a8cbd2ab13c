"""Bench certificates of precharges: whether each is of this shell, dated after its removal, and young enough."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping

from estimator.boxes.entries import Day, Entries, Number
from estimator.boxes.keys import CheckRef, check_ref
from estimator.limits.judging.check_rows import CheckRow
from estimator.limits.judging.stated import CERTIFICATE, MARKS, Certificate
from estimator.limits.judging.typed_readings import reading_days
from estimator.limits.judging.verdict_words import PHASES
from estimator.limits.sheet_arithmetic import serial as serial_of
from estimator.records import JobRecord

SERIAL = "accumulator-serial"
Certificates = Mapping[tuple[CheckRef, str], Certificate]


def certificates(rows: Iterable[CheckRow], record: JobRecord, entries: Entries) -> Certificates:
    """Return what the bench certificate of each reading that may have one says, by check and phase."""
    found = {}
    days = dict(zip(PHASES, reading_days(record, entries.visits), strict=True))
    for row in rows:
        if CERTIFICATE in row.check.read_by:
            shell = entries.readings[check_ref(SERIAL, row.place.id)]
            for phase in PHASES:
                plate = shell.after if phase == "after" and shell.after != "" else shell.before
                found[row.ref, phase] = _read(entries.stated[row.ref].certificate(phase), plate, days[phase])
    return found


def _read(boxes: tuple[str, Day, Day], plate: Number, read: int) -> Certificate:
    """A certificate; `plate` is what was copied from the shell, `read` the day of the reading."""
    shell = f"{plate:.15g}" if isinstance(plate, float) else plate
    plate, serial = plain_words(shell), plain_words(boxes[0])
    removed, dated = _day(boxes[1]), _day(boxes[2])
    alone = serial.replace(" ", "")
    among = any(f" {words} " in f" {plate} " for words in (serial, alone))
    found = int(serial != "" and (among or alone == plate.replace(" ", "")))
    age = -1.0 if isinstance(boxes[2], str) and boxes[2] else read - (dated or 0.0)
    lag = -1.0 if removed is None or (isinstance(boxes[2], str) and boxes[2]) else (dated or 0.0) - removed
    return Certificate(shell, plate, serial, found, lag, age)


def _day(value: Day) -> float | None:
    return float(serial_of(value)) if isinstance(value, dt.date) else value if isinstance(value, float) else None


def plain_words(text: str) -> str:
    """Return the words of what was read on a shell, without what people leave out: case, hyphens, punctuation.

    >>> plain_words("kr-11 87, stamped 6/2019")
    'KR11 87 STAMPED 6/2019'
    """
    plain = text.upper()
    for mark, written in MARKS:
        plain = plain.replace(mark, written)
    return " ".join(word for word in plain.split(" ") if word)
