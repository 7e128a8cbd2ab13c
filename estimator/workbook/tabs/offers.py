"""The items of the estimate, one a row, as the Estimate and the Summary show them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

from estimator.appraisal import Appraisal
from estimator.money import add
from estimator.pricing.job_lines import JobLine
from estimator.pricing.part_lines import PartLine
from estimator.workbook.book import Block, Column, Value, block, positions

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
        rebuilt = sum(1 for part in mine if part.listed.condition == "rebuilt")
        found.append(Offer(number, line, amount, core, rebuilt))
    return (*found, *map(Offer, range(len(found) + 1, OFFERS + 1)))


def of_line(read: Callable[[JobLine], Value], unused: Value = "") -> Callable[[Offer], Value]:
    """What is read from the line of an item of the estimate; `unused` where the item is empty."""
    return lambda offer: unused if offer.line is None else read(offer.line)


def price_block(appraisal: Appraisal) -> Block:
    """The labor of each job by itself and with the others: read better as a table than as pairs of bars."""
    line_at = positions(appraisal.labor.lines)

    def cell(name: str, heading: str, look: str, value: Callable[[Offer], Value]) -> Column:
        return Column(name, heading, look, f"=INDEX({{offer:{name}}},{{number}})", value=value)

    return block(
        "price",
        f"Labor of each proposed job, by itself and together, {appraisal.record.shop.shop.currency}",
        [
            Column("label", "item", "label"),
            cell("title", "job", "job", of_line(lambda line: line.line.job.title)),
            cell("place", "at", "job", of_line(lambda line: line.line.place.title)),
            cell("alone", "by itself", "money", of_line(lambda line: line.amount_alone)),
            cell("labor", "together", "money", of_line(lambda line: line.amount_proposed)),
            Column(
                "saved",
                "saved",
                "money",
                '=IF({line_at}=0,"",ROUND({alone}-{labor},2))',
                value=of_line(lambda line: line.amount_alone - line.amount_proposed),
            ),
            cell("parts", "parts", "money", lambda offer: offer.parts),
            Column("number", "number", "whole"),
            cell("line_at", "row", "whole", of_line(lambda line: line_at[line.ref], 0)),
        ],
        offers(appraisal),
        note="By itself: in a visit of its own, with every step that it needs. Together: its share of what is done once.",
        faded_by="line_at",
        blanked=True,
    )
