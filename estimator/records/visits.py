"""What a visit of a car measured, as the books and later workbooks keep it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from functools import cached_property
from typing import Annotated

from pydantic import Field

from estimator.records.car import CarIdentity
from estimator.records.fields import Day, Model

SERIAL = "accumulator-serial"
Finite = Annotated[float, Field(allow_inf_nan=False)]


class PastReading(Model):
    """What was read or seen of a check. `value` is what was judged, in `unit` (a precharge at its reference temperature, a
    loss for a hold), or the words; `si` the same in SI with its standard uncertainty `u`, where it counts as a
    measurement."""

    check: str
    phase: str
    value: str
    unit: str = ""
    verdict: str
    si: Finite | None = None
    u: Annotated[Finite, Field(ge=0)] | None = None


class PastVisit(Model):
    """A visit: its dates, what was read before and after work, and what was done.

    `renewed_earlier`, `renewed` and `renewed_since` are the checks that a completed job began anew: before the first
    readings, between the two, after both. `done` are the job lines completed.
    """

    document: str
    revision: int
    car: str
    chassis: str = ""
    car_id: str = ""
    before: Day
    after: Day
    odometer: str = ""
    readings: tuple[PastReading, ...] = ()
    renewed_earlier: tuple[str, ...] = ()
    renewed: tuple[str, ...] = ()
    renewed_since: tuple[str, ...] = ()
    done: tuple[str, ...] = ()

    @cached_property
    def latest(self) -> Mapping[str, PastReading]:
        """The last reading of each check, by its reference: after work where there is one."""
        return {item.check: item for item in sorted(self.readings, key=lambda item: item.phase != "before")}

    @property
    def all_serials(self) -> list[str]:
        """The serials of all accumulators that it saw, before and after work."""
        seen = (plain_serial(item.value) for item in self.readings if item.check.startswith(f"{SERIAL}."))
        return sorted({serial for serial in seen if serial})

    @property
    def serials(self) -> Mapping[str, str]:
        """The serial of each accumulator that the visit left in the car, by its place."""
        found = {ref.partition(".")[2]: item.value for ref, item in self.latest.items() if ref.startswith(f"{SERIAL}.")}
        return {place: plain_serial(value) for place, value in found.items() if plain_serial(value)}

    def day(self, phase: str) -> dt.date:
        return self.before if phase == "before" else self.after

    def is_of(self, car: CarIdentity) -> bool:
        """Whether it is a visit of this car: by chassis number, where one lacks it by id."""
        mine, other = plain_serial(self.chassis), plain_serial(car.chassis_number)
        if mine and other:
            return mine == other
        return bool(car.id) and self.car_id == car.id


def plain_serial(text: str) -> str:
    """Return a serial or chassis number without what people leave out: case, spaces, hyphens.

    >>> plain_serial("KR-1187 "), plain_serial("kr 1187")
    ('KR1187', 'KR1187')
    """
    return "".join(letter for letter in text.upper() if letter.isalnum())
