"""Lines that people fill in: extra parts, extra work, sublet work."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from estimator.money import ZERO, half_up, product
from estimator.pricing.decisions import AGREED, DECLINED, word
from estimator.pricing.money_lines import SPARE_WORK, Amounts, TaxRules, _exact, number
from estimator.pricing.parts import bracket_in, markup_rows, price_in
from estimator.records import EntryValue, JobRecord


def _spare_flags(decision: str, filled: bool) -> tuple[int, int]:
    """Agreed, proposed: a spare line counts once it is filled in and not declined."""
    return int(filled and decision == AGREED), int(filled and decision != DECLINED)


@dataclass(frozen=True)
class ExtraPart(Amounts):
    number: int
    description: str
    quantity: float | str
    unit: str
    cost: float | str
    deposit: float | str
    condition: str
    family: str
    decision: str
    cost_counted: Decimal
    bracket: int
    price: Decimal
    mixed: int

    @property
    def ref(self) -> str:
        return str(self.number)

    @property
    def label(self) -> str:
        return f"extra part {self.number}"


def extra_parts(
    record: JobRecord, entries: Mapping[str, EntryValue], tax: TaxRules, count: int
) -> tuple[ExtraPart, ...]:
    """The spare lines for parts that no table foresees."""
    found = []
    brackets = markup_rows(record.shop.markup)
    for place in range(1, count + 1):
        key = f"extra_part.{place}"
        quantity, cost, deposit = (number(entries, f"{key}.{name}") for name in ("quantity", "cost", "deposit"))
        family, decision = word(entries, f"{key}.family"), word(entries, f"{key}.decision")
        counted = max(_exact(cost), Decimal(0))
        agreed, proposed = _spare_flags(decision, isinstance(quantity, float) and isinstance(cost, float))
        found.append(
            ExtraPart(
                agreed=agreed,
                proposed=proposed,
                amount=product(_exact(quantity), price_in(counted, brackets)),
                core=product(_exact(quantity), _exact(deposit)),
                tax_class="parts",
                tax=tax,
                number=place,
                description=word(entries, f"{key}.description"),
                quantity=quantity,
                unit=word(entries, f"{key}.unit"),
                cost=cost,
                deposit=deposit,
                condition=word(entries, f"{key}.condition"),
                family=family,
                decision=decision,
                cost_counted=counted,
                bracket=bracket_in(counted, brackets),
                price=price_in(counted, brackets),
                mixed=int(proposed == 1 and family not in ("", record.car.fluid.family, "any")),
            )
        )
    return tuple(found)


@dataclass(frozen=True)
class ExtraWork(Amounts):
    number: int
    description: str
    hours: float | str
    rate_id: str
    decision: str
    rate: Decimal

    @property
    def ref(self) -> str:
        return str(self.number)

    @property
    def label(self) -> str:
        return f"extra work {self.number}"


def extra_work(record: JobRecord, entries: Mapping[str, EntryValue], tax: TaxRules) -> tuple[ExtraWork, ...]:
    """The spare lines for work that no table foresees; its hours share nothing."""
    rates = {rate.id: rate.per_hour for rate in record.shop.labor.rates}
    found = []
    for place in range(1, SPARE_WORK + 1):
        key = f"extra_work.{place}"
        hours, decision = number(entries, f"{key}.hours"), word(entries, f"{key}.decision")
        rate_id = word(entries, f"{key}.rate_id")
        rate = rates.get(rate_id, Decimal(0))
        agreed, proposed = _spare_flags(decision, isinstance(hours, float))
        found.append(
            ExtraWork(
                agreed=agreed,
                proposed=proposed,
                amount=product(_exact(hours), rate),
                core=ZERO,
                tax_class="labor",
                tax=tax,
                number=place,
                description=word(entries, f"{key}.description"),
                hours=hours,
                rate_id=rate_id,
                decision=decision,
                rate=rate,
            )
        )
    return tuple(found)


@dataclass(frozen=True)
class SubletLine(Amounts):
    number: int
    description: str
    supplier: str
    charge: float | str
    decision: str

    @property
    def ref(self) -> str:
        return str(self.number)

    @property
    def label(self) -> str:
        return f"sublet {self.number}"


def sublet_lines(entries: Mapping[str, EntryValue], tax: TaxRules, count: int) -> tuple[SubletLine, ...]:
    """Work that another workshop does, passed on at what it charges."""
    found = []
    for place in range(1, count + 1):
        key = f"sublet.{place}"
        charge, decision = number(entries, f"{key}.charge"), word(entries, f"{key}.decision")
        agreed, proposed = _spare_flags(decision, isinstance(charge, float))
        found.append(
            SubletLine(
                agreed=agreed,
                proposed=proposed,
                amount=half_up(_exact(charge)),
                core=ZERO,
                tax_class="sublet",
                tax=tax,
                number=place,
                description=word(entries, f"{key}.description"),
                supplier=word(entries, f"{key}.supplier"),
                charge=charge,
                decision=decision,
            )
        )
    return tuple(found)
