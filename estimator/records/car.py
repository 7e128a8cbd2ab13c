"""The car: its systems, its source map (which source feeds which pistons), and the data that limits rest on.

A car has a name, a variant, a family of fluid and its systems; every other datum may be missing. What rests on a
missing datum isn't known (`limits/working.py`), and what is missing never takes a place from the car.
"""

from __future__ import annotations

import functools
from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from estimator.places import PEDAL_CIRCUIT, WHEELS, Place, Places
from estimator.quantities import Quantity
from estimator.records.fields import (
    Age,
    Angle,
    AnyQuantity,
    Bore,
    BrakeRadius,
    BulkModulus,
    Burst,
    Count,
    Day,
    Displacement,
    Driven,
    DriveRatio,
    Efficiency,
    Family,
    Flow,
    Force,
    Friction,
    FrontShare,
    Height,
    Id,
    LineLength,
    Mass,
    Model,
    OptionalId,
    PedalRatio,
    PedalTravel,
    Pressure,
    RotorMass,
    Share,
    Speed,
    Strength,
    Swell,
    Temperature,
    Text,
    Thickness,
    TireRadius,
    Travel,
    Volume,
    Wall,
    Wheel,
    Wheelbase,
    Words,
    YesNo,
)

# What a car must have for a job or a check to be one for it; "" for any car.
CarsWith = Literal[
    "",
    "variant A",
    "variant B",
    "fluid glycol",
    "fluid mineral",
    "deceleration valve",
    "supply users",
    "one distribution valve",
    "distribution valve each system",
]


class CarIdentity(Model):
    id: OptionalId = ""
    name: Words
    year: Annotated[int, Field(ge=1900, le=2100, strict=True)] | None = None
    plate: Text = ""
    chassis_number: Text = ""
    variant: Literal["A", "B"] = "A"
    distribution_valves: Literal["one", "each system"] = "one"


class Body(Model):
    """Mass and geometry, laden as it is tested. `front_share` is the front axle's share of the weight at rest."""

    mass: Mass | None = None
    wheelbase: Wheelbase | None = None
    center_of_gravity_height: Height | None = None
    front_share: FrontShare | None = None
    tire_radius: TireRadius | None = None


class Fluid(Model):
    family: Family = "not known"
    grade: Text = ""
    capacity: Volume | None = None
    bulk_modulus: BulkModulus = Quantity.of(15_000, "bar")


class Pump(Model):
    displacement: Displacement | None = None
    drive_ratio: DriveRatio | None = None
    volumetric_efficiency: Efficiency | None = None
    idle_speed: Speed | None = None


class System(Model):
    """One powered system with its pump and charging valve. `leakage` is what it loses at rest, charged."""

    id: Id
    pump: Pump = Field(default_factory=Pump)
    cut_in: Pressure | None = None
    cut_out: Pressure | None = None
    lamp: Pressure | None = None
    leakage: Flow = Quantity.of(0, "mL/s")


class Accumulator(Model):
    id: Id
    system: Id
    volume: Volume | None = None
    precharge: Pressure | None = None
    precharge_temperature: Temperature | None = None
    hottest: Temperature | None = None
    coldest: Temperature | None = None
    most_age: Age | None = None


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
    pistons: Count | None = None
    bore: Bore | None = None
    opposed: YesNo | None = None
    travel: Travel | None = None
    effective_radius: BrakeRadius | None = None
    friction: Friction | None = None
    behind_valve: YesNo = False

    @property
    def caliper_place(self) -> str:
        return f"{self.wheel}-{self.caliper}"


class Pedal(Model):
    """The pedal; variant A's master cylinder feeds the pedal circuit, variant B has an elastomer buffer instead.
    `spools_leak_into_pan`: whether what leaks past the distribution valve's spools runs into the drip pan."""

    ratio: PedalRatio | None = None
    full_travel: PedalTravel | None = None
    test_force: Force | None = None
    master_bore: Bore | None = None
    master_stroke: PedalTravel | None = None
    spools_leak_into_pan: Literal["yes", "no", "not known"] = "not known"


class DecelerationValve(Model):
    """Closes above a deceleration: a ball on a ramp of `ramp_angle`; `tolerance` on the bench tilt test.
    `share_held_back` is the part of further pressure that doesn't reach the pistons behind it."""

    ramp_angle: Angle | None = None
    tolerance: Angle | None = None
    share_held_back: Share | None = None


class Hose(Model):
    wheel: Wheel
    source: Id
    bore: Bore | None = None
    length: LineLength | None = None
    swell: Swell | None = None
    burst: Burst | None = None


class Pipe(Model):
    id: Id
    source: Id
    outer_diameter: Bore | None = None
    wall: Wall | None = None
    tensile_strength: Strength | None = None
    yield_strength: Strength | None = None


class RotorAndPads(Model):
    axle: Literal["front-axle", "rear-axle"]
    rotor_new: Thickness | None = None
    rotor_discard: Thickness | None = None
    pad_new: Thickness | None = None
    pads_driven: Driven | None = None
    rotors_driven: Driven | None = None
    rotor_mass: RotorMass | None = None


class CarLimit(Model):
    """A maker's or other datum: the service limit calls a job, the danger limit concerns driving."""

    check: Id
    at: tuple[Id, ...] = ()
    service_low: AnyQuantity | None = None
    service_high: AnyQuantity | None = None
    danger_low: AnyQuantity | None = None
    danger_high: AnyQuantity | None = None
    status: Literal["maker", "common-practice"] = "maker"
    source: Words


class Interval(Model):
    """What the maker has renewed after a time: the jobs of the labor tables that do it, where, and when it was done last,
    if that was elsewhere."""

    title: Words
    every: Age
    jobs: tuple[Id, ...] = ()
    at: tuple[Id, ...] = Field(default=("car",), min_length=1)
    last: Day | None = None
    source: Words


class Car(Model):
    car: CarIdentity
    body: Body = Field(default_factory=Body)
    fluid: Fluid = Fluid()
    systems: tuple[System, ...] = Field(min_length=1, max_length=2)
    accumulators: tuple[Accumulator, ...] = Field(min_length=1, max_length=6)
    supply_users: tuple[SupplyUser, ...] = ()
    brakes: tuple[Brake, ...] = ()
    pedal: Pedal = Field(default_factory=Pedal)
    deceleration_valve: DecelerationValve | None = None
    hoses: tuple[Hose, ...] = ()
    pipes: tuple[Pipe, ...] = ()
    wear: tuple[RotorAndPads, ...] = ()
    limits: tuple[CarLimit, ...] = ()
    intervals: tuple[Interval, ...] = ()

    @model_validator(mode="before")
    @classmethod
    def _stores(cls, data: Any) -> Any:
        """A car that tells of no accumulators has one for each system: each stores pressure."""
        if not isinstance(data, dict) or "accumulators" in data:
            return data
        systems = data.get("systems")
        ids = [item.get("id") for item in systems if isinstance(item, dict)] if isinstance(systems, list) else []
        stores = [{"id": f"accumulator-{number}", "system": name} for number, name in enumerate(ids, 1)]
        return data | {"accumulators": stores} if stores else data

    def has(self, what: str) -> bool:
        """Whether it has what a job or a check is for (`CarsWith`)."""
        valves = self.car.distribution_valves
        mine = ["", f"variant {self.car.variant}", f"fluid {self.fluid.family}"]
        mine += ["one distribution valve" if valves == "one" else "distribution valve each system"]
        mine += ["deceleration valve"] * (self.deceleration_valve is not None)
        return what in mine + ["supply users"] * bool(self.supply_users)

    def places_with(self, what: str, kind: str) -> tuple[Place, ...]:
        """Its places of a kind that have what a job or a check is for: of systems, those with other users of the supply."""
        places = self.places.of_kind(kind) if self.has(what) else ()
        used = {user.system for user in self.supply_users}
        return tuple(place for place in places if what != "supply users" or kind != "system" or place.id in used)

    @functools.cached_property
    def places(self) -> Places:
        """Its places. Without [[brakes]] each wheel has one caliper, which any source may feed."""
        calipers: tuple[tuple[str, str], ...] = tuple(
            dict.fromkeys((brake.caliper_place, brake.wheel) for brake in self.brakes)
        )
        feeds = tuple((brake.caliper_place, brake.source) for brake in self.brakes)
        systems = tuple(system.id for system in self.systems)
        if not self.brakes:
            sources = (*systems, PEDAL_CIRCUIT) if self.car.variant == "A" else systems
            calipers = tuple((f"{wheel}-{Brake.model_fields['caliper'].default}", wheel) for wheel in WHEELS)
            feeds = tuple((caliper, source) for caliper, _ in calipers for source in sources)
        return Places(
            systems=systems,
            accumulators=tuple((item.id, item.system) for item in self.accumulators),
            calipers=calipers,
            feeds=feeds,
            pedal_circuit=any(source == PEDAL_CIRCUIT for _, source in feeds),
        )
