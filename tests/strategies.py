"""Whole jobs, drawn by hypothesis: a record that intake accepts, and what people typed into its boxes.

The structure is drawn piece by piece; what fills hundreds of boxes comes from one drawn seed and one drawn temper
(all blank, all good, near the limits, junk and so on), so that a job stays small enough to draw.
"""

from __future__ import annotations

import datetime as dt
import functools
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Any

from boxes_by_key import appraise_boxes, first_boxes
from car_strategies import cars, demo_record
from desk_entries import NOT_NUMBERS, desk_entries
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st
from shop_strategies import DAY, TEXTS, shops, tables, visits

from estimator.appraisal import Appraisal
from estimator.errors import InputProblem
from estimator.intake.csv_rows import Line
from estimator.intake.labor_tables import JobCheckRow, JobStepRow
from estimator.intake.load_job import published_numbers
from estimator.intake.references import Files, reference_problems
from estimator.intake.table_rules import cross_problems, row_problems
from estimator.limits.judging.check_rows import CheckRow
from estimator.limits.judging.judging import Judged
from estimator.limits.judging.verdict_words import FAMILY_WORDS, LOOK_WORDS, PHASES, WHY_WORDS
from estimator.limits.sheet_arithmetic import serial
from estimator.records import EntryValue, JobRecord

Entries = dict[str, EntryValue]
TEMPERS = ("blank", "good", "good twice", "bad", "near", "mixed", "junk")


@dataclass(frozen=True)
class WholeJob:
    record: JobRecord
    entries: Entries
    temper: str = ""

    def again(self, temper: str, start: int) -> WholeJob:
        """The same visit, with other entries in its boxes."""
        return WholeJob(self.record, entries_of(self.record, temper, Random(start)), temper)

    def _repr_pretty_(self, printer: Any, cycle: bool) -> None:
        """How hypothesis prints it."""
        printer.text(repr(self))

    def __repr__(self) -> str:
        car, shop = self.record.car, self.record.shop
        return (
            f"<job {self.record.job.document} variant {car.car.variant} {car.fluid.family} systems {len(car.systems)} "
            f"{shop.show.pressure} {shop.labor.basis} tax {shop.tax.kind}/{shop.tax.scope} "
            f"jobs {len(self.record.tables.jobs)} entries {len(self.entries)} {self.temper}>"
        )


@st.composite
def records(draw: st.DrawFn, most_jobs: int = 6) -> JobRecord:
    car = draw(cars())
    of = draw(tables(car, most_jobs))
    return JobRecord(
        shop=draw(shops()),
        car=car,
        job=draw(visits(car, of)),
        tables=of,
        facts=published_numbers(car),
        tables_name="labor_tables",
    )


@st.composite
def whole_jobs(draw: st.DrawFn, most_jobs: int = 6, tempers: tuple[str, ...] = TEMPERS) -> WholeJob:
    record = draw(records(most_jobs))
    temper = draw(st.sampled_from(tempers))
    return WholeJob(record, entries_of(record, temper, Random(draw(st.integers(0, 2**32 - 1)))), temper)


@functools.cache
def generated(batch: int, count: int, most_jobs: int = 6) -> tuple[WholeJob, ...]:
    """`count` jobs, the same at each run; batches differ, and every batch has all tempers in turn.

    Within a run hypothesis varies what it drew before, beginning with the simplest. So each job is the last of a short
    run of its own.
    """
    found: list[WholeJob] = []
    for number in range(batch * count, (batch + 1) * count):
        record, start = _drawn(number, most_jobs)
        temper = TEMPERS[number % len(TEMPERS)]
        found.append(WholeJob(record, entries_of(record, temper, Random(start)), temper))
    return tuple(found)


def _drawn(number: int, most_jobs: int) -> tuple[JobRecord, int]:
    drawn: list[tuple[JobRecord, int]] = []

    @seed(number)
    @settings(
        max_examples=2, database=None, deadline=None, phases=[Phase.generate], suppress_health_check=list(HealthCheck)
    )
    @given(st.integers(0, 2**32 - 1), records(most_jobs))
    def collect(start: int, record: JobRecord) -> None:
        drawn.append((record, start))

    collect()
    return drawn[-1]


def intake_problems(record: JobRecord) -> list[InputProblem]:
    """What intake would say of a record, if its parts stood in files."""
    where, of = Path("generated"), record.tables
    rows = {
        "jobs.csv": of.jobs,
        "steps.csv": of.steps,
        "parts.csv": of.parts,
        "job_parts.csv": of.job_parts,
        "calls.csv": of.calls,
        "causes.csv": of.causes,
        "tests.csv": of.tests,
        "packages.csv": (),
        "job_steps.csv": [JobStepRow(job_id=job, step_id=step) for job, step in of.job_steps],
        "job_checks.csv": [JobCheckRow(job_id=job, check_id=check, cures=cures) for job, check, cures in of.job_checks],
    }
    lines = {name: [Line(where / name, n, row) for n, row in enumerate(items, 2)] for name, items in rows.items()}
    found = [problem for name, items in lines.items() for problem in row_problems(name, items)]
    found += cross_problems(lines)
    files = Files(where / "shop.toml", where / "car.toml", where / "job.toml", where)
    return [*found, *reference_problems(record.shop, record.car, record.job, of, files)]


# --- what people type -------------------------------------------------------------------------------------------------


def entries_of(record: JobRecord, temper: str, rng: Random) -> Entries:
    """The entries of a fresh workbook, and what a mechanic and an advisor of this temper typed on top."""
    entries = first_boxes(record)
    blank = appraise_boxes(record, {})
    entries |= dict(readings(blank, temper, rng))
    if temper != "blank":
        entries |= dict(desk_entries(blank, rng, junk=temper == "junk"))
    if temper in ("mixed", "junk"):
        entries |= dict(stated(blank, temper, rng))
    for key in [key for key in entries if temper in ("junk", "mixed") and rng.random() < 0.05]:
        del entries[key]
    return entries


def readings(blank: Appraisal, temper: str, rng: Random) -> Iterator[tuple[str, EntryValue]]:
    """What stands in the boxes of the Inspection tab. `blank` is the appraisal without entries."""
    judged = {item.ref: item for item in blank.judged}
    for phase in PHASES:
        if temper != "blank" and rng.random() < 0.7:
            yield f"visit.{phase}.by", rng.choice(TEXTS)
            yield f"visit.{phase}.date", rng.choice((DAY, DAY, dt.date(2027, 3, 1), dt.date(2026, 8, 1)))
    if temper == "junk":
        yield "visit.before.date", rng.choice(("yesterday", 12.5))
    for row in blank.plan.checks:
        for phase in PHASES:
            if not (temper == "blank" or (temper in ("good", "bad", "near") and phase == "after")):
                yield from _one_reading(row, judged.get(row.ref), phase, blank, temper, rng)
        if temper in ("mixed", "junk") and rng.random() < 0.12:
            yield f"reading.{row.ref}.why", rng.choice(WHY_WORDS)
        if temper in ("mixed", "junk") and rng.random() < 0.12:
            yield f"reading.{row.ref}.note", rng.choice(TEXTS)


def stated(blank: Appraisal, temper: str, rng: Random) -> Iterator[tuple[str, EntryValue]]:
    """How readings were made, and their stated uncertainty."""
    for row in blank.plan.checks:
        for phase in PHASES:
            if row.check.read_by and rng.random() < 0.5:
                yield f"stated.{row.ref}.how_{phase}", rng.choice((*row.check.read_by, "Log"))
            if row.check.read_by and rng.random() < 0.5:
                junk: EntryValue = rng.choice(("27 psi", "27", -5.0, 1e7))
                yield f"stated.{row.ref}.u_{phase}", junk if temper == "junk" else round(rng.uniform(0, 80), 1)


def _one_reading(
    row: CheckRow, item: Judged | None, phase: str, blank: Appraisal, temper: str, rng: Random
) -> Iterator[tuple[str, EntryValue]]:
    value = _reading(row, item, blank, temper, rng)
    if value is not None:
        yield f"reading.{row.ref}.{phase}", value
    gauges = _fitting(row, blank)
    if gauges and temper in ("mixed", "junk") and rng.random() < 0.4:
        yield f"reading.{row.ref}.gauge_{phase}", rng.choice(gauges)
    elif gauges and temper not in ("mixed", "junk"):
        yield f"reading.{row.ref}.gauge_{phase}", finest(row, blank)


def _fitting(row: CheckRow, blank: Appraisal) -> list[str]:
    if not row.check.measured:
        return []
    return [gauge.ref for gauge in blank.gauges if gauge.gauge.measures == row.check.quantity]


def finest(row: CheckRow, blank: Appraisal) -> str:
    """The gauge in date with the smallest uncertainty for a row; any, where all are past their date."""
    fitting = [gauge for gauge in blank.gauges if gauge.gauge.measures == row.check.quantity]
    return min(fitting, key=lambda gauge: (serial(gauge.due) < serial(DAY), gauge.u_si)).ref


def _reading(row: CheckRow, item: Judged | None, blank: Appraisal, temper: str, rng: Random) -> EntryValue | None:
    if temper == "junk" and rng.random() < 0.3:
        return (
            rng.choice((*NOT_NUMBERS, 0.0, -1.0, 1e6, 1e-6, 1e12, 123456.789))
            if item is not None
            else rng.choice(TEXTS)
        )
    if temper in ("mixed", "junk"):
        chosen = rng.choice(("good", "good", "bad", "near", "blank", "random"))
        if chosen == "blank":
            return None
    else:
        chosen = temper
    if item is None:
        return _look(row, blank, chosen, rng)
    if chosen == "random":
        return round(rng.uniform(0, rng.choice((10, 100, 3000))), rng.choice((0, 1, 2)))
    return float(f"{number_for(item, blank, chosen, rng):.9g}")


def _look(row: CheckRow, blank: Appraisal, chosen: str, rng: Random) -> EntryValue:
    good = chosen.startswith("good")
    if row.check.kind == "text":
        return rng.choice(TEXTS)
    if row.check.kind == "family":
        return blank.record.car.fluid.family if good else rng.choice(FAMILY_WORDS)
    return LOOK_WORDS[0] if good else rng.choice(LOOK_WORDS)


FIRST_MINUTES = {"first-presses": 25.0, "first-braking": 60.0}


def number_for(item: Judged, blank: Appraisal, chosen: str, rng: Random) -> float:
    """A reading in the shown unit: well within the limits, well outside, or at a limit give or take U."""

    def shown(si: float) -> float:
        return (si - item.offset) / item.factor

    if item.row.check.kind == "recorded":
        return shown(_recorded(item, blank))
    low, high = (item.values[f"service_{side}"] for side in ("low", "high"))
    known = [si for si in (low, high) if not isinstance(si, str)]
    if not known:
        return round(rng.uniform(1, 50), 1)
    gauge = (
        next((row for row in blank.gauges if row.ref == finest(item.row, blank)), None)
        if item.row.check.measured
        else None
    )
    u = 2 * gauge.u_si if gauge is not None else float(item.fixed_u) * item.factor
    span = max(8 * u, abs(known[0]) * 0.4 if item.offset == 0 else 30.0)
    inside = sum(known) / 2 if len(known) == 2 else known[0] + (span if known[0] is low else -span)
    outside = rng.choice([si + (-span if si is low else span) for si in known])
    at = rng.choice(known) + rng.choice((-1, -1, 0, 0.5, 1, 1)) * u * rng.choice((1, 1, 1.0001))
    wanted = {"bad": outside, "near": at}.get(chosen, inside)
    if item.derived.before and item.row.check.id == "hold":
        settled = blank.workings.si(f"{item.row.place.id}.cut-out")
        return shown(float(settled) - wanted if chosen in ("bad", "near") else float(settled) - wanted / 8)
    return shown(wanted)


def _recorded(item: Judged, blank: Appraisal) -> float:
    """Temperatures as the datum says; the settled pressure at cut-out; an idle speed; presses and seconds between pump starts."""
    place = item.row.place
    if item.row.check.id in FIRST_MINUTES:
        return FIRST_MINUTES[item.row.check.id]
    if item.row.check.id == "idle-speed":
        return 700 / 60
    if item.row.check.id == "gas-temperature":
        return next(acc for acc in blank.record.car.accumulators if acc.id == place.id).precharge_temperature.si
    if item.row.check.quantity == "temperature":
        return 293.15
    return next(system for system in blank.record.car.systems if system.id == place.id).cut_out.si


__all__ = ["TEMPERS", "WholeJob", "demo_record", "entries_of", "generated", "intake_problems", "whole_jobs"]
