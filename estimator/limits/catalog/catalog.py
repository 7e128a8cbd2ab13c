"""The methods by the names under which `checks.toml` asks for them, and the rows worked out for information."""

from __future__ import annotations

from collections.abc import Mapping

from estimator.limits.rows import believable_rows, derived
from estimator.limits.rows.application_limits import application_information, applications
from estimator.limits.rows.charge_and_hold import charge_time, cycle_interval, free_flow_rows, hold_loss
from estimator.limits.rows.fluid_limits import boiling_point
from estimator.limits.rows.heat_rows import heat_rows
from estimator.limits.rows.lamp_limits import lamp_pressure
from estimator.limits.rows.leakage_limits import collected_leakage
from estimator.limits.rows.line_rows import line_rows
from estimator.limits.rows.methods import Context, DerivedMethod, Method, maker
from estimator.limits.rows.pedal_limits import pedal_movement
from estimator.limits.rows.precharge_limits import accumulator_age, precharge
from estimator.limits.rows.road_limits import road_balance, road_stop, valve_tilt
from estimator.limits.rows.state_rows import state_rows
from estimator.limits.rows.wheels import pad_thickness, rotor_thickness

METHODS: Mapping[str, Method] = {
    "maker": maker,
    "boiling-point": boiling_point,
    "accumulator-age": accumulator_age,
    "precharge": precharge,
    "charge-time": charge_time,
    "cycle-interval": cycle_interval,
    "pedal-movement": pedal_movement,
    "hold-loss": hold_loss,
    "applications": applications,
    "collected-leakage": collected_leakage,
    "lamp-pressure": lamp_pressure,
    "pad-thickness": pad_thickness,
    "rotor-thickness": rotor_thickness,
    "valve-tilt": valve_tilt,
    "road-balance": road_balance,
    "road-stop": road_stop,
}

DERIVED: Mapping[str, DerivedMethod] = {
    "precharge-at-reference": derived.precharge_at_reference,
    "hold-loss": derived.hold_loss,
}


BELIEVABLE: Mapping[str, believable_rows.BelievableMethod] = {
    "boiling": believable_rows.boiling,
    "near-the-others": believable_rows.near_the_others,
    "below-cut-out": believable_rows.below_cut_out,
    "pedal-travel": believable_rows.pedal_travel,
    "near-cut-out": believable_rows.near_cut_out,
    "shell-at-start": believable_rows.shell_at_start,
    "shell-at-end": believable_rows.shell_at_end,
    "not-rising": believable_rows.not_rising,
    "whole-shells": believable_rows.whole_shells,
    "no-thicker-than-new": believable_rows.no_thicker_than_new,
    "from-zero": believable_rows.from_zero,
    "at-most-whole": believable_rows.at_most_whole,
    "shortest-stop": believable_rows.shortest_stop,
}


def inform(context: Context) -> None:
    """Work out what no check asks for and a reviewer does: every state of the brakes, applications, lines, heat."""
    state_rows(context)
    for system in context.record.car.systems:
        application_information(context, system.id)
        free_flow_rows(context, system.id)
    line_rows(context)
    heat_rows(context)
