"""Bench certificates of precharges: whether each is of this shell, dated after its removal, and young enough."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from estimator.boxes.entries import Day, Entries, Number
from estimator.boxes.keys import CheckRef, check_ref
from estimator.limits.constants import CERTIFICATE_DAYS
from estimator.limits.judging.check_rows import CheckRow
from estimator.limits.judging.stated import CERTIFICATE
from estimator.limits.judging.typed_readings import day_number, reading_days
from estimator.limits.judging.verdict_words import PHASES
from estimator.records import JobRecord

SERIAL = "accumulator-serial"
Certified = Mapping[tuple[CheckRef, str], str]


def certificates(rows: Iterable[CheckRow], record: JobRecord, entries: Entries) -> Certified:
    """Return what is wrong with the bench certificate of each reading that may have one ("" for nothing), by check and phase."""
    found = {}
    days = dict(zip(PHASES, reading_days(record, entries.visits), strict=True))
    for row in rows:
        if CERTIFICATE in row.check.read_by:
            shell = entries.readings[check_ref(SERIAL, row.place.id)]
            for phase in PHASES:
                plate = shell.after if phase == "after" and shell.after != "" else shell.before
                found[row.ref, phase] = _wrong(entries.stated[row.ref].certificate(phase), plate, days[phase])
    return found


def _wrong(certificate: tuple[str, Day, Day], plate: Number, read: int) -> str:
    """What is wrong with a certificate; `plate` is what was copied from the shell, `read` the day of the reading."""
    serial, removed, dated = _bare(certificate[0]), day_number(certificate[1]), day_number(certificate[2])
    if not serial or serial not in _bare(plate):
        return "its serial isn't the one read on this shell" if serial else "no serial entered from it"
    if removed is None or dated is None:
        return "its date, or the day the shell was removed, isn't entered"
    if dated < removed:
        return "dated before the shell was removed"
    if dated > read:
        return "dated after the day of the reading"
    return "" if read - dated <= CERTIFICATE_DAYS else f"more than {CERTIFICATE_DAYS} days old"


def _bare(text: Number) -> str:
    """A serial without what people leave out: case, spaces, hyphens."""
    words = f"{text:.15g}" if isinstance(text, float) else text
    return words.upper().replace(" ", "").replace("-", "")
