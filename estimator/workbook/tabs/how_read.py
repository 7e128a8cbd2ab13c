"""The boxes for how readings were made that can be made in several ways, and their stated uncertainty, below the pages."""

from __future__ import annotations

from collections.abc import Iterator

from estimator.appraisal import Appraisal
from estimator.boxes import keys
from estimator.boxes.keys import CheckRef
from estimator.limits.judging.stated import CERTIFICATE, CERTIFIED_BY
from estimator.limits.judging.typed_readings import shown_unit
from estimator.quantities import after_number
from estimator.workbook.forms import Form, Placed, typed, wide, words
from estimator.workbook.tabs.common import date_box, date_look, list_box, number_box, reading_look, words_box

NOTE = (
    "Blank: the first way. The verdict takes the greater of the stated standard uncertainty (one sigma) and that of gauge",
    "and way. A log without a stated uncertainty counts as a bleed-down by hand.",
)
# Common practice, no source, but for the times: tests/test_log_bleeds.py.
BY_HAND = (
    "Bleed-down by hand: wheels chocked, parking brake set, engine disabled, face shield, other circuits isolated, one",
    "accumulator open, charge settled. Hose fixed on the bleeder, its end in a closed container; never a bare bleeder.",
    "At the knee this system's brakes are gone; the gas side stays charged.",
    "Open the bleeder a crack: 90 min or more to the drop (30 settling times). Leave it so; write down the last smooth reading.",
    "First charge: after an hour at zero, shell temperature read, the other accumulators isolated: the jump of the gauge, by eye.",
    "Bench certificate: this shell's serial, dated after removal, at most 90 days old, count and hold on the car within limits.",
    "Enter its serial and both days below: without them the reading counts for nothing.",
    "Enter below the tests, for each of these ways, whether precharge was read as its way asks.",
    "Three runs, recharged and settled between; enter the middle one. A drop before 45 min is an indication: do not enter it.",
)


def how_read_form(appraisal: Appraisal, form: Form, phase: str) -> None:
    """Add to a form the boxes of a phase for the way of reading and its uncertainty, a row each such check."""
    form.row("stated-title", [words(1, "How it was read, where there are several ways", "b105")], 26, "band")
    for at, line in enumerate((*NOTE, *BY_HAND), 1):
        form.row(f"stated-note-{at}", [words(1, line, "b9" if line in BY_HAND[:3] else "t9")], 12)
    heads = {1: "check", 5: "how read", 7: "standard uncertainty"}
    form.row("stated-heads", [words(at, text, "t9") for at, text in heads.items()], 14, "thin")
    for row in appraisal.plan.checks:
        if row.check.read_by:
            said, unit = appraisal.entries.stated[row.ref].of(phase), shown_unit(row, appraisal.record)
            how = list_box("How read", row.check.read_by, "How this reading was made.")
            u = number_box("Standard uncertainty", 0, 100000, "One sigma, in the unit of the reading; from a log.")
            cells = [
                words(1, row.label, "t9"),
                *wide(5, 6, keys.stated_how(row.ref, phase), said[0], how, "small-wide"),
                typed(7, keys.stated_u(row.ref, phase), said[1], u, reading_look(unit), unit),
                words(8, after_number(unit).strip(), "unit"),
            ]
            form.row(f"stated-{row.ref}", cells, 22, "hair")
        if CERTIFICATE in row.check.read_by:
            form.row(f"certificate-{row.ref}", _certificate(appraisal, row.ref, phase), 22, "hair")


def _certificate(appraisal: Appraisal, ref: CheckRef, phase: str) -> Iterator[Placed]:
    """The boxes of a bench certificate."""
    serial, *days = appraisal.entries.stated[ref].certificate(phase)
    by, *dated = (keys.certificate(ref, phase, name) for name in CERTIFIED_BY)
    yield words(1, "bench certificate: serial", "t9")
    yield from wide(3, 4, by, serial, words_box("Serial", "As the certificate names the shell."), "small-wide")
    titles = ("shell removed", "certificate dated")
    for at, key, day, title in zip((7, 10), dated, days, titles, strict=True):
        yield words(at - 1, title, "t9-right")
        yield typed(at, key, day, date_box(title.capitalize()), date_look(appraisal))
