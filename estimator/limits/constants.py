"""Constants that formulas name instead of holding a number. Those of a fit are those of `hydraulics/`."""

from __future__ import annotations

import math
from dataclasses import dataclass

from estimator.hydraulics import accumulator, gas
from estimator.quantities import PSI

# The hold check lasts 30 min (facts/checks.toml).
HOLD_TIME_S = 1800.0
# How far real nitrogen may stay below the change of pressure that gas.pressure_by_temperature_alone foresees.
HEATING_DOUBT = 0.19
# The share of the bulk modulus to which the compression of fluid is taken as linear.
LINEAR_COMPRESSION = 0.05
STEEPEST_RAD = math.radians(60.0) + 1e-9  # a hair more: the last digit of two angles added must not decide
# How far two readings of the same by different gauges may lie apart, beside one step of their unit.
REPEAT_SHARE = 0.02
# Precharge without a gas valve, by eye: standard uncertainties beside the gauge's, with cold gas and a port that closes
# early (derived and computed: pressure_logs/bleed.py); the jump of a first charge as it is seen on a moving needle.
BLEED_U_PA, BLEED_SHARE, FIRST_CHARGE_U_PA = 20 * PSI, 0.03, 40 * PSI
# How old a bench certificate may be (ours; common practice), and what one with something wrong leaves open: everything.
CERTIFICATE_DAYS, UNCERTIFIED_U_PA = 90, 1e9
# From which probability a cause recommends its job, and the likeliest of a group; how often a look must find its fault.
CALLS_FROM, CALLS_AS_FIRST, LOOK_EXPLAINED = 0.5, 0.35, 0.25


@dataclass(frozen=True)
class Constant:
    ref: str
    value: float
    unit: str
    why: str


CONSTANTS = (
    Constant("two", 2.0, "1", "both sides of a disc; the coverage factor k = 2; halves"),
    Constant("three", 3.0, "1", "the variance of a rectangular distribution of half-width a is a²/3"),
    Constant("four", 4.0, "1", "area of a circle from its diameter, πd²/4; weight of the likely value of three"),
    Constant("steepest", STEEPEST_RAD, "rad", "60°, the steepest ramp for which its ball is reckoned, in radians"),
    Constant("six", 6.0, "1", "three-point estimate: (low + 4 likely + high)/6"),
    Constant("z80", 0.8416, "1", "the standard normal deviate that 80% are below"),
    Constant("atmosphere", gas.ATMOSPHERE_PA, "Pa", "standard atmosphere"),
    Constant("gravity", 9.80665, "m/s²", "standard acceleration of free fall"),
    Constant("kmh", 3.6, "km/h per m/s", "km/h in one m/s"),
    Constant("gas-lost", gas.LOST_PRECHARGE_PA, "Pa", "precharge, absolute, at which the gas counts as lost"),
    Constant("gas-coldest", gas.COLDEST_K, "K", "coldest temperature of the fits to real nitrogen"),
    Constant("fast-coldest", gas.FAST_COLDEST_K, "K", "coldest temperature of the exponent of a fast discharge"),
    Constant("cold-below", gas.COLD_BELOW_K, "K", "temperature below which pressure adds more to that exponent"),
    Constant("gas-hottest", gas.HOTTEST_K, "K", "hottest temperature of the fits to real nitrogen"),
    Constant("gas-highest", gas.HIGHEST_PRESSURE_PA, "Pa", "highest pressure of the fits to real nitrogen"),
    Constant("gas-t-ref", gas.REFERENCE_TEMPERATURE_K, "K", "reference temperature of the fits to real nitrogen"),
    Constant("gas-p-ref", gas.REFERENCE_PRESSURE_PA, "Pa", "reference pressure of the fits to real nitrogen"),
    Constant("fast-base", gas.FAST_EXPONENT_BASE, "1", "exponent of a fast discharge, at no pressure and 20 °C"),
    Constant("fast-p", gas.FAST_EXPONENT_PER_PRESSURE, "1", "exponent of a fast discharge, for each 10 MPa"),
    Constant("fast-cold", gas.FAST_EXPONENT_PER_COLD, "1", "the same, more for each 100 K below 0 °C"),
    Constant("fast-t", gas.FAST_EXPONENT_PER_TEMPERATURE, "1", "exponent of a fast discharge, for each 100 K"),
    Constant("charging-base", gas.CHARGING_EXPONENT_BASE, "1", "exponent of a quick charge, at no pressure and 20 °C"),
    Constant("charging-p", gas.CHARGING_EXPONENT_PER_PRESSURE, "1", "exponent of a quick charge, for each 10 MPa"),
    Constant("charging-t", gas.CHARGING_EXPONENT_PER_TEMPERATURE, "1", "exponent of a quick charge, for each 100 K"),
    Constant("heating", gas.HEATING_CORRECTION, "1", "what real nitrogen adds to the gas law, for 10 MPa and 100 K"),
    Constant("heating-doubt", HEATING_DOUBT, "1", "share of a change of pressure by temperature that is in doubt"),
    Constant("emptying", accumulator.EMPTYING_SHARE, "1", "share of its fluid that an accumulator gives for certain"),
    Constant(
        "slow", accumulator.SLOW_CORRECTION, "1", "what real nitrogen takes off a slow discharge, for each 10 MPa"
    ),
    Constant("compression", LINEAR_COMPRESSION, "1", "share of the bulk modulus to which compression is linear"),
    Constant("repeat", REPEAT_SHARE, "1", "share within which two readings agree (ours; common practice, no source)"),
    Constant("bleed-u", BLEED_U_PA, "Pa", "bleed-down by hand: standard uncertainty, beside a share (ours)"),
    Constant("bleed-share", BLEED_SHARE, "1", "the same: share of the precharge"),
    Constant("first-charge-u", FIRST_CHARGE_U_PA, "Pa", "jump of a first charge by eye: standard uncertainty (ours)"),
    Constant(
        "certificate-days", CERTIFICATE_DAYS, "1", "age at most of a bench certificate, in days (ours; common practice)"
    ),
    Constant("uncertified-u", UNCERTIFIED_U_PA, "Pa", "bench certificate not in order: standard uncertainty (ours)"),
    Constant(
        "idle-share",
        0.85,
        "1",
        "share of the stated idle speed at which a reading is still taken (ours; common practice)",
    ),
    Constant("calls-from", CALLS_FROM, "1", "probability from which a cause recommends its job (ours)"),
    Constant("calls-as-first", CALLS_AS_FIRST, "1", "the same of the most probable cause of a group (ours)"),
    Constant(
        "look-explained", LOOK_EXPLAINED, "1", "how often a look must find a fault for a cause to explain it (ours)"
    ),
    Constant("hold-time", HOLD_TIME_S, "s", "duration of the hold check"),
)
