"""Lines of money beside labor from the jobs: parts, spare lines that people fill in, sublet work.

Each line carries its amount, and the tax it would have alone, in both cases (agreed, proposed). What a person typed
may be missing or no number; then the amount is zero, in Python as in the sheet.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.money import ZERO, from_float, half_up, product
from estimator.pricing.decisions import AGREED, DECLINED, Decided, word
from estimator.pricing.parts import bracket_in, markup_rows, price_in
from estimator.pricing.plan import PlannedPart
from estimator.records import EntryValue, JobRecord

CASES = ("agreed", "proposed")
SPARE_WORK, SPARE_PARTS, SPARE_SUBLET = 4, 6, 4
FAMILIES = ("glycol", "mineral", "silicone", "any")
CONDITIONS = ("new", "rebuilt", "used")


@dataclass(frozen=True)
class TaxRules:
    """The tax setting as the lines need it: the aggregate rate as a fraction, and the classes that are taxed."""

    rate: Decimal
    taxed: frozenset[str]
    by_line: bool

    @classmethod
    def of(cls, record: JobRecord) -> TaxRules:
        tax = record.shop.tax
        rate = sum((part.percent for part in tax.parts), Decimal(0)) / 100
        if tax.kind == "none":
            return cls(Decimal(0), frozenset(), tax.scope == "line")
        return cls(rate, frozenset(tax.taxed), tax.scope == "line")

    def is_taxed(self, tax_class: str) -> int:
        return int(tax_class in self.taxed)

    def on(self, amount: Decimal, tax_class: str) -> Decimal:
        """ROUND(amount*rate*taxed,2)."""
        return half_up(amount * self.rate) if tax_class in self.taxed else ZERO


def number(entries: Mapping[str, EntryValue], key: str) -> float | str:
    """What a number box holds, or nothing where it is empty or holds no number."""
    value = entries.get(key)
    return value if isinstance(value, float) else ""


def _exact(value: float | str) -> Decimal:
    return from_float(value) if isinstance(value, float) else Decimal(0)


@dataclass(frozen=True)
class Amounts:
    """A line's money in both cases."""

    agreed: int
    proposed: int
    amount: Decimal
    core: Decimal
    tax_class: str
    tax: TaxRules

    @property
    def taxed(self) -> int:
        return self.tax.is_taxed(self.tax_class)

    @property
    def amount_agreed(self) -> Decimal:
        return self.amount * self.agreed

    @property
    def amount_proposed(self) -> Decimal:
        return self.amount * self.proposed

    @property
    def core_agreed(self) -> Decimal:
        return self.core * self.agreed

    @property
    def core_proposed(self) -> Decimal:
        return self.core * self.proposed

    @property
    def tax_agreed(self) -> Decimal:
        return self.tax.on(self.amount_agreed, self.tax_class)

    @property
    def tax_proposed(self) -> Decimal:
        return self.tax.on(self.amount_proposed, self.tax_class)

    @property
    def core_tax_agreed(self) -> Decimal:
        return self.tax.on(self.core_agreed, "core")

    @property
    def core_tax_proposed(self) -> Decimal:
        return self.tax.on(self.core_proposed, "core")


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
    def ref(self) -> str:
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
