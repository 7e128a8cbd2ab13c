"""The shop: its rates, rules, accounts and gauges."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import Field, ValidationInfo, field_validator

from estimator.quantities import Quantity
from estimator.records.fields import (
    AccuracyClass,
    Country,
    Currency,
    Day,
    FloorShare,
    Id,
    Model,
    Money,
    Percent,
    SettlingTime,
    TaxClass,
    Text,
    Words,
    YesNo,
    read_quantity,
    shown_unit,
)


class ShopIdentity(Model):
    name: Words
    address: tuple[Words, ...]
    phone: Text = ""
    email: Text = ""
    tax_id: Text = ""
    country: Country = "US"
    currency: Currency = "USD"


# How a shop may write November 25, 2026, and the pattern of it.
DATE_PATTERNS = {"2026-11-25": "%Y-%m-%d", "11/25/2026": "%m/%d/%Y", "25/11/2026": "%d/%m/%Y", "25.11.2026": "%d.%m.%Y"}


class Show(Model):
    """The unit in which each kind of quantity is shown and typed; `dates` shows how the shop writes November 25, 2026."""

    pressure: Annotated[str, *shown_unit("pressure")] = "psi"
    length: Annotated[str, *shown_unit("length")] = "mm"
    distance: Annotated[str, *shown_unit("length")] = "ft"
    volume: Annotated[str, *shown_unit("volume")] = "mL"
    temperature: Annotated[str, *shown_unit("temperature")] = "°C"
    time: Annotated[str, *shown_unit("time")] = "s"
    age: Annotated[str, *shown_unit("time")] = "years"
    torque: Annotated[str, *shown_unit("torque")] = "N·m"
    force: Annotated[str, *shown_unit("force")] = "N"
    angle: Annotated[str, *shown_unit("angle")] = "°"
    ratio: Annotated[str, *shown_unit("ratio")] = "%"
    count: Annotated[str, *shown_unit("count")] = "count"
    rotation: Annotated[str, *shown_unit("rotation")] = "rpm"
    acceleration: Annotated[str, *shown_unit("acceleration")] = "m/s²"
    speed: Annotated[str, *shown_unit("speed")] = "mph"
    dates: Literal["2026-11-25", "11/25/2026", "25/11/2026", "25.11.2026"] = "2026-11-25"

    def written(self, day: dt.date) -> str:
        """Return a day as the shop writes it."""
        return day.strftime(DATE_PATTERNS[self.dates])


class Rate(Model):
    id: Id
    title: Words
    per_hour: Money


class Labor(Model):
    basis: Literal["likely", "expected", "p80"] = "likely"
    rates: tuple[Rate, ...] = Field(min_length=1)


class MarkupBracket(Model):
    """Costs up to `up_to` are marked up by `percent`; the last bracket has no `up_to`."""

    up_to: Money | None = None
    percent: Percent


class Fees(Model):
    supplies_percent_of_labor: Percent = Decimal(0)
    supplies_cap: Money = Decimal(0)
    disposal_per_liter: Money = Decimal(0)


class TaxPart(Model):
    name: Words
    percent: Percent


class Tax(Model):
    kind: Literal["sales", "vat", "none"] = "sales"
    scope: Literal["document", "line"] = "document"
    in_force_from: Day
    taxed: tuple[TaxClass, ...]
    parts: tuple[TaxPart, ...] = ()
    source: Words


class ConsentRule(Model):
    """How far a bill may exceed what was agreed to: a setting with its date and source, no legal advice."""

    rule: Literal["none", "flat", "percent", "cap", "greater-of", "lesser-of"] = "none"
    flat: Money = Decimal(0)
    percent: Percent = Decimal(0)
    cap: Money | None = None
    on: Literal["total", "before tax"] = "total"
    in_force_from: Day
    source: Words


class Accounts(Model):
    receivable: Words
    labor: Words
    parts: Words
    supplies: Words
    disposal: Words
    sublet: Words
    core_deposits: Words
    tax: Words
    discount: Words
    core_forfeited: Text = ""
    received: Text = ""


Measures = Literal[
    "pressure", "temperature", "length", "distance", "time", "force", "torque", "angle", "volume", "ratio"
]


def kind_of(measures: str) -> str:
    """The kind of quantity that a gauge of this sort measures."""
    return "length" if measures == "distance" else measures


class Gauge(Model):
    """A measuring instrument. `accuracy_class` is in percent of span; `resolution` is the least step it shows."""

    id: Id
    title: Words
    measures: Measures
    span: Quantity
    accuracy_class: AccuracyClass
    resolution: Quantity
    calibrated: Day
    due: Day
    usual: YesNo = False
    # The checks for which it is taken before the usual one.
    usual_for: tuple[Id, ...] = ()

    @field_validator("span", "resolution", mode="before")
    @classmethod
    def _of_what_it_measures(cls, value: Any, info: ValidationInfo) -> Any:
        measures = info.data.get("measures")
        quantity = read_quantity(value, measures and kind_of(measures))
        if quantity.value <= 0:
            raise ValueError(f'"{quantity}" is too small to be true; enter more than zero')
        return quantity

    @property
    def kind(self) -> str:
        return kind_of(self.measures)

    @property
    def span_si(self) -> float:
        return self.span.value * self.span.factor

    @property
    def resolution_si(self) -> float:
        return self.resolution.value * self.resolution.factor


class Verdicts(Model):
    """Whether checks that aren't safety-critical are compared plainly (an uncertainty of zero)."""

    plain_comparison: YesNo = False


class Floors(Model):
    """Shares below which a car isn't driven: of the maker's precharge, and of the applications expected as its maker
    sets it. A shop may raise them, never lower them."""

    precharge: FloorShare = Quantity.of(50, "%")
    applications: FloorShare = Quantity.of(50, "%")


class GasSettling(Model):
    """How fast the gas of an accumulator takes the temperature of its shell: time constant, when and how it was measured."""

    time_constant: SettlingTime = Quantity.of(3, "min")
    measured: Day | None = None
    source: Words = "ours, not measured"


class EstimateTerms(Model):
    valid_days: Annotated[int, Field(ge=1, le=365, strict=True)] = 30
    terms: tuple[Words, ...] = ()


class PriceList(Model):
    """Which columns of a supplier's list hold what."""

    part_id: Words
    unit_cost: Words
    core_deposit: Text = ""
    priced_on: Text = ""


class Shop(Model):
    shop: ShopIdentity
    show: Show = Show()
    labor: Labor
    markup: tuple[MarkupBracket, ...] = Field(min_length=1)
    fees: Fees = Fees()
    tax: Tax
    consent: ConsentRule
    accounts: Accounts
    gauges: tuple[Gauge, ...] = Field(min_length=1)
    verdicts: Verdicts = Verdicts()
    floors: Floors = Floors()
    gas_settling: GasSettling = GasSettling()
    estimate: EstimateTerms = EstimateTerms()
    price_list: PriceList | None = None
