"""One visit: the document, the customer, what is asked for."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated

from pydantic import Field

from estimator.records.fields import (
    Condition,
    Day,
    DocumentNumber,
    Id,
    Model,
    Money,
    PartFamily,
    Pieces,
    Text,
    Words,
)


class Customer(Model):
    name: Words
    address: tuple[Words, ...] = ()
    phone: Text = ""
    email: Text = ""


class AskedJob(Model):
    """A requested job; `at` may be "all" in job.toml, never in a record."""

    job: Id
    at: Id = "car"


class ExtraPart(Model):
    description: Words
    quantity: Pieces
    unit: Words = "each"
    unit_cost: Money
    core_deposit: Money = Decimal(0)
    condition: Condition = "new"
    fluid_family: PartFamily = "any"


class Sublet(Model):
    description: Words
    supplier: Words
    amount: Money


class Substitute(Model):
    """A part taken in place of another: what was compared, and who approved it."""

    part: Id
    job: Id
    at: Id
    description: Words
    unit_cost: Money
    fluid_family: PartFamily = "any"
    compared: Words
    approved_by: Text = ""


class Job(Model):
    document: DocumentNumber
    revision: Annotated[int, Field(ge=1, le=999, strict=True)] = 1
    date: Day
    customer: Customer
    odometer: Text = ""
    complaint: Words
    jobs: tuple[AskedJob, ...] = ()
    # Checks made on demand that were requested.
    checks: tuple[Id, ...] = ()
    extra_parts: tuple[ExtraPart, ...] = ()
    sublet: tuple[Sublet, ...] = ()
    substitutes: tuple[Substitute, ...] = ()
    # Notes of the shop are never shown to the customer.
    shop_notes: tuple[Words, ...] = ()
    customer_notes: tuple[Words, ...] = ()
