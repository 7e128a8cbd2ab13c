"""The whole that a workbook carries."""

from __future__ import annotations

from typing import Literal

from estimator.records.car import Car
from estimator.records.fields import Id, Model, Text, Words
from estimator.records.job import Job
from estimator.records.shop import Shop
from estimator.records.tables import Tables


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

    offers: int = 20
    changes: int = 10
    extra_parts: int = 2
    extra_work: int = 1
    sublet: int = 2
    again: int = 6
    consents: int = 6


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

    def fact(self, fact_id: str) -> Fact:
        return next(fact for fact in self.facts if fact.id == fact_id)
