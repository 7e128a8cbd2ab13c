"""The parts of every job line, or what is taken in their place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.boxes.keys import PartRef
from estimator.money import from_float, product
from estimator.pricing.decisions import Decided, word
from estimator.pricing.money_lines import Amounts, TaxRules, _exact, number
from estimator.pricing.parts import bracket_in, markup_rows, price_in
from estimator.pricing.plan import PlannedPart
from estimator.records import EntryValue, JobRecord


@dataclass(frozen=True)
class PartLine(Amounts):
    """A part of a job line, or what is taken in its place."""

    planned: PlannedPart
    quantity: float | str
    substitute: str
    substitute_cost: float | str
    substitute_family: str
    compared: str
    approved_by: str
    cost: Decimal
    bracket: int
    price: Decimal
    family: str
    mixed: int

    @property
    def ref(self) -> PartRef:
        return self.planned.ref

    @property
    def label(self) -> str:
        return self.planned.label

    @property
    def line(self) -> str:
        return self.planned.line.label


def part_lines(
    parts: Sequence[PlannedPart],
    record: JobRecord,
    decided: Mapping[str, Decided],
    entries: Mapping[str, EntryValue],
    tax: TaxRules,
) -> tuple[PartLine, ...]:
    """Every part of every job line. `decided` is by line reference."""
    found = []
    brackets = markup_rows(record.shop.markup)
    for item in parts:
        key = f"part.{item.ref}"
        quantity = number(entries, f"{key}.quantity")
        other_cost = number(entries, f"{key}.substitute_cost")
        other_family = word(entries, f"{key}.substitute_family")
        cost = max(from_float(other_cost), Decimal(0)) if isinstance(other_cost, float) else item.part.unit_cost
        price = price_in(cost, brackets)
        family = other_family or item.part.fluid_family
        state = decided[item.line.ref]
        found.append(
            PartLine(
                agreed=state.agreed,
                proposed=state.proposed,
                amount=product(_exact(quantity), price),
                core=product(_exact(quantity), item.part.core_deposit),
                tax_class=item.part.tax_class,
                tax=tax,
                planned=item,
                quantity=quantity,
                substitute=word(entries, f"{key}.substitute"),
                substitute_cost=other_cost,
                substitute_family=other_family,
                compared=word(entries, f"{key}.compared"),
                approved_by=word(entries, f"{key}.approved_by"),
                cost=cost,
                bracket=bracket_in(cost, brackets),
                price=price,
                family=family,
                mixed=int(state.proposed == 1 and family not in (record.car.fluid.family, "any")),
            )
        )
    return tuple(found)
