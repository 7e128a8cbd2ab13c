"""A car of the demo on which every check was made and is good, and changes to it: the one place that knows entries.

The figures are those of a sound car exactly as its maker states (`tests/never_ground/sound_cars.py`).
"""

from __future__ import annotations

import datetime as dt
import functools
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from estimator.appraisal import Appraisal
from estimator.errors import Finding
from estimator.findings import appraisal_findings
from estimator.limits.judging.driving import STATE_SLUGS
from estimator.limits.judging.standing import Standing
from estimator.pricing.plan import plan
from estimator.quantities import Quantity
from estimator.records import CarLimit, Gauge, JobRecord
from tests.boxes_by_key import appraise_boxes, first_boxes
from tests.limit_cars import demo, with_car
from tests.never_ground.sound_cars import readings

FILES = {"A": "job.toml", "B": "job_mineral.toml"}
READ_ON, WORKED_ON = dt.date(2026, 11, 25), dt.date(2026, 11, 27)
# Worst first; the first two rank alike.
STATES = ("not-measured", "do-not-drive", "shop-road-test-only", "no-do-not-drive-finding")
RANK = {"not-measured": 0, "do-not-drive": 0, "shop-road-test-only": 1, "no-do-not-drive-finding": 2}
# The jobs that job.toml asks for, what these include, and those of most cases: a workbook of few jobs is made quickly.
FEW = (
    "bleed-pedal-circuit",
    "bleed-system",
    "complete-fluid-renewal",
    "front-pads",
    "leakage-pan-service",
    "pressure-test-diagnostic",
    "road-test",
)
# The others that some cases name.
MORE = (
    "accumulator-check-recharge",
    "accumulator-diaphragm-renewal",
    "accumulator-exchange",
    "front-rotors",
    "hub-bearing-adjust",
    "precharge-measurement",
    "rear-caliper-overhaul",
    "rear-pads",
    "rear-rotors",
    "wheel-measurement",
)
# The trade's yardstick is 1 to 1½ in; the maker of this car (invented) allows a little more on both sides.
PEDAL = CarLimit(
    check="pedal-movement",
    service_low=Quantity.of(20, "mm"),
    service_high=Quantity.of(40, "mm"),
    danger_low=Quantity.of(12, "mm"),
    danger_high=Quantity.of(60, "mm"),
    source="Corvane workshop manual, section 6 (invented for the test)",
)


@dataclass
class Visit:
    """A record and what stands in its boxes, to be changed before it is appraised."""

    record: JobRecord
    entries: dict[str, Any] = field(default_factory=dict)

    def copy(self) -> Visit:
        return Visit(self.record, dict(self.entries))

    def set(self, key: str, value: object) -> None:
        """Type a value into a box: a number, a word, a date."""
        self.entries[key] = float(value) if isinstance(value, int | float) else value

    def get(self, key: str) -> Any:
        """What stands in a box; None for an empty one."""
        return self.entries.get(key)

    def unset(self, key: str) -> None:
        """Empty a box."""
        self.entries.pop(key, None)

    def read(self, ref: str, value: object, phase: str = "before", gauge: str | None = None) -> None:
        """Type a reading, and its gauge where another one is given."""
        self.set(f"reading.{ref}.{phase}", value)
        if gauge:
            self.set(f"reading.{ref}.gauge_{phase}", gauge)

    def read_again(self, ref: str, phase: str = "after") -> None:
        """The reading before work, read once more with the same gauge after it."""
        for before, after in ((f"reading.{ref}.before", f"reading.{ref}.{phase}"), gauge_keys(ref, phase)):
            if before in self.entries:
                self.entries[after] = self.entries[before]

    def measured_again(
        self, number: int, ref: str, value: object, gauge: str = "", date: dt.date | None = READ_ON
    ) -> None:
        """A line of the block "Measured again"."""
        given = {"check": ref, "value": value, "gauge": gauge, "date": date, "by": "Tam Orrick"}
        for name, what in given.items():
            if what not in ("", None):
                self.set(f"again.{number}.{name}", what)

    def done(self, line: str, word: str = "completed", decision: str = "authorized") -> None:
        """A job agreed to and marked done."""
        self.set(f"line.{line}.decision", decision)
        self.set(f"line.{line}.done", word)

    def voided(self, line: str) -> list[str]:
        """The checks that the labor tables say a job voids."""
        return [row.ref for of, row in plan(self.record).voids if of.ref == line]

    def appraise(self) -> Appraised:
        return Appraised(appraise_boxes(self.record, self.entries))


@dataclass(frozen=True)
class Appraised:
    """What an appraisal says, in the words of `check --json`."""

    appraisal: Appraisal

    @property
    def state(self) -> str:
        return STATE_SLUGS[self.appraisal.driving.state]

    @property
    def rank(self) -> int:
        return RANK[self.state]

    @property
    def grounding(self) -> list[str]:
        """The checks that keep the car off the road, road checks among them."""
        return [item.ref for item in self.standings if item.concern]

    @property
    def standings(self) -> tuple[Standing, ...]:
        return self.appraisal.standings

    @functools.cached_property
    def findings(self) -> tuple[Finding, ...]:
        return appraisal_findings(self.appraisal)

    def said(self, rules: Iterable[str], check: str = "") -> list[Finding]:
        """The findings of these rules about a check (the beginning of its reference, of its key or in its words)."""
        return [item for item in self.findings if item.rule in rules and (not check or about(item, check))]


def about(finding: Finding, check: str) -> bool:
    """Whether a finding is about a check: its key is of one of its boxes, or its words name it."""
    return check in (finding.key or "") or check in finding.what


def gauge_keys(ref: str, phase: str) -> tuple[str, str]:
    return f"reading.{ref}.gauge_before", f"reading.{ref}.gauge_{phase}"


@functools.cache
def record_of(car: str, more_jobs: bool = False) -> JobRecord:
    """The demo's record with a few of its jobs; its first car with a maker's limit for pedal movement, which decides."""
    record = with_jobs(demo(FILES[car]), (*FEW, *MORE) if more_jobs else FEW)
    if car == "B":
        return record
    others = tuple(item for item in record.car.limits if item.check != "pedal-movement")
    return with_car(record, record.car.model_copy(update={"limits": (*others, PEDAL)}))


@functools.cache
def _good(car: str, more_jobs: bool) -> Visit:
    record = record_of(car, more_jobs)
    visit = Visit(record, first_boxes(record))
    visit.set("visit.before.date", READ_ON)
    visit.set("visit.before.by", "Tam Orrick")
    for ref, (value, gauge) in readings(record).items():
        visit.read(ref, value, gauge=gauge)
        if gauge:
            visit.set(f"reading.{ref}.gauge_after", gauge)
    return visit


def good_car(car: str = "A", more_jobs: bool = False) -> Visit:
    """Every check made before work and good, all gauges in date, no job done."""
    return _good(car, more_jobs).copy()


def fresh_car(car: str = "A") -> Visit:
    """As drafted: defaults alone."""
    record = record_of(car)
    return Visit(record, first_boxes(record))


def with_jobs(record: JobRecord, kept: Iterable[str]) -> JobRecord:
    """The labor tables with these jobs alone: an appraisal takes half the time."""
    jobs, of = set(kept), record.tables
    tables = of.model_copy(
        update={
            "jobs": tuple(row for row in of.jobs if row.job_id in jobs),
            "job_steps": tuple(row for row in of.job_steps if row[0] in jobs),
            "job_checks": tuple(row for row in of.job_checks if row[0] in jobs),
            "job_parts": tuple(row for row in of.job_parts if row.job_id in jobs),
            "calls": tuple(row for row in of.calls if row.job_id in jobs),
        }
    )
    return record.model_copy(update={"tables": tables})


# --- changes of the record --------------------------------------------------------------------------------------------


def with_limit(record: JobRecord, check: str, sides: Mapping[str, str]) -> JobRecord:
    """car.toml gives these sides for a check, at every place; what it gave before on other sides stays."""
    given = {side: _quantity(text) for side, text in sides.items()}
    old = [item for item in record.car.limits if item.check == check]
    others = tuple(item for item in record.car.limits if item.check != check)
    new = [item.model_copy(update=given) for item in old] or [
        CarLimit(check=check, source="a manual, invented for the test", **given)
    ]
    return with_car(record, record.car.model_copy(update={"limits": (*others, *new)}))


def without_limit(record: JobRecord, check: str) -> JobRecord:
    others = tuple(item for item in record.car.limits if item.check != check)
    return with_car(record, record.car.model_copy(update={"limits": others}))


def with_gauge(record: JobRecord, gauge: str, **changes: Any) -> JobRecord:
    """One gauge of shop.toml changed."""
    assert any(item.id == gauge for item in record.shop.gauges)

    def made(item: Gauge) -> Gauge:
        return Gauge.model_validate(item.model_dump() | changes) if item.id == gauge else item

    shop = record.shop.model_copy(update={"gauges": tuple(made(item) for item in record.shop.gauges)})
    return record.model_copy(update={"shop": shop})


def with_datum(record: JobRecord, table: str, values: Mapping[str, Any]) -> JobRecord:
    """A table of car.toml changed; for a list of tables, all of its rows; an empty mapping takes the table out."""
    held = getattr(record.car, table)
    given = {
        name.removesuffix("_text"): _quantity(text) if isinstance(text, str) and not name.endswith("_text") else text
        for name, text in values.items()
    }
    new: object
    if isinstance(held, tuple):
        new = tuple(item.model_copy(update=given) for item in held) if given else ()
    else:
        new = held.model_copy(update=given) if given else None
    return with_car(record, record.car.model_copy(update={table: new}))


def _quantity(text: str) -> Quantity:
    number, _, unit = text.partition(" ")
    return Quantity.of(float(number), unit or "count")


def with_plain_comparison(record: JobRecord) -> JobRecord:
    """The shop compares plainly what isn't critical for safety."""
    verdicts = record.shop.verdicts.model_copy(update={"plain_comparison": True})
    return record.model_copy(update={"shop": record.shop.model_copy(update={"verdicts": verdicts})})
