"""The letter's pictures of recorded gauges: only logs whose digest a reading of the workbook names."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from estimator.appraisal import Appraisal
from estimator.errors import InputError, InputProblem
from estimator.letters.charts import Picture
from estimator.letters.formats import capital, figure, listing
from estimator.letters.svg import inline
from estimator.limits.judging.check_rows import CheckRow
from estimator.quantities import from_si

if TYPE_CHECKING:
    from estimator.pressure_logs.figures import Kind

# What a check's reading was read off; a precharge comes from a bleed or a first charge, which are told apart.
_KINDS: dict[str, Kind] = {
    "cut-in": "charging",
    "cut-out": "charging",
    "charge-time": "charging",
    "hold-start": "hold",
    "hold": "hold",
    "applications": "applications",
    "lamp-pressure": "applications",
}


def log_pictures(appraisal: Appraisal, logs: Iterable[Path], workbook: Path) -> tuple[Picture, ...]:
    """Return a picture of each log. Raises InputError for one that no reading of the workbook names, or that can't be read."""
    return tuple(_drawn(appraisal, path, workbook, number) for number, path in enumerate(logs, 1))


def _drawn(appraisal: Appraisal, path: Path, workbook: Path, number: int) -> Picture:
    from estimator.pressure_logs.columns import Wanted
    from estimator.pressure_logs.entries import DIGEST_LETTERS
    from estimator.pressure_logs.kinds import log_findings
    from estimator.pressure_logs.log_file import digest_of, read_log
    from estimator.pressure_logs.picture import PHONE, picture
    from estimator.pressure_logs.setting import measured_of

    rows = list(_named(appraisal, f"sha256 {digest_of(path)[:DIGEST_LETTERS]}"))
    if not rows:
        found = "no reading of the workbook names this log"
        fix = "enter its readings: `estimator log --entries`, then `estimator fill`"
        raise InputError([InputProblem(str(path), "the file", found, "a log that readings came from", fix)])
    car, shop = appraisal.record.car, appraisal.record.shop
    accumulators = {item.id: item.system for item in car.accumulators}
    gauges = [appraisal.entries.readings[row.ref] for row in rows if row.check.quantity == "pressure"]
    gauge = next((boxes.gauge_before or boxes.gauge_after for boxes in gauges), "")
    row, place = rows[0], rows[0].place.id
    system = accumulators.get(place, place)
    of = measured_of(car, workbook, shop, workbook, system, place if place in accumulators else "", gauge)
    recorded = read_log(path, Wanted(), system.removeprefix("system-"))
    told = log_findings(recorded, of.setting, _KINDS.get(row.check.id))
    unit = of.pressure_unit
    title = f"{capital(system.replace('-', ' '))}, recorded: {told.kind}"
    readings = [item for item in told.figures if item.standing == "reading" and item.quantity == "pressure"]
    words = listing(f"{item.title} {figure(from_si(item.value, unit), unit)}" for item in readings[:12])
    svg = picture(told, title, unit, ".svg", PHONE)
    return Picture(inline(svg, f"log-{number}", title, f"Read off it: {words}." if words else title), title, words)


def _named(appraisal: Appraisal, digest: str) -> Iterator[CheckRow]:
    """The checks whose note names a log."""
    return (row for row in appraisal.plan.checks if digest in appraisal.entries.readings[row.ref].note)
