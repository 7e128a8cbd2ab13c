"""The labor tables: jobs, steps, parts, causes, what tests tell, what a finding calls for, what a job makes void."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from estimator.places import Place
from estimator.records.car import Car, CarsWith
from estimator.records.fields import (
    Condition,
    Day,
    Id,
    Model,
    Money,
    OptionalId,
    PartFamily,
    Pieces,
    PlaceKind,
    TaxClass,
    Text,
    Words,
    amount_of,
)

Chance = Annotated[float, Field(ge=0.001, le=0.999, allow_inf_nan=False)]
Hours = Annotated[float, Field(ge=0, le=100, allow_inf_nan=False)]


class JobRow(Model):
    job_id: Id
    title: Words
    place_kind: PlaceKind
    only_at: Literal["", "front", "rear"] = ""
    rate: Id
    safety: Literal["yes", "no"]
    supersedes: tuple[Id, ...] = ()
    either_or_group: OptionalId = ""
    applies_if: CarsWith = ""
    note: Text = ""

    def applies_to(self, car: Car) -> bool:
        return car.has(self.applies_if)

    def places(self, car: Car) -> tuple[Place, ...]:
        """Where the job can stand on this car; none where it isn't a job for this car."""
        if not self.applies_to(car):
            return ()
        places = car.places_with(self.applies_if, self.place_kind)
        return tuple(place for place in places if place.id.startswith(self.only_at))


class StepRow(Model):
    step_id: Id
    title: Words
    place_kind: PlaceKind
    shared: Literal["once a visit", "each job"]
    hours_low: Hours
    hours_likely: Hours
    hours_high: Hours
    basis: Words


class PartRow(Model):
    part_id: Id
    description: Words
    unit: Words
    unit_cost: Money
    core_deposit: Money
    condition: Condition
    fluid_family: PartFamily
    tax_class: TaxClass
    priced_on: Day


class JobPartRow(Model):
    job_id: Id
    part_id: Id
    quantity: Pieces


class CallRow(Model):
    check_id: Id
    verdict: Literal[
        "out of limits",
        "too close to limit",
        "unable to measure",
        "fault found",
        "unable to check",
        "not checked",
    ]
    job_id: Id


class OutcomeRow(Model):
    """How probable the bad outcome of a test is with one cause; `check_id` is where the outcome is written."""

    job_id: Id
    check_id: Id
    mode: Id
    probability: Chance
    basis: Words


class CauseRow(Model):
    """A cause that readings may point to: how often it is met (percent), what repairs it, what the car must have for it.

    `job_ids`: the first that the car has at the cause's place is the repair. `concerns`: words of a concern that make it
    `factor` times as likely."""

    mode_id: Id
    place_kind: PlaceKind
    job_ids: tuple[Id, ...] = ()
    prior: Annotated[Decimal, *amount_of("0", "90")]
    needs: Literal["", "supply-user", "deceleration-valve", "pedal-circuit", "elastomer-buffer", "two-systems"] = ""
    concerns: tuple[Words, ...] = ()
    factor: Annotated[Decimal, *amount_of("1", "20")]
    basis: Words


def _with_cure(row: Any) -> Any:
    """A pair of an older workbook, in which any job explained a reading that became good, with a yes."""
    return (*row, "yes") if isinstance(row, list | tuple) and len(row) == 2 else row


# A job, a check whose readings it makes void, and whether it is the cure of what the check finds.
JobCheck = Annotated[tuple[Id, Id, Literal["yes", "no"]], BeforeValidator(_with_cure)]


class Tables(Model):
    jobs: tuple[JobRow, ...]
    steps: tuple[StepRow, ...]
    job_steps: tuple[tuple[Id, Id], ...]
    parts: tuple[PartRow, ...]
    job_parts: tuple[JobPartRow, ...]
    calls: tuple[CallRow, ...]
    job_checks: tuple[JobCheck, ...]
    causes: tuple[CauseRow, ...] = ()
    tests: tuple[OutcomeRow, ...] = ()
