"""The car: its systems, its source map (which source feeds which pistons), and the data that limits rest on."""

from __future__ import annotations

import functools
from typing import Annotated, Literal

from pydantic import Field

from estimator.places import PEDAL_CIRCUIT, Places
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


class CarIdentity(Model):
    id: Id
    name: Words
    year: Annotated[int, Field(ge=1900, le=2100, strict=True)]
    plate: Text = ""
    chassis_number: Text = ""
    variant: Literal["A", "B"]


class Body(Model):
    """Mass and geometry, laden as it is tested. `front_share` is the front axle's share of the weight at rest."""

    mass: Mass
    wheelbase: Wheelbase
    center_of_gravity_height: Height
    front_share: FrontShare
    tire_radius: TireRadius


class Fluid(Model):
    family: Family
    grade: Words
    capacity: Volume
    bulk_modulus: BulkModulus = Quantity.of(15_000, "bar")


class Pump(Model):
    displacement: Displacement
    drive_ratio: DriveRatio
    volumetric_efficiency: Efficiency
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
    opposed: YesNo
    travel: Travel
    effective_radius: BrakeRadius
    friction: Friction
    behind_valve: YesNo = False

    @property
    def caliper_place(self) -> str:
        return f"{self.wheel}-{self.caliper}"


class Pedal(Model):
    """The pedal; variant A's master cylinder feeds the pedal circuit, variant B has an elastomer buffer instead."""

    ratio: PedalRatio
    full_travel: PedalTravel
    test_force: Force
    master_bore: Bore | None = None
    master_stroke: PedalTravel | None = None


class DecelerationValve(Model):
    """Closes above a deceleration: a ball on a ramp of `ramp_angle`; `tolerance` on the bench tilt test.
    `share_held_back` is the part of further pressure that doesn't reach the pistons behind it."""

    ramp_angle: Angle
    tolerance: Angle
    share_held_back: Share


class Hose(Model):
    wheel: Wheel
    source: Id
    bore: Bore
    length: LineLength
    swell: Swell
    burst: Burst


class Pipe(Model):
    id: Id
    source: Id
    outer_diameter: Bore
    wall: Wall
    tensile_strength: Strength
    yield_strength: Strength


class RotorAndPads(Model):
    axle: Literal["front-axle", "rear-axle"]
    rotor_new: Thickness
    rotor_discard: Thickness
    pad_new: Thickness
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

    @functools.cached_property
    def places(self) -> Places:
        calipers = dict.fromkeys((brake.caliper_place, brake.wheel) for brake in self.brakes)
        return Places(
            systems=tuple(system.id for system in self.systems),
            accumulators=tuple((item.id, item.system) for item in self.accumulators),
            calipers=tuple(calipers),
            feeds=tuple((brake.caliper_place, brake.source) for brake in self.brakes),
            pedal_circuit=any(brake.source == PEDAL_CIRCUIT for brake in self.brakes),
        )
