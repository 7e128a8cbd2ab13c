"""Lines that people fill in: extra parts, extra work, sublet work."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar

from estimator.boxes import keys
from estimator.boxes.entries import ExtraPartBoxes, ExtraWorkBoxes, Number, SubletBoxes
from estimator.money import half_up, product
from estimator.pricing.decisions import AGREED, DECLINED
from estimator.pricing.money_lines import Amounts, PartAmounts, TaxRules, exact
from estimator.pricing.parts import bracket_in, markup_rows, price_in
from estimator.records import JobRecord


def _spare_flags(decision: str, filled: bool) -> tuple[int, int]:
    """Agreed, proposed: a spare line counts once it is filled in and not declined."""
    return int(filled and decision == AGREED), int(filled and decision != DECLINED)


@dataclass(frozen=True)
class _FilledIn:
    number: int
    boxes: ExtraPartBoxes | ExtraWorkBoxes | SubletBoxes

    block: ClassVar[str]

    @property
    def ref(self) -> str:
        return str(self.number)

    @property
    def label(self) -> str:
        return f"{self.block.replace('_', ' ')} {self.number}"

    @property
    def title(self) -> str:
        """What is sold or done, in words."""
        return self.boxes.description or self.label

    @property
    def row(self) -> str:
        """What the keys of its boxes begin with."""
        return keys.row(self.block, self.ref)

    def key(self, column: str) -> str:
        """The key of one of its boxes."""
        return keys.key(self.block, self.ref, column)


@dataclass(frozen=True)
class ExtraPart(PartAmounts, _FilledIn):
    boxes: ExtraPartBoxes
    cost_counted: Decimal
    bracket: int
    price: Decimal
    mixed: int

    block = "extra_part"

    @property
    def unit(self) -> str:
        return self.boxes.unit or "each"

    @property
    def quantity(self) -> Number:
        return self.boxes.quantity

    @property
    def family(self) -> str:
        return self.boxes.family

    @property
    def deposit_each(self) -> Decimal:
        return half_up(exact(self.boxes.deposit))

    @property
    def mixed_agreed(self) -> int:
        """Whether it is of another fluid family than the car's and gets into the car, priced or not."""
        return int(self.mixed == 1 and self.boxes.decision == AGREED)


def extra_parts(
    record: JobRecord, boxes: Mapping[str, ExtraPartBoxes], tax: TaxRules, count: int
) -> tuple[ExtraPart, ...]:
    """The spare lines for parts that no table foresees."""
    found = []
    brackets = markup_rows(record.shop.markup)
    for place in range(1, count + 1):
        mine = boxes[str(place)]
        counted = max(exact(mine.cost), Decimal(0))
        filled = isinstance(mine.quantity, float) and isinstance(mine.cost, float)
        agreed, proposed = _spare_flags(mine.decision, filled)
        found.append(
            ExtraPart(
                agreed=agreed,
                proposed=proposed,
                amount=product(exact(mine.quantity), price_in(counted, brackets)),
                tax_class="parts",
                tax=tax,
                core=product(exact(mine.quantity), exact(mine.deposit)),
                number=place,
                boxes=mine,
                cost_counted=counted,
                bracket=bracket_in(counted, brackets),
                price=price_in(counted, brackets),
                mixed=int(
                    (proposed == 1 or mine.decision == AGREED)
                    and mine.family not in ("", record.car.fluid.family, "any")
                ),
            )
        )
    return tuple(found)


@dataclass(frozen=True)
class ExtraWork(Amounts, _FilledIn):
    boxes: ExtraWorkBoxes
    rate: Decimal

    block = "extra_work"


def extra_work(
    record: JobRecord, boxes: Mapping[str, ExtraWorkBoxes], tax: TaxRules, count: int
) -> tuple[ExtraWork, ...]:
    """The spare lines for work that no table foresees; its hours share nothing."""
    rates = {rate.id: rate.per_hour for rate in record.shop.labor.rates}
    found = []
    for place in range(1, count + 1):
        mine = boxes[str(place)]
        rate = rates.get(mine.rate_id, Decimal(0))
        agreed, proposed = _spare_flags(mine.decision, isinstance(mine.hours, float))
        amount = product(exact(mine.hours), rate)
        found.append(
            ExtraWork(
                agreed=agreed,
                proposed=proposed,
                amount=amount,
                tax_class="labor",
                tax=tax,
                number=place,
                boxes=mine,
                rate=rate,
            )
        )
    return tuple(found)


@dataclass(frozen=True)
class SubletLine(Amounts, _FilledIn):
    boxes: SubletBoxes

    block = "sublet"


def sublet_lines(boxes: Mapping[str, SubletBoxes], tax: TaxRules, count: int) -> tuple[SubletLine, ...]:
    """Work that another workshop does, passed on at what it charges."""
    found = []
    for place in range(1, count + 1):
        mine = boxes[str(place)]
        agreed, proposed = _spare_flags(mine.decision, isinstance(mine.charge, float))
        found.append(
            SubletLine(
                agreed=agreed,
                proposed=proposed,
                amount=half_up(exact(mine.charge)),
                tax_class="sublet",
                tax=tax,
                number=place,
                boxes=mine,
            )
        )
    return tuple(found)


ExtraLine = ExtraPart | ExtraWork | SubletLine
