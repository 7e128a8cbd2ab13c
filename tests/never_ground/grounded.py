"""How many sound cars are grounded by their readings."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from random import Random

from estimator.quantities import Quantity
from estimator.records import JobRecord
from tests.limit_cars import with_car
from tests.never_clear.good_car import READ_ON, Visit, fresh_car
from tests.never_ground.sound_cars import readings

SHARE = 0.02


def varied(record: JobRecord, rng: Random) -> JobRecord:
    """The car's datum a little otherwise: mass, shells, strokes; what the maker states of pressures stays."""

    def scaled(quantity: Quantity, low: float, high: float) -> Quantity:
        return Quantity.of(round(quantity.value * rng.uniform(low, high), 3), quantity.unit)

    car, volume = record.car, rng.uniform(1.0, 1.25)
    body = car.body.model_copy(update={"mass": scaled(car.body.mass, 0.95, 1.05)})
    accumulators = tuple(
        item.model_copy(update={"volume": scaled(item.volume, volume, volume)}) for item in car.accumulators
    )
    # A charging time allowed grows with the shell.
    limits = tuple(
        item.model_copy(update={"service_high": scaled(item.service_high, volume, volume)})
        if item.check == "charge-time"
        else item
        for item in car.limits
    )
    return with_car(record, car.model_copy(update={"body": body, "accumulators": accumulators, "limits": limits}))


def sound_car(car: str, seed: int) -> Visit:
    """A sound car with every check made once."""
    rng = Random(f"{car} {seed}")
    visit = fresh_car(car)
    visit.record = varied(visit.record, rng)
    visit.set("visit.before.date", READ_ON)
    for ref, (value, gauge) in readings(visit.record, rng).items():
        visit.read(ref, value, gauge=gauge)
    return visit


def grounded(cars: Iterable[tuple[str, int]]) -> tuple[int, Counter[str]]:
    """How many of these cars aren't cleared, and the checks behind it."""
    count, behind = 0, Counter[str]()
    for car, seed in cars:
        found = sound_car(car, seed).appraise()
        if found.state != "no-do-not-drive-finding":
            count += 1
            behind.update({ref.split(".")[0] for ref in found.grounding} or {found.state})
    return count, behind


def most(cars: int, share: float = SHARE, doubt: float = 0.001) -> int:
    """The greatest count that `cars` draws with this probability exceed no oftener than `doubt` (binomial)."""
    exceeds, count = 1.0, -1
    while exceeds > doubt:
        count += 1
        exceeds -= math.comb(cars, count) * share**count * (1 - share) ** (cars - count)
    return count


def told(count: int, of: int, behind: Counter[str]) -> str:
    return f"{count} of {of} grounded, by {dict(behind.most_common())}"
