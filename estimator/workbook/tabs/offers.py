"""The items of the estimate, one a row, as the Estimate and the Summary show them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

from estimator.appraisal import Appraisal
from estimator.money import add
from estimator.pricing.job_lines import JobLine
from estimator.pricing.part_lines import PartLine
from estimator.workbook.book import Value

OFFERS = 30


@dataclass(frozen=True)
class Offer:
    """A line of the estimate that the customer reads; beyond the last proposed one, an empty row."""

    number: int
    line: JobLine | None = None
    parts: Decimal | str = ""
    core: Decimal | str = ""
    rebuilt: int = 0

    @property
    def condition(self) -> str:
        if self.rebuilt:
            return "some rebuilt"
        return "new" if isinstance(self.parts, Decimal) and self.parts > 0 else ""

    @property
    def ref(self) -> str:
        return str(self.number)

    @property
    def label(self) -> str:
        return f"item {self.number}"


def offers(appraisal: Appraisal) -> tuple[Offer, ...]:
    """The proposed lines in their order, and empty rows after them."""
    parts_of: dict[str, list[PartLine]] = {}
    for part in appraisal.parts:
        parts_of.setdefault(part.line, []).append(part)
    proposed = [line for line in appraisal.labor.lines if line.proposed][:OFFERS]
    found = []
    for number, line in enumerate(proposed, 1):
        mine = parts_of.get(line.label, [])
        amount, core = add(part.amount_proposed for part in mine), add(part.core_proposed for part in mine)
        rebuilt = sum(1 for part in mine if part.part.condition == "rebuilt")
        found.append(Offer(number, line, amount, core, rebuilt))
    return (*found, *map(Offer, range(len(found) + 1, OFFERS + 1)))


def of_line(read: Callable[[JobLine], Value], unused: Value = "") -> Callable[[Offer], Value]:
    """What is read from the line of an item of the estimate; `unused` where the item is empty."""
    return lambda offer: unused if offer.line is None else read(offer.line)
