"""The cases of cases/: each a small change to a good car."""

from __future__ import annotations

import functools
import tomllib
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Any

from estimator.limits.judging.check_rows import check_rows
from tests.never_clear import good_car
from tests.never_clear.good_car import Visit

ROAD = frozenset(("road-stop", "road-pull", "road-pedal", "road-balance"))


@dataclass(frozen=True)
class Case:
    """One table of a file in cases/; the README.md there says what each key means."""

    id: str
    state: str
    why: str
    car: str = "A"
    finding: tuple[str, ...] = ()
    also: tuple[str, ...] = ()
    check: str = ""
    finding_about: str = ""
    severity: str = ""
    absent: tuple[str, ...] = ()
    road: bool = False
    fresh: bool = False
    plain: bool = False
    before: dict[str, Any] = field(default_factory=dict)
    after: dict[str, Any] = field(default_factory=dict)
    gauge: dict[str, str] = field(default_factory=dict)
    gauge_after: dict[str, str] = field(default_factory=dict)
    empty: tuple[str, ...] = ()
    why_box: dict[str, str] = field(default_factory=dict)
    done: tuple[str, ...] = ()
    since: tuple[str, ...] = ()
    decision: str = "authorized"
    remeasured: str = ""
    but: tuple[str, ...] = ()
    again: tuple[dict[str, Any], ...] = ()
    touched: dict[str, str] = field(default_factory=dict)
    limit: dict[str, dict[str, str]] = field(default_factory=dict)
    no_limit: tuple[str, ...] = ()
    datum: dict[str, dict[str, Any]] = field(default_factory=dict)
    gauges: dict[str, dict[str, Any]] = field(default_factory=dict)
    set: dict[str, Any] = field(default_factory=dict)
    unset: tuple[str, ...] = ()

    @property
    def about(self) -> str:
        return self.finding_about or self.check

    @property
    def more_jobs(self) -> bool:
        """Whether it names a job beside the few."""
        named = {line.split(".")[0] for line in (*self.done, *self.since)} | set(self.touched.values())
        return bool(named & set(good_car.MORE))

    def visit(self) -> Visit:
        """The good car, changed."""
        visit = good_car.fresh_car(self.car) if self.fresh else good_car.good_car(self.car, self.more_jobs)
        visit.record = self._record(visit)
        self._readings(visit)
        for line in (*self.done, *self.since):
            visit.done(line, "completed since last readings" if line in self.since else "completed", self.decision)
            self._remeasure(visit, line)
        for ref, value in self.after.items():
            visit.read(ref, value, "after", self.gauge_after.get(ref))
        for number, item in enumerate(self.again, 1):
            given = {name: what for name, what in item.items() if name in ("value", "gauge")}
            dated = {"date": None} if item.get("undated") else {}
            visit.measured_again(number, item["check"], **given, **dated)
        for line, word in self.touched.items():
            visit.set(f"{line}.touched", word)
        for key, value in self.set.items():
            visit.set(key, value)
        for key in self.unset:
            visit.unset(key)
        return visit

    def _record(self, visit: Visit) -> Any:
        record = visit.record
        for check, sides in self.limit.items():
            record = good_car.with_limit(record, check, sides)
        for check in self.no_limit:
            record = good_car.without_limit(record, check)
        for table, values in self.datum.items():
            record = good_car.with_datum(record, table, values)
        for gauge, changes in self.gauges.items():
            record = good_car.with_gauge(record, gauge, **changes)
        return good_car.with_plain_comparison(record) if self.plain else record

    def _readings(self, visit: Visit) -> None:
        rows = {row.ref for row in check_rows(visit.record.car, visit.record.shop.show)}
        named = {*self.before, *self.after, *self.gauge, *self.empty, *self.why_box, *self.but}
        assert named <= rows, f"{self.id}: no such check: {named - rows}"
        for ref, value in self.before.items():
            visit.read(ref, value)
        for ref, gauge in self.gauge.items():
            visit.set(f"reading.{ref}.gauge_before", gauge)
        for ref in self.empty:
            visit.unset(f"reading.{ref}.before")
        for ref, word in self.why_box.items():
            visit.set(f"reading.{ref}.why", word)

    def _remeasure(self, visit: Visit, line: str) -> None:
        voided = visit.voided(line)
        assert voided, f"{self.id}: {line} voids nothing"
        good = good_car.good_car(self.car)
        for ref in voided:
            road = ref.split(".")[0] in ROAD
            if ref not in self.but and (self.remeasured == "all" or (self.remeasured == "static" and not road)):
                visit.read(ref, good.get(f"reading.{ref}.before"), "after", good.get(f"reading.{ref}.gauge_before"))


@functools.cache
def cases() -> tuple[Case, ...]:
    """Every case, in the order of the files."""
    files = sorted((Path(__file__).parent / "cases").glob("*.toml"))
    tables = [table for file in files for table in tomllib.loads(file.read_text(encoding="utf-8"))["case"]]
    names = {item.name for item in fields(Case)}
    found = []
    for table in tables:
        given = dict(table)
        given["but"] = given.pop("except", [])
        assert given.keys() <= names, f"{table['id']}: {given.keys() - names}"
        found.append(
            Case(**{name: tuple(value) if isinstance(value, list) else value for name, value in given.items()})
        )
    return tuple(found)
