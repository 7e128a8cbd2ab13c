"""The whole that a workbook carries."""

from __future__ import annotations

from decimal import Decimal
from typing import Literal

from estimator.records.car import Car
from estimator.records.fields import Id, Model, Text, Words
from estimator.records.job import Job
from estimator.records.shop import Shop
from estimator.records.tables import Tables
from estimator.records.visits import PastVisit


class Fact(Model):
    """A published number as resolved at drafting, with its source in words."""

    id: Id
    title: Words
    text: Words
    si: float
    unit: str
    source: Words
    clause: Text = ""
    kind: Text = ""
    status: Words


class EarlierReading(Model):
    """A reading that was overwritten or cleared though it was bad, not believable or at odds with another.

    `check` is the reference of its row, `phase` before, after or again; `value` a number in `unit`, or words. `counts_as`
    says what stands against the car: a bad reading, one that calls for work alone, one that can't be believed, or one
    that contradicts others.
    """

    check: Words
    phase: Literal["before", "after", "again"]
    value: Words
    unit: Text = ""
    gauge: Text = ""
    day: Text = ""
    by: Text = ""
    verdict: Words
    counts_as: Literal["bad", "called", "doubtful", "contradicts"]


class Room(Model):
    """How many lines each list of a workbook has room for."""

    offers: int = 16
    declined: int = 3
    changes: int = 10
    extra_parts: int = 1
    extra_work: int = 1
    sublet: int = 1
    again: int = 4
    consents: int = 4


class DraftedBand(Model):
    """What the visit could come to when the workbook was written, tax included, and what that rested on: how many weighed
    checks were made, how causes ranked (one number), the total recommended."""

    low: Decimal
    high: Decimal
    made: int
    ranking: float
    total: Decimal


class JobRecord(Model):
    """All that a workbook is made from, without the entries: the boxes alone hold those."""

    shop: Shop
    car: Car
    job: Job
    tables: Tables
    facts: tuple[Fact, ...]
    tables_name: Text = ""
    # Readings that are no longer in their boxes and still count.
    earlier: tuple[EarlierReading, ...] = ()
    # The lines that were done before the readings before work were taken: what the keys of their boxes begin with.
    done_earlier: tuple[Text, ...] = ()
    room: Room = Room()
    band: DraftedBand | None = None

    # Earlier visits of the car, by date, the last one whole. Nothing in them counts as made.
    visits: tuple[PastVisit, ...] = ()

    @property
    def last_visit(self) -> PastVisit | None:
        """The last visit of this car on file when the workbook was drafted."""
        return next((visit for visit in reversed(self.visits) if visit.is_of(self.car.car)), None)

    def fact(self, fact_id: str) -> Fact:
        return next(fact for fact in self.facts if fact.id == fact_id)
