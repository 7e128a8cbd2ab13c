"""The parts of every job line, or what is taken in their place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.boxes import keys
from estimator.boxes.entries import PartBoxes
from estimator.boxes.keys import PartRef
from estimator.money import from_float, product
from estimator.pricing.decisions import Decided
from estimator.pricing.money_lines import PartAmounts, TaxRules, exact
from estimator.pricing.parts import bracket_in, markup_rows, price_in
from estimator.pricing.plan import PlannedPart
from estimator.records import JobRecord, PartRow


@dataclass(frozen=True)
class PartLine(PartAmounts):
    """A part of a job line, or what is taken in its place."""

    planned: PlannedPart
    boxes: PartBoxes
    cost: Decimal
    bracket: int
    price: Decimal
    family: str
    mixed: int

    block = "part"

    @property
    def ref(self) -> PartRef:
        return self.planned.ref

    @property
    def label(self) -> str:
        return self.planned.label

    @property
    def line(self) -> str:
        return self.planned.line.label

    @property
    def listed(self) -> PartRow:
        """The part as the labor tables list it."""
        return self.planned.part

    @property
    def title(self) -> str:
        """What is sold, in words."""
        return self.boxes.substitute or self.listed.description

    @property
    def unit(self) -> str:
        return self.listed.unit

    @property
    def mixed_agreed(self) -> int:
        """Whether it is of another fluid family than the car's and gets into the car."""
        return self.mixed * self.agreed

    @property
    def deposit_each(self) -> Decimal:
        return self.listed.core_deposit

    @property
    def row(self) -> str:
        """What the keys of its boxes begin with."""
        return keys.row(self.block, self.ref)

    def key(self, column: str) -> str:
        """The key of one of its boxes."""
        return keys.key(self.block, self.ref, column)


def part_lines(
    parts: Sequence[PlannedPart],
    record: JobRecord,
    decided: Mapping[str, Decided],
    boxes: Mapping[PartRef, PartBoxes],
    tax: TaxRules,
) -> tuple[PartLine, ...]:
    """Every part of every job line. `decided` is by line reference."""
    found = []
    brackets = markup_rows(record.shop.markup)
    for item in parts:
        mine = boxes[item.ref]
        other_cost = mine.substitute_cost
        cost = max(from_float(other_cost), Decimal(0)) if isinstance(other_cost, float) else item.part.unit_cost
        price = price_in(cost, brackets)
        family = mine.substitute_family or item.part.fluid_family
        state = decided[item.line.ref]
        found.append(
            PartLine(
                agreed=state.agreed,
                proposed=state.proposed,
                amount=product(exact(mine.quantity), price),
                tax_class=item.part.tax_class,
                tax=tax,
                core=product(exact(mine.quantity), item.part.core_deposit),
                planned=item,
                boxes=mine,
                cost=cost,
                bracket=bracket_in(cost, brackets),
                price=price,
                family=family,
                mixed=int(state.agreed + state.proposed > 0 and family not in (record.car.fluid.family, "any")),
            )
        )
    return tuple(found)
