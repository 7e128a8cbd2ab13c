"""What must hold between job.toml, the car, the shop and the labor tables."""

from __future__ import annotations

from collections.abc import Iterator

from estimator.facts.checks import checks
from estimator.intake.input_errors import Wrong, at, unknown
from estimator.intake.model_errors import choices
from estimator.places import ALL
from estimator.records import AskedJob, Car, Job, JobRow, Shop, Tables


def rate_rules(tables: Tables, shop: Shop) -> Iterator[Wrong]:
    """Each rate that a job names is one of the shop's."""
    rates = [rate.id for rate in shop.labor.rates]
    for job in tables.jobs:
        if job.rate not in rates:
            yield unknown(f'job_id "{job.job_id}", column "rate"', job.rate, rates, "the rates of the shop file")


def interval_rules(car: Car, tables: Tables) -> Iterator[Wrong]:
    """Each job that an interval names is one of the labor tables, at a place that it can have."""
    known = {row.job_id: row for row in tables.jobs}
    for index, interval in enumerate(car.intervals):
        for job in interval.jobs:
            for place in interval.at:
                yield from _job_at("intervals", index, job, place, known, car)


def job_rules(job: Job, car: Car, tables: Tables) -> Iterator[Wrong]:
    """Each job asked for, and each substitute, is of the tables and stands at a place where this car can have it."""
    known = {row.job_id: row for row in tables.jobs}
    asked: dict[tuple[str, str], int] = {}
    for index, item in enumerate(job.jobs):
        yield from _job_at("jobs", index, item.job, item.at, known, car, everywhere=True)
        for place in _places_of(item, known, car):
            first = asked.setdefault((item.job, place), index)
            if first != index:
                found = f'"{item.job}" at "{place}" stands twice'
                yield Wrong(at("jobs", index), found, f"number {first + 1} requests it already", "take one of them out")
    for check_id in job.checks:
        if check_id not in (ids := [check.id for check in checks()]):
            yield unknown('key "checks"', check_id, ids, "the Inspection tab")
    yield from _substitutes(job, car, tables, known)


def _places_of(item: AskedJob, known: dict[str, JobRow], car: Car) -> list[str]:
    """Where a requested job is done."""
    row = known.get(item.job)
    return [place.id for place in row.places(car)] if item.at == ALL and row else [item.at]


def with_places(job: Job, car: Car, tables: Tables) -> Job:
    """The job whose "all" is the places of this car."""
    known = {row.job_id: row for row in tables.jobs}
    jobs = tuple(AskedJob(job=item.job, at=place) for item in job.jobs for place in _places_of(item, known, car))
    return job.model_copy(update={"jobs": jobs})


def _substitutes(job: Job, car: Car, tables: Tables, known: dict[str, JobRow]) -> Iterator[Wrong]:
    parts = [part.part_id for part in tables.parts]
    taken: dict[tuple[str, str, str], int] = {}
    for index, item in enumerate(job.substitutes):
        yield from _job_at("substitutes", index, item.job, item.at, known, car)
        of_job = [row.part_id for row in tables.job_parts if row.job_id == item.job]
        if item.part not in parts:
            yield unknown(at("substitutes", index, "part"), item.part, parts, "parts.csv")
        elif item.job in known and item.part not in of_job:
            yield unknown(at("substitutes", index, "part"), item.part, of_job, f'the parts of "{item.job}"')
        first = taken.setdefault((item.part, item.job, item.at), index)
        if first != index:
            found = f'"{item.part}" of "{item.job}" at "{item.at}" has a substitute already'
            yield Wrong(at("substitutes", index), found, f"number {first + 1} is it", "take one of them out")


def _job_at(
    table: str, index: int, job_id: str, place_id: str, known: dict[str, JobRow], car: Car, *, everywhere: bool = False
) -> Iterator[Wrong]:
    row = known.get(job_id)
    if row is None:
        yield unknown(at(table, index, "jobs" if table == "intervals" else "job"), job_id, known, "jobs.csv")
        return
    if not row.applies_to(car):
        found = f'"{job_id}" is for cars with {row.applies_if}'
        has = f"this car has variant {car.car.variant}, {car.fluid.family} fluid, and not what the job is for"
        yield Wrong(at(table, index, "job"), found, has, "take the job out")
        return
    places = [place.id for place in row.places(car)]
    if place_id not in places and not (everywhere and places and place_id == ALL):
        place = at(table, index, "at")
        if not places:
            yield Wrong(place, f'"{place_id}"', f'this car has no place for "{job_id}"', "take the job out")
        elif car.places.find(place_id) is None:
            yield unknown(place, place_id, [ALL, *places] if everywhere else places, f'the places of "{job_id}"')
        else:
            yield Wrong(place, f'"{place_id}"', f'"{job_id}" is done at {choices(places)}', "correct the place")
