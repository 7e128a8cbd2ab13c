"""The parts of every job line, or what is taken in their place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.boxes import keys
from estimator.boxes.entries import ChangeBoxes, Number
from estimator.boxes.keys import PartRef
from estimator.money import from_float, product
from estimator.pricing.decisions import Decided
from estimator.pricing.money_lines import PartAmounts, TaxRules, exact
from estimator.pricing.parts import MarkupRow, bracket_in, markup_rows, price_in
from estimator.pricing.plan import PlannedPart
from estimator.records import JobRecord, PartRow


@dataclass(frozen=True)
class Change:
    """A line that names a part of which another number is taken, or something in its place; without a part it does
    nothing."""

    number: int
    boxes: ChangeBoxes
    planned: PlannedPart | None
    brackets: tuple[MarkupRow, ...]
    fluid: str

    @property
    def odd(self) -> int:
        """Whether what is taken is of another fluid family than the car's."""
        return int(self.planned is not None and self.family not in (self.fluid, "any"))

    @property
    def ref(self) -> str:
        return str(self.number)

    @property
    def label(self) -> str:
        return f"change {self.number}"

    @property
    def which(self) -> str:
        return self.boxes.part

    @property
    def at(self) -> int:
        """The place of the part among all, 0 for none."""
        return int(self.planned.label.removeprefix("part ")) if self.planned else 0

    @property
    def takes(self) -> Number:
        """How many are taken: what is typed, else what the table lists."""
        listed = float(self.planned.quantity) if self.planned else 0.0
        return listed if self.boxes.quantity == "" else self.boxes.quantity

    @property
    def cost(self) -> Decimal:
        other = self.boxes.substitute_cost
        if isinstance(other, float):
            return max(from_float(other), Decimal(0))
        return self.planned.part.unit_cost if self.planned else Decimal(0)

    @property
    def bracket(self) -> int:
        return bracket_in(self.cost, self.brackets)

    @property
    def price(self) -> Decimal:
        return price_in(self.cost, self.brackets)

    @property
    def family(self) -> str:
        listed = self.planned.part.fluid_family if self.planned else ""
        return self.boxes.substitute_family or listed

    @property
    def title(self) -> str:
        listed = self.planned.part.description if self.planned else ""
        return self.boxes.substitute or listed


def part_changes(
    parts: Sequence[PlannedPart], record: JobRecord, boxes: Mapping[str, ChangeBoxes]
) -> tuple[Change, ...]:
    """The lines of changes. The first line that names a part decides."""
    by_ref = {part.ref.casefold(): part for part in parts}
    brackets = markup_rows(record.shop.markup)
    return tuple(
        Change(
            number,
            boxes[str(number)],
            by_ref.get(boxes[str(number)].part.casefold()),
            brackets,
            record.car.fluid.family,
        )
        for number in range(1, record.room.changes + 1)
    )


@dataclass(frozen=True)
class ListedPrice:
    """A part of the tables that this car may need, and what it is sold for."""

    part: PartRow
    bracket: int
    price: Decimal

    @property
    def ref(self) -> str:
        return self.part.part_id

    @property
    def label(self) -> str:
        return self.part.part_id


def listed_prices(parts: Sequence[PlannedPart], record: JobRecord) -> tuple[ListedPrice, ...]:
    """Each part of the tables that a job line lists, once."""
    brackets = markup_rows(record.shop.markup)
    listed = {item.part.part_id: item.part for item in parts}
    return tuple(
        ListedPrice(part, bracket_in(part.unit_cost, brackets), price_in(part.unit_cost, brackets))
        for part in listed.values()
    )


@dataclass(frozen=True)
class PartLine(PartAmounts):
    """A part of a job line, or what is taken in its place."""

    planned: PlannedPart
    change: Change | None
    quantity: Number
    price: Decimal
    family: str
    mixed: int
    # Whether it is of another fluid family than the car's, wanted or not.
    odd: int

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
    def boxes(self) -> ChangeBoxes:
        """What is typed in the line that names it."""
        return self.change.boxes if self.change else ChangeBoxes()

    @property
    def cost(self) -> Decimal:
        return self.change.cost if self.change else self.listed.unit_cost

    @property
    def title(self) -> str:
        """What is sold, in words."""
        return self.boxes.substitute or self.listed.description

    @property
    def unit(self) -> str:
        return self.listed.unit

    @property
    def tax_each(self) -> Decimal:
        """The tax on it, were it taken alone."""
        return self.tax.on(self.amount, self.tax_class)

    @property
    def core_tax_each(self) -> Decimal:
        """The tax on its core deposit, were it taken alone."""
        return self.tax.on(self.core, "core")

    @property
    def mixed_agreed(self) -> int:
        """Whether it is of another fluid family than the car's and gets into the car."""
        return self.mixed * self.agreed

    @property
    def deposit_each(self) -> Decimal:
        return self.listed.core_deposit

    @property
    def row(self) -> str:
        """What the keys of its cells begin with."""
        return keys.row(self.block, self.ref)

    def key(self, column: str) -> str:
        """The key of a box of the line that names it; of its own cell where none does."""
        return keys.key("change", self.change.ref, column) if self.change else keys.key(self.block, self.ref, "amount")


def part_lines(
    parts: Sequence[PlannedPart],
    record: JobRecord,
    decided: Mapping[str, Decided],
    changes: Sequence[Change],
    tax: TaxRules,
) -> tuple[PartLine, ...]:
    """Every part of every job line. `decided` is by line reference."""
    found = []
    brackets = markup_rows(record.shop.markup)
    changed = {change.planned.ref: change for change in reversed(changes) if change.planned is not None}
    for item in parts:
        change = changed.get(item.ref)
        quantity = change.takes if change else float(item.quantity)
        price = change.price if change else price_in(item.part.unit_cost, brackets)
        family = change.family if change else item.part.fluid_family
        odd = int(family not in (record.car.fluid.family, "any"))
        state = decided[item.line.ref]
        found.append(
            PartLine(
                agreed=state.agreed,
                proposed=state.proposed,
                amount=product(exact(quantity), price),
                tax_class=item.part.tax_class,
                tax=tax,
                core=product(exact(quantity), item.part.core_deposit),
                planned=item,
                change=change,
                quantity=quantity,
                price=price,
                family=family,
                mixed=int(state.agreed + state.proposed > 0 and odd == 1),
                odd=odd,
            )
        )
    return tuple(found)
