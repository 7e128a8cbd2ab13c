"""The readings of a log as an entries file for `fill`, each with a note that names the log."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator

from estimator.boxes.keys import CheckRef, check_ref, gauge, reading, stated_how, stated_u
from estimator.intake.model_errors import printable
from estimator.limits.judging.stated import LOG
from estimator.pressure_logs.figures import Figure, LogFindings
from estimator.pressure_logs.hold import temperature_at
from estimator.pressure_logs.setting import Measured
from estimator.quantities import UNITS, from_si

DIGEST_LETTERS = 16
# Cut-in and cut-out are read three times.
REPEATS = 3


def entries_text(found: LogFindings, of: Measured, phase: str) -> str:
    """Return the entries of a log's readings as CSV text, with a line for each figure that is none.

    found: figures of the log; of: its system and gauge; phase: "before" or "after" work. Bounds and indications aren't
    entries: a box takes readings.
    """
    text = io.StringIO()
    name = printable(found.log.path.name)
    text.write(f"# Readings from the log {name}, {found.kind}.\n# SHA-256 {found.log.digest}\n")
    for figure in found.figures:
        if figure.ref == "precharge" and len(of.accumulators) > 1:
            text.write(
                "# no entry: several accumulators are open: isolate all but one, and name it with --accumulator\n"
            )
        elif figure.standing != "reading":
            text.write(f"# no entry: {figure.title}, {figure.standing}: {printable(figure.rests_on)}\n")
    rows = csv.writer(text, lineterminator="\n")
    rows.writerow(("key", "value", "unit", "note"))
    rows.writerows(_rows(found, of, phase))
    return text.getvalue()


def note(found: LogFindings, figure: Figure, unit: str) -> str:
    """Return what stands beside a reading from a log: file, digest, standard uncertainty, what it rests on."""
    name, digest = printable(found.log.path.name), found.log.digest[:DIGEST_LETTERS]
    u = f"u {number(figure.u / UNITS[unit].factor, unit)} {unit}; " if figure.parts else ""
    return f"log {name}, sha256 {digest}: {u}{figure.rests_on}"


def number(value: float, unit: str) -> str:
    """Return a number as finely as its unit is shown; a time to tenths, as a recorder has it.

    >>> number(948.26, "psi"), number(62.18, "s")
    ('948', '62.2')
    """
    return f"{value:.{1 if unit == 's' else UNITS[unit].decimals}f}"


def _rows(found: LogFindings, of: Measured, phase: str) -> Iterator[tuple[str, ...]]:
    units = {"pressure": of.pressure_unit, "time": "s"}
    for figure in found.figures:
        ref = _box(figure, of)
        if ref is None or figure.standing != "reading":
            continue
        if figure.quantity == "count":
            yield reading(ref, phase), f"{figure.value:.0f}", "", note(found, figure, "count")
            continue
        unit = units[figure.quantity]
        yield reading(ref, phase), number(from_si(figure.value, unit), unit), unit, note(found, figure, unit)
        if figure.quantity == "pressure":
            yield stated_how(ref, phase), LOG, "", ""
            # Rounded up: what is stated is never less than what was found.
            yield stated_u(ref, phase), f"{math.ceil(from_si(figure.u, unit) * 10) / 10:.1f}", unit, ""
        if figure.quantity == "pressure" and of.gauge and figure.ref != "hold-start":
            yield gauge(ref, phase), of.gauge.id, "", ""
        if figure.ref in ("hold-start", "hold") and found.log.temperature is not None and figure.at is not None:
            which = "hold-start-temperature" if figure.ref == "hold-start" else "hold-end-temperature"
            warm = from_si(temperature_at(found.log, figure.at), "°C")
            yield (
                reading(check_ref(which, of.system), phase),
                f"{warm:.1f}",
                "°C",
                f"log {printable(found.log.path.name)}",
            )


def _box(figure: Figure, of: Measured) -> CheckRef | None:
    """The check that a figure is the reading of; None for what no check asks."""
    what, _, count = figure.ref.partition(".")
    if what == "precharge":
        return check_ref(what, of.accumulators[0]) if len(of.accumulators) == 1 else None
    if what in ("cut-in", "cut-out"):
        return check_ref(what, of.system, int(count)) if int(count) <= REPEATS else None
    if what in ("charge-time", "hold-start", "hold", "applications", "lamp-pressure"):
        return check_ref(what, of.system)
    return None
