"""What people put in, as frozen records: the shop, the car, the job, the labor tables, and the whole that a workbook
carries. The same models take what a person wrote ("2200 psi") and what a record holds (value, unit, factor, offset)."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal, InvalidOperation
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints

from estimator.places import PEDAL_CIRCUIT, Places, axle_of
from estimator.quantities import UNITS, Quantity, parse_quantity

EntryValue = str | float | dt.date
Family = Literal["glycol", "mineral", "silicone"]
Wheel = Literal["front-left", "front-right", "rear-left", "rear-right"]
PlaceKind = Literal["car", "axle", "wheel", "caliper", "system", "pedal-circuit", "accumulator"]


class Model(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


def _quantity(kind: str, low: str | None = None, high: str | None = None) -> Any:
    """A quantity field of one kind, whose value lies between two written ones."""
    bounds = [None if text is None else parse_quantity(text, kind) for text in (low, high)]

    def parse(value: Any) -> Any:
        if isinstance(value, str):
            return parse_quantity(value, kind)
        if isinstance(value, int | float) and not isinstance(value, bool):
            return parse_quantity(str(value), kind)
        return value

    def check(quantity: Quantity) -> Quantity:
        least, most = bounds
        slack = 1e-9 * abs(quantity.si)
        if least is not None and quantity.si < least.si - slack:
            raise ValueError(f'"{quantity}" is too small to be true; at least {least} is allowed here')
        if most is not None and quantity.si > most.si + slack:
            raise ValueError(f'"{quantity}" is too large to be true; at most {most} is allowed here')
        return quantity

    return Annotated[Quantity, BeforeValidator(parse), AfterValidator(check)]


def _decimal(value: Any) -> Any:
    if isinstance(value, Decimal):
        return value
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise ValueError("a decimal number is wanted, for example 118.00")
    text = str(value)
    if "," in text:
        raise ValueError(f'"{text}" has a comma in its number; write the decimal point as a point, for example 118.00')
    try:
        number = Decimal(text)
    except InvalidOperation:
        raise ValueError(f'"{text}" isn\'t a number; write for example 118.00') from None
    if not number.is_finite():
        raise ValueError(f'"{text}" isn\'t a number; write for example 118.00')
    return number


def _amount(low: str, high: str) -> Any:
    def check(number: Decimal) -> Decimal:
        if not Decimal(low) <= number <= Decimal(high):
            raise ValueError(f"{number} is out of range; from {low} to {high} is allowed here")
        return number

    return Annotated[Decimal, BeforeValidator(_decimal), AfterValidator(check)]


def _plain(text: str) -> str:
    if any(ord(letter) < 32 and letter not in "\n\t" for letter in text):
        raise ValueError("a control character stands in the text; write it without")
    return text


Id = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9]*(-[a-z0-9]+)*$", max_length=48)]
DocumentNumber = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9-]*$", max_length=32)]
Text = Annotated[str, StringConstraints(max_length=2000), AfterValidator(_plain)]
Words = Annotated[str, StringConstraints(min_length=1, max_length=2000), AfterValidator(_plain)]
Money = _amount("0", "1000000")
Percent = _amount("0", "1000")
Count = Annotated[int, Field(ge=1, le=16)]
Pressure = _quantity("pressure", "0.1 bar", "700 bar")
Bore = _quantity("length", "1 mm", "200 mm")
Distance = _quantity("length", "0.001 mm", "20 m")
Volume = _quantity("volume", "0.1 mL", "50 L")
Temperature = _quantity("temperature", "-40 °C", "150 °C")
Mass = _quantity("mass", "300 kg", "10000 kg")
Force = _quantity("force", "0 N", "3000 N")
Ratio = _quantity("ratio", "0", "100")
Share = _quantity("ratio", "0", "1")
Angle = _quantity("angle", "0 °", "60 °")
Speed = _quantity("rotation", "100 rpm", "6000 rpm")
Age = _quantity("time", "0 a", "50 a")
Swell = _quantity("volume per length", "0 mL/m", "50 mL/m")
Displacement = _quantity("volume", "0.01 mL", "100 mL")
Flow = _quantity("flow", "0 mL/s", "1000 mL/s")


# --- the shop ---------------------------------------------------------------------------------------------------------


class ShopIdentity(Model):
    name: Words
    address: tuple[Words, ...]
    phone: Text = ""
    email: Text = ""
    tax_id: Text = ""
    country: Annotated[str, StringConstraints(pattern=r"^[A-Z]{2}$")] = "US"
    currency: Annotated[str, StringConstraints(pattern=r"^[A-Z]{3}$")] = "USD"


def _shown_unit(kind: str) -> Any:
    allowed = [name for name, unit in UNITS.items() if unit.kind == kind]

    def check(name: str) -> str:
        if name not in allowed:
            raise ValueError(f'"{name}" can\'t be shown as a unit of {kind}; allowed: {", ".join(allowed)}')
        return name

    return Annotated[str, AfterValidator(check)]


class Show(Model):
    """The unit in which each kind of quantity is shown and typed."""

    pressure: _shown_unit("pressure") = "psi"
    length: _shown_unit("length") = "mm"
    distance: _shown_unit("length") = "ft"
    volume: _shown_unit("volume") = "mL"
    temperature: _shown_unit("temperature") = "°C"
    time: _shown_unit("time") = "s"
    age: _shown_unit("time") = "a"
    torque: _shown_unit("torque") = "N·m"
    force: _shown_unit("force") = "N"
    angle: _shown_unit("angle") = "°"
    ratio: _shown_unit("ratio") = "%"
    count: _shown_unit("count") = "count"
    acceleration: _shown_unit("acceleration") = "m/s²"


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


TaxClass = Literal["labor", "parts", "supplies", "disposal", "sublet", "core"]


class TaxPart(Model):
    name: Words
    percent: Percent


class Tax(Model):
    kind: Literal["sales", "vat", "none"] = "sales"
    scope: Literal["document", "line"] = "document"
    in_force_from: dt.date
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
    in_force_from: dt.date
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


class Gauge(Model):
    """A measuring instrument. `accuracy_class` is in percent of span; `resolution` is the least step it shows."""

    id: Id
    title: Words
    measures: Literal["pressure", "temperature", "length", "distance", "time", "force", "torque", "angle", "volume", "ratio"]
    span: Words
    accuracy_class: Percent
    resolution: Words
    calibrated: dt.date
    due: dt.date
    usual: bool = False

    @property
    def kind(self) -> str:
        return "length" if self.measures == "distance" else self.measures

    @property
    def span_si(self) -> float:
        return self._difference(self.span)

    @property
    def resolution_si(self) -> float:
        return self._difference(self.resolution)

    def _difference(self, text: str) -> float:
        quantity = parse_quantity(text, self.kind)
        return quantity.value * quantity.factor


class Verdicts(Model):
    """Whether checks that aren't safety-critical are compared plainly (an uncertainty of zero)."""

    plain_comparison: bool = False


class EstimateTerms(Model):
    valid_days: Annotated[int, Field(ge=1, le=365)] = 30
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
    estimate: EstimateTerms = EstimateTerms()
    price_list: PriceList | None = None


# --- the car ----------------------------------------------------------------------------------------------------------


class CarIdentity(Model):
    id: Id
    name: Words
    year: Annotated[int, Field(ge=1900, le=2100)]
    plate: Text = ""
    chassis_number: Text = ""
    variant: Literal["A", "B"]


class Body(Model):
    """Mass and geometry, laden as it is tested. `front_share` is the front axle's share of the weight at rest."""

    mass: Mass
    wheelbase: Distance
    center_of_gravity_height: Distance
    front_share: Share
    tire_radius: Distance


class Fluid(Model):
    family: Family
    grade: Words
    capacity: Volume
    bulk_modulus: _quantity("pressure", "1000 bar", "40000 bar") = Quantity.of(15_000, "bar")


class Pump(Model):
    displacement: Displacement
    drive_ratio: Ratio
    volumetric_efficiency: Share
    idle_speed: Speed


class System(Model):
    """One powered system with its pump and charging valve. `leakage` is what it loses at rest, charged."""

    id: Id
    pump: Pump
    cut_in: Pressure
    cut_out: Pressure
    lamp: Pressure
    leakage: Flow = Quantity.of(0, "mL/s")


class Accumulator(Model):
    id: Id
    system: Id
    volume: Volume
    precharge: Pressure
    precharge_temperature: Temperature
    hottest: Temperature
    coldest: Temperature
    most_age: Age


class SupplyUser(Model):
    """Another user of a system's supply, such as leveling: isolated or allowed for in every test of that system."""

    id: Id
    system: Id
    title: Words
    isolated_by: Words


class Brake(Model):
    """The pistons that one source feeds in one caliper. `travel` is each piston's movement in one application."""

    wheel: Wheel
    caliper: Id = "caliper"
    source: Id
    pistons: Count
    bore: Bore
    opposed: bool
    travel: Distance
    effective_radius: Distance
    friction: Share
    behind_valve: bool = False

    @property
    def caliper_place(self) -> str:
        return f"{self.wheel}-{self.caliper}"


class Pedal(Model):
    """The pedal; variant A's master cylinder feeds the pedal circuit, variant B has an elastomer buffer instead."""

    ratio: Ratio
    full_travel: Distance
    test_force: Force
    master_bore: Bore | None = None
    master_stroke: Distance | None = None


class DecelerationValve(Model):
    """Closes above a deceleration: a ball on a ramp of `ramp_angle`; `tolerance` on the bench tilt test. `share_held_back`
    is the part of further pressure that doesn't reach the pistons behind it."""

    ramp_angle: Angle
    tolerance: Angle
    share_held_back: Share


class Hose(Model):
    wheel: Wheel
    source: Id
    bore: Bore
    length: Distance
    swell: Swell
    burst: _quantity("pressure", "10 bar", "3000 bar")


class Pipe(Model):
    id: Id
    source: Id
    outer_diameter: Bore
    wall: Distance
    tensile_strength: _quantity("pressure", "500 bar", "20000 bar")
    yield_strength: _quantity("pressure", "500 bar", "20000 bar")


class RotorAndPads(Model):
    axle: Literal["front-axle", "rear-axle"]
    rotor_new: Distance
    rotor_discard: Distance
    pad_new: Distance


class CarLimit(Model):
    """A maker's or other datum: the service limit calls a job, the danger limit concerns driving."""

    check: Id
    at: tuple[Id, ...] = ()
    service_low: Words | None = None
    service_high: Words | None = None
    danger_low: Words | None = None
    danger_high: Words | None = None
    status: Literal["maker", "common-practice"] = "maker"
    source: Words


class Car(Model):
    car: CarIdentity
    body: Body
    fluid: Fluid
    systems: tuple[System, ...] = Field(min_length=1, max_length=2)
    accumulators: tuple[Accumulator, ...] = Field(min_length=1, max_length=6)
    supply_users: tuple[SupplyUser, ...] = ()
    brakes: tuple[Brake, ...] = Field(min_length=1)
    pedal: Pedal
    deceleration_valve: DecelerationValve | None = None
    hoses: tuple[Hose, ...] = ()
    pipes: tuple[Pipe, ...] = ()
    wear: tuple[RotorAndPads, ...] = ()
    limits: tuple[CarLimit, ...] = ()

    @property
    def places(self) -> Places:
        calipers = dict.fromkeys((brake.caliper_place, brake.wheel) for brake in self.brakes)
        return Places(
            systems=tuple(system.id for system in self.systems),
            accumulators=tuple((item.id, item.system) for item in self.accumulators),
            calipers=tuple(calipers),
            feeds=tuple((brake.caliper_place, brake.source) for brake in self.brakes),
            pedal_circuit=any(brake.source == PEDAL_CIRCUIT for brake in self.brakes),
        )

    def brakes_on(self, axle: str) -> tuple[Brake, ...]:
        return tuple(brake for brake in self.brakes if axle_of(brake.wheel) == axle)


# --- the job ----------------------------------------------------------------------------------------------------------


class Customer(Model):
    name: Words
    address: tuple[Words, ...] = ()
    phone: Text = ""
    email: Text = ""


class AskedJob(Model):
    job: Id
    at: Id = "car"


class ExtraPart(Model):
    description: Words
    quantity: _amount("0.01", "1000")
    unit: Words = "each"
    unit_cost: Money
    core_deposit: Money = Decimal(0)
    condition: Literal["new", "rebuilt", "used"] = "new"
    fluid_family: Literal["glycol", "mineral", "silicone", "any"] = "any"


class Sublet(Model):
    description: Words
    supplier: Words
    amount: Money


class Substitute(Model):
    """A part taken in place of another: what was compared, and who approved it."""

    part: Id
    job: Id
    at: Id
    description: Words
    unit_cost: Money
    fluid_family: Literal["glycol", "mineral", "silicone", "any"] = "any"
    compared: Words
    approved_by: Text = ""


class Job(Model):
    document: DocumentNumber
    revision: Annotated[int, Field(ge=1, le=999)] = 1
    date: dt.date
    customer: Customer
    odometer: Text = ""
    complaint: Words
    jobs: tuple[AskedJob, ...] = ()
    extra_parts: tuple[ExtraPart, ...] = ()
    sublet: tuple[Sublet, ...] = ()
    substitutes: tuple[Substitute, ...] = ()
    notes: tuple[Words, ...] = ()


# --- the labor tables -------------------------------------------------------------------------------------------------


class JobRow(Model):
    job_id: Id
    title: Words
    place_kind: PlaceKind
    only_at: Literal["", "front", "rear"] = ""
    rate: Id
    safety: Literal["yes", "no"]
    supersedes: tuple[Id, ...] = ()
    either_or_group: Literal[""] | Id = ""
    applies_if: Literal["", "variant A", "variant B", "fluid glycol", "fluid mineral"] = ""
    note: Text = ""


class StepRow(Model):
    step_id: Id
    title: Words
    place_kind: PlaceKind
    shared: Literal["once a visit", "each job"]
    hours_low: Annotated[float, Field(ge=0, le=100)]
    hours_likely: Annotated[float, Field(ge=0, le=100)]
    hours_high: Annotated[float, Field(ge=0, le=100)]
    basis: Words


class PartRow(Model):
    part_id: Id
    description: Words
    unit: Words
    unit_cost: Money
    core_deposit: Money
    condition: Literal["new", "rebuilt", "used"]
    fluid_family: Literal["glycol", "mineral", "silicone", "any"]
    tax_class: TaxClass
    priced_on: dt.date


class JobPartRow(Model):
    job_id: Id
    part_id: Id
    quantity: _amount("0.01", "1000")


class CallRow(Model):
    check_id: Id
    verdict: Literal[
        "outside limit", "too close to call", "could not be measured", "fault seen", "could not be checked", "not checked"
    ]
    job_id: Id


class Tables(Model):
    jobs: tuple[JobRow, ...]
    steps: tuple[StepRow, ...]
    job_steps: tuple[tuple[Id, Id], ...]
    parts: tuple[PartRow, ...]
    job_parts: tuple[JobPartRow, ...]
    calls: tuple[CallRow, ...]
    job_checks: tuple[tuple[Id, Id], ...]


# --- the whole --------------------------------------------------------------------------------------------------------


class Fact(Model):
    """A published number as resolved at drafting, with its source in words."""

    id: Id
    title: Words
    text: Words
    si: float
    unit: str
    source: Words
    clause: Text = ""
    kind: Text = ""
    status: Words


class JobRecord(Model):
    """All that a workbook is made from, without the entries: the boxes alone hold those."""

    shop: Shop
    car: Car
    job: Job
    tables: Tables
    facts: tuple[Fact, ...]
    tables_name: Text = ""

    def fact(self, fact_id: str) -> Fact:
        return next(fact for fact in self.facts if fact.id == fact_id)
