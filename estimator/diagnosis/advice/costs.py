"""What repairs and tests of a car cost by themselves, as the record has them: likely hours at their rate and parts, before tax."""

from __future__ import annotations

import math
from decimal import Decimal

from estimator.boxes.keys import LineRef
from estimator.money import add, product
from estimator.places import Place
from estimator.pricing.parts import markup_rows, price_in
from estimator.pricing.plan import Plan, PlannedLine, PlannedStep
from estimator.pricing.steps import cents
from estimator.records import JobRecord

# The test from whose readings causes follow: its steps were done by the time a repair is chosen.
MADE_ALREADY = "pressure-test-diagnostic"


class Costs:
    """The fixed costs of a car's job lines, in the shop's currency.

    A repair: the steps that the pressure test didn't have, and its parts. A test: its own steps alone, for a repair that
    follows needs the rest too.
    """

    def __init__(self, record: JobRecord, plan: Plan) -> None:
        self._record = record
        self._rates = {rate.id: rate.per_hour for rate in record.shop.labor.rates}
        self._brackets = markup_rows(record.shop.markup)
        self._lines = {line.ref: line for line in plan.lines}
        self._steps: dict[str, list[PlannedStep]] = {}
        for line, step in plan.uses:
            self._steps.setdefault(line.ref, []).append(step)
        self._parts = plan.parts
        self._made = {step for job, step in record.tables.job_steps if job == MADE_ALREADY}

    def line_at(self, job_id: str, place: Place) -> PlannedLine | None:
        """The first line of a job to which a place leads."""
        for line in self._lines.values():
            if line.job.job_id == job_id and line.place in self._record.car.places.at(place, line.place.kind):
                return line
        return None

    def line(self, ref: str) -> PlannedLine:
        """A line by its reference."""
        return self._lines[LineRef(ref)]

    def of_repair(self, line: PlannedLine) -> Decimal:
        """What a repair costs."""
        steps = [step for step in self._steps[line.ref] if not (step.is_shared and step.step.step_id in self._made)]
        return self._labor(line, steps) + self._priced(line)

    def alone(self, line: PlannedLine) -> Decimal:
        """What a line costs by itself, with all its steps."""
        return self._labor(line, self._steps[line.ref]) + self._priced(line)

    def of_test(self, line: PlannedLine) -> Decimal:
        """What a test costs."""
        return self._labor(line, [step for step in self._steps[line.ref] if not step.is_shared])

    def _labor(self, line: PlannedLine, steps: list[PlannedStep]) -> Decimal:
        return cents(math.fsum(step.step.hours_likely for step in steps) * float(self._rates[line.job.rate]))

    def _priced(self, line: PlannedLine) -> Decimal:
        mine = (part for part in self._parts if part.line.ref == line.ref)
        return add(product(item.quantity, price_in(item.part.unit_cost, self._brackets)) for item in mine)
