"""The whole that a workbook carries."""

from __future__ import annotations

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


class JobRecord(Model):
    """All that a workbook is made from, without the entries: the boxes alone hold those."""

    shop: Shop
    car: Car
    job: Job
    tables: Tables
    facts: tuple[Fact, ...]
    tables_name: Text = ""

    def fact(self, fact_id: str) -> Fact:
        return next(fact for fact in self.facts if fact.id == fact_id)
