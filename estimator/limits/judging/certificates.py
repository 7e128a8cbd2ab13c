"""Bench certificates of precharges: whether each is of this shell, dated after its removal, and young enough."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping

from estimator.boxes.entries import Day, Entries, Number
from estimator.boxes.keys import CheckRef, check_ref
from estimator.limits.judging.check_rows import CheckRow
from estimator.limits.judging.stated import CERTIFICATE, Certificate
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
    """A certificate; `plate` is what was copied from the shell, `read` the day of the reading.

    Its serial is looked for by whole words, never within one: case and hyphens don't matter, nor spaces where a part between
    commas is the serial and nothing else.
    """
    shell = f"{plate:.15g}" if isinstance(plate, float) else plate
    removed, dated = _day(boxes[1]), _day(boxes[2])
    age = -1.0 if isinstance(boxes[2], str) and boxes[2] else read - (dated or 0.0)
    lag = -1.0 if removed is None or (isinstance(boxes[2], str) and boxes[2]) else (dated or 0.0) - removed
    bare, serial = shell.upper().replace("-", ""), _words(boxes[0].upper().replace("-", " "))
    words, parts, joined = _words(bare.replace(",", " ")), bare.replace(" ", ""), serial.replace(" ", "")
    found = (f" {serial} " in f" {words} ", f" {joined} " in f" {words} ", f",{joined}," in f",{parts},")
    return Certificate(shell, bare, words, parts, serial, joined, sum(found), lag, age)


def _day(value: Day) -> float | None:
    return float(serial_of(value)) if isinstance(value, dt.date) else value if isinstance(value, float) else None


def _words(text: str) -> str:
    """A text with one space between its words."""
    return " ".join(word for word in text.split(" ") if word)
