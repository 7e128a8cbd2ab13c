"""The limits of a car by themselves, before there is a job: for `estimator limits`."""

from __future__ import annotations

from pathlib import Path

from estimator.errors import InputError, InputProblem
from estimator.intake.car_rules import car_rules
from estimator.intake.limit_rules import limit_rules
from estimator.intake.load_job import published_numbers
from estimator.intake.toml_files import load_toml
from estimator.limits.catalog.limit_set import LimitSet, work_out
from estimator.limits.judging.check_rows import check_rows
from estimator.limits.judging.typed_readings import numeric
from estimator.limits.judging.verdict_words import PHASES
from estimator.records import Car, Floors, JobRecord, Shop, Show


def limits_of_car(car_toml: Path, shop_toml: Path | None = None) -> tuple[JobRecord, LimitSet]:
    """A record that holds a car alone, and its limits; units as a shop shows them.

    The shop is `shop_toml`, else shop.toml beside the car, else none: psi and mm. Raises InputError with every mistake.
    """
    car = load_toml(car_toml, Car)
    wrong = [InputProblem(str(car_toml), *item) for rules in (car_rules, limit_rules) for item in rules(car)]
    if wrong:
        raise InputError(wrong)
    beside = car_toml.parent / "shop.toml"
    if shop_toml is None and beside.is_file():
        shop_toml = beside
    given = load_toml(shop_toml, Shop) if shop_toml else None
    show, floors = (given.show, given.floors) if given else (Show(), Floors())
    shop = Shop.model_construct(show=show, floors=floors, gauges=())
    record = JobRecord.model_construct(shop=shop, car=car, facts=published_numbers(car))
    checks = check_rows(car, show)
    rows = numeric(checks)
    empty = {
        f"judging.{row.ref}.{what}_{phase}": ""
        for row in rows
        for what in ("si", "gauge_u", "held")
        for phase in PHASES
    }
    return record, work_out(record, checks, empty)
