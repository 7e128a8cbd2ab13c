"""Laws of the physics that hold for any inputs: what rises with what, what is 0 when, which answers agree."""

import itertools
import math

import pytest
from hypothesis import assume, settings
from hypothesis import given as given_by_hypothesis
from hypothesis import strategies as st

from estimator.errors import DomainError
from estimator.hydraulics import (
    accumulator,
    applications,
    braking,
    charge,
    deceleration,
    failure_states,
    fluid,
    gas,
    lamp,
    leakage,
    lines,
    pedal,
    reserve,
    states,
    stopping,
)
from estimator.hydraulics.circuits import Brake
from estimator.quantities import PSI

temperatures = st.floats(273.15, 383.15)
precharges = st.floats(300, 1400).map(lambda psi: psi * PSI)
lowers = st.floats(1100, 2200).map(lambda psi: psi * PSI)
widths = st.floats(50, 1200).map(lambda psi: psi * PSI)
volumes = st.floats(0.2e-3, 2e-3)
shares = st.floats(0.0, 1.0)
HIGHEST = 2400 * PSI


def given(*strategies):
    """Hypothesis without a deadline: a busy machine is no counterexample."""
    return lambda test: settings(deadline=None)(given_by_hypothesis(*strategies)(test))


def window(lower, width):
    upper = min(lower + width, HIGHEST)
    assume(upper - lower > 10 * PSI)
    return lower, upper


@given(volumes, precharges, lowers, widths, temperatures)
def test_slow_is_more_than_fast(v0, p0, lower, width, temperature):
    lower, upper = window(lower, width)
    assume(p0 < upper - 10 * PSI)
    band = accumulator.usable_volume(v0, p0, lower, upper, temperature)
    assert 0 < band.low < band.high < v0


@given(volumes, precharges, lowers, widths, temperatures, st.floats(0.5, 0.99))
def test_reserve_falls_as_precharge_falls_below_its_best(v0, p0, lower, width, temperature, less):
    """Below the lower pressure less gas means less fluid; the best precharge lies at the lower pressure or above it."""
    lower, upper = window(lower, width)
    assume(p0 <= lower)
    for volume in (accumulator.fast_usable_volume, accumulator.slow_usable_volume):
        rest = (temperature,) if volume is accumulator.fast_usable_volume else ()
        emptied = accumulator.EMPTYING_SHARE * v0 * (1 - p0 / upper)
        assume(volume(v0, p0, lower, upper, *rest) < 0.99 * emptied)
        assert volume(v0, p0 * less, lower, upper, *rest) < volume(v0, p0, lower, upper, *rest)


@given(volumes, lowers, widths, temperatures)
def test_a_lost_charge_has_no_reserve(v0, lower, width, temperature):
    lower, upper = window(lower, width)
    for p0 in (0.0, gas.ATMOSPHERE_PA, gas.LOST_PRECHARGE_PA, upper, 1.2 * upper):
        assert accumulator.usable_volume(v0, p0, lower, upper, temperature) == accumulator.Band(0.0, 0.0)
        assert reserve.reserve_left(v0, p0, lower, upper, upper, temperature) == 0.0
        assert applications.number_of_applications(v0, p0, lower, upper, 1e-5, temperature).low == 0
        assert applications.pressures_after_applications(v0, p0, upper, 1e-5, 1, temperature)[1] == gas.ATMOSPHERE_PA


@given(volumes, precharges, lowers, widths, temperatures, st.floats(1.001, 1.5))
def test_a_wider_window_gives_more(v0, p0, lower, width, temperature, more):
    lower, upper = window(lower, width)
    assume(p0 < upper - 10 * PSI)
    narrow = accumulator.usable_volume(v0, p0, lower, upper, temperature)
    wide = accumulator.usable_volume(v0, p0, lower / more, upper, temperature)
    assert wide.low >= narrow.low * (1 - 1e-12)
    assert wide.high >= narrow.high * (1 - 1e-12)


@given(volumes, precharges, temperatures, st.floats(1e-6, 3e-5))
def test_pressure_falls_with_every_application(v0, p0, temperature, volume):
    found = applications.pressures_after_applications(v0, p0, HIGHEST, volume, 12, temperature)
    assert found[0] == HIGHEST
    for before, after in itertools.pairwise(found):
        assert after < before or after == before == gas.ATMOSPHERE_PA


@given(volumes, precharges, lowers, temperatures, st.floats(2e-6, 3e-5))
def test_the_count_and_the_table_agree(v0, p0, lower, temperature, volume):
    """At the counted application the table still stands at the pressure, at the next one below it, but for 0.6 %."""
    count = applications.number_of_applications(v0, p0, lower, HIGHEST, volume, temperature).low
    assume(count <= 60)
    table = applications.pressures_after_applications(v0, p0, HIGHEST, volume, int(count) + 1, temperature)
    assert table[int(count)] >= lower * 0.994
    assert table[int(count) + 1] <= lower * 1.006


@given(volumes, precharges, lowers, widths, temperatures, shares)
def test_reserve_left_is_what_either_way_leaves(v0, p0, lower, width, temperature, share):
    lower, upper = window(lower, width)
    here = lower + share * (upper - lower)
    left = reserve.reserve_left(v0, p0, lower, here, upper, temperature)
    whole = accumulator.fast_usable_volume(v0, p0, lower, upper, temperature)
    assert 0 <= left <= whole * (1 + 1e-9)
    assert left <= accumulator.fast_usable_volume(v0, p0, lower, here, temperature) + 1e-18
    assert reserve.reserve_left(v0, p0, lower, upper, upper, temperature) == pytest.approx(whole, rel=1e-9)
    assert reserve.reserve_left(v0, p0, lower, lower, upper, temperature) == 0


@given(volumes, precharges, lowers, widths, temperatures)
def test_inferred_precharge_holds_the_one_it_came_from(v0, p0, lower, width, temperature):
    lower, upper = window(lower, width)
    assume(p0 <= lower and upper - lower > 100 * PSI)
    band = accumulator.usable_volume(v0, p0, lower, upper, temperature)
    for drawn in (band.low, band.high):
        found = reserve.inferred_precharge(v0, drawn, lower, upper, temperature)
        assert found.low <= p0 * (1 + 1e-9) and found.high >= p0 * (1 - 1e-9)


@given(volumes, lowers, widths, temperatures, st.floats(0.1, 0.9))
def test_inferred_high_precharge_holds_the_one_it_came_from(v0, lower, width, temperature, share):
    lower, upper = window(lower, width)
    p0 = lower + share * (upper - lower)
    band = accumulator.usable_volume(v0, p0, lower, upper, temperature)
    emptied = accumulator.EMPTYING_SHARE * v0 * (1 - p0 / upper)
    assume(band.low == pytest.approx(emptied, rel=1e-12))
    found = reserve.inferred_high_precharge(v0, band.low, lower, upper, temperature)
    assert found.low == pytest.approx(p0, rel=1e-9)
    assert lower <= found.low < found.high < upper


@given(volumes, precharges, temperatures, st.floats(400, 1000), st.floats(2e-6, 2e-5), st.integers(1, 8))
def test_more_strokes_need_a_higher_lamp_pressure(v0, p0, temperature, secondary_psi, volume, strokes):
    arguments = (v0, p0, p0, secondary_psi * PSI, HIGHEST, volume)
    try:
        fewer = lamp.lamp_pressure(*arguments, strokes, temperature)
        more = lamp.lamp_pressure(*arguments, strokes + 1, temperature)
    except DomainError:
        return
    assert more > fewer
    assert fewer >= p0


@given(st.floats(273.15, 383.15), st.floats(273.15, 383.15), precharges)
def test_temperature_there_and_back(start, end, p0):
    there = gas.precharge_at_temperature(p0, start, end)
    assert gas.precharge_at_temperature(there, end, start) == pytest.approx(p0, rel=1e-12)
    hot = gas.hot_precharge(p0, min(start, end), max(start, end))
    assert hot >= gas.precharge_at_temperature(p0, min(start, end), max(start, end))


@given(lowers, widths, temperatures)
def test_a_top_up_settles_between_its_pressures(lower, width, temperature):
    lower, upper = window(lower, width)
    assert lower < gas.settled_pressure(lower, upper, temperature) < upper


@given(volumes, precharges, temperatures, st.floats(1e-6, 2e-5), st.floats(0, 9e-7))
def test_charge_time_and_what_it_betrays(v0, p0, temperature, flow, leak):
    taken = charge.charge_volume(v0, p0, HIGHEST, temperature)
    assert 0 < taken.low < taken.high < v0
    time = charge.charge_time(taken.high, flow, leak)
    volume = charge.taken_in_time(time, flow, leak)
    assert volume == pytest.approx(taken.high, rel=1e-9)
    found = reserve.precharge_from_charge_volume(v0, volume, HIGHEST, temperature)
    assert found.high == pytest.approx(p0, rel=1e-6)


@given(volumes, precharges, lowers, widths, st.floats(1e-9, 1e-6))
def test_holding_longer_with_less_leakage(v0, p0, lower, width, flow):
    lower, upper = window(lower, width)
    assume(p0 <= lower)
    time = leakage.hold_time(v0, p0, lower, upper, flow)
    lost = v0 * p0 * (1 / lower - 1 / upper)
    assert lost / flow < time < lost / flow * upper / lower
    assert leakage.hold_time(v0, p0, lower, upper, 2 * flow) == pytest.approx(time / 2, rel=1e-12)


@given(st.floats(250, 400), st.floats(250, 400))
def test_viscosity_falls_with_temperature_and_meets_its_points(first, second):
    known = (313.15, 15e-6, 373.15, 4e-6)
    assert leakage.kinematic_viscosity(313.15, *known) == pytest.approx(15e-6, rel=1e-9)
    assert leakage.kinematic_viscosity(373.15, *known) == pytest.approx(4e-6, rel=1e-9)
    assume(abs(first - second) > 1e-6)
    cold, warm = sorted((first, second))
    assert leakage.kinematic_viscosity(cold, *known) > leakage.kinematic_viscosity(warm, *known)


@given(st.floats(1e6, 3e7), st.floats(3e-3, 2e-2), st.floats(0.05, 0.45))
def test_barlow_is_never_below_the_greatest_stress(pressure, diameter, share):
    wall = share * diameter
    thin, thick = (f(pressure, diameter, wall) for f in (lines.thin_wall_stress, lines.thick_wall_stress))
    assert thin >= thick * (1 - 1e-12) > pressure * (1 - 1e-9)
    assert lines.thin_wall_pressure(thin, diameter, wall) == pytest.approx(pressure, rel=1e-12)


@given(st.floats(0.02, 0.05), st.floats(1e6, 3e7), st.floats(0.1, 0.4))
def test_birnie_keeps_the_wall_that_it_asks_for(diameter, pressure, poisson):
    stress = 2.5 * pressure
    wall = lines.thick_wall_needed(pressure, diameter, stress, poisson)
    assert wall > 0
    assert lines.thick_wall_needed(pressure, diameter, 2 * stress, poisson) < wall


@given(st.floats(1e-8, 5e-6), st.floats(1e5, 1e7), st.floats(0.01, 0.03), st.floats(2, 8))
def test_trapped_air_is_found_again(air, pressure, bore, ratio):
    longer = pedal.pedal_travel(pedal.air_compression(air, pressure), bore, ratio)
    assert pedal.trapped_air(0.03 + longer, 0.03, bore, ratio, pressure) == pytest.approx(air, rel=1e-6)
    assert pedal.trapped_air(0.02, 0.03, bore, ratio, pressure) == 0


@given(st.floats(0.01, 0.03), st.floats(0.01, 0.03), st.floats(1e-7, 5e-6), st.floats(50, 500))
def test_substitute_agrees_with_working_it_out_anew(bore, other, volume, force):
    change = pedal.substitute(bore, other)
    assert pedal.pedal_travel(volume, other, 4) == pytest.approx(pedal.pedal_travel(volume, bore, 4) * change.travel)
    wanted = pedal.pedal_pressure(force, 4, bore)
    assert pedal.pedal_pressure(force * change.force, 4, other) == pytest.approx(wanted)


cars = st.lists(
    st.builds(
        Brake,
        wheel=st.just("front-left"),
        axle=st.sampled_from(["front-axle", "rear-axle"]),
        source=st.sampled_from(["system-1", "system-2"]),
        piston_area_m2=st.floats(2e-4, 3e-3),
        effective_radius_m=st.floats(0.08, 0.16),
        friction=st.floats(0.2, 0.5),
        behind_valve=st.booleans(),
    ),
    min_size=1,
    max_size=8,
).map(lambda found: [*found, Brake("rear-left", "rear-axle", "pedal-circuit", 6e-4, 0.11, 0.38)])
valves = st.builds(deceleration.Valve, st.floats(0.5, 5), shares)


@given(cars, valves, st.floats(0, 15e6), st.floats(0, 8e6))
def test_every_state_is_at_most_everything_with_the_valve_open(brakes, valve, pressure, pedal_pressure):
    best = None
    for state in [*states.states(brakes), states.State("open", states.states(brakes)[0].alive, "stuck open")]:
        gain = failure_states.gains(brakes, state.alive, 1500.0, 0.32, pedal_pressure)
        found = failure_states.deceleration_in_state(gain, pressure, valve, state.valve)
        everything = failure_states.gains(brakes, states.states(brakes)[0].alive, 1500.0, 0.32, pedal_pressure)
        best = failure_states.deceleration_in_state(everything, pressure, valve, "stuck open")
        assert found <= best * (1 + 1e-12)


@given(cars, valves, st.floats(0, 15e6), st.floats(0, 8e6))
def test_axle_forces_are_the_deceleration_of_the_state(brakes, valve, pressure, pedal_pressure):
    for state in states.states(brakes):
        gain = failure_states.gains(brakes, state.alive, 1500.0, 0.32, pedal_pressure)
        pressures = {name: pressure for name in state.alive}
        pressures |= {"pedal-circuit": pedal_pressure} if "pedal-circuit" in state.alive else {}
        forces = failure_states.axle_forces(brakes, pressures, 1500.0, 0.32, valve, state.valve)
        wanted = failure_states.deceleration_in_state(gain, pressure, valve, state.valve)
        assert (forces.front + forces.rear) / 1500.0 == pytest.approx(wanted, rel=1e-9, abs=1e-12)


@given(cars, valves, st.floats(0.5, 8.0), st.floats(0, 8e6))
def test_the_lowest_pressure_just_meets_the_deceleration(brakes, valve, required, pedal_pressure):
    for state in states.states(brakes):
        gain = failure_states.gains(brakes, state.alive, 1500.0, 0.32, pedal_pressure)
        try:
            pressure = failure_states.lowest_system_pressure(required, gain, valve, state.valve)
        except DomainError:
            slope = gain.free_m_s2_pa + (1 - valve.share_held_back) * gain.behind_m_s2_pa
            assert slope == 0
            continue
        assume(pressure < 1e10)
        found = failure_states.deceleration_in_state(gain, pressure, valve, state.valve)
        if pressure == 0:
            assert found >= required
        else:
            assert found == pytest.approx(required, rel=1e-9)


@given(cars, st.floats(0, 15e6))
def test_pedal_circuit_alone_needs_no_system_pressure(brakes, pressure):
    alone = next(state for state in states.states(brakes) if state.name == "pedal circuit alone")
    gain = failure_states.gains(brakes, alone.alive, 1500.0, 0.32, 5e6)
    assert failure_states.deceleration_in_state(gain, pressure, None, "working") == gain.pedal_m_s2 > 0


@given(st.floats(0, 2e4), st.floats(0, 2e4), st.floats(0.4, 0.7), st.floats(0.3, 0.7), st.floats(0.1, 1.0))
def test_deceleration_on_road_is_a_balance(front, rear, share, height, adhesion):
    """The least of the four cases is the one at which no axle uses more than the road has, and none is left unused."""
    mass, wheelbase = 1500.0, 2.75
    found = braking.deceleration_on_road(front, rear, mass, share, height, wheelbase, adhesion)
    loads = braking.axle_loads(mass, share, height, wheelbase, found)
    held = min(front, adhesion * loads.front) + min(rear, adhesion * loads.rear)
    assert held / mass == pytest.approx(found, rel=1e-9, abs=1e-9)
    assert found <= adhesion * braking.STANDARD_GRAVITY_M_S2 * (1 + 1e-12)


@given(st.floats(1e3, 2e4), st.floats(1e3, 2e4), st.floats(0.4, 0.7), st.floats(0.3, 0.7))
def test_both_axles_use_the_same_adhesion_where_the_rear_begins_to_lock_first(front, rear, share, height):
    mass, wheelbase = 1500.0, 2.75
    limit = braking.rear_locks_above(front, rear, share, height, wheelbase)
    assume(0.1 < limit < 0.9 * braking.STANDARD_GRAVITY_M_S2 * (1 - share) * wheelbase / height)
    scale = mass * limit / (front + rear)
    loads = braking.axle_loads(mass, share, height, wheelbase, limit)
    used = braking.adhesion_used(front * scale, loads.front), braking.adhesion_used(rear * scale, loads.rear)
    assert used[0] == pytest.approx(used[1], rel=1e-9)


@given(st.floats(0.05, 0.6), st.floats(0, 0.04), st.floats(-0.1, 0.1))
def test_a_valve_closes_earlier_with_pitch_and_downhill(ramp, pitch, downhill):
    flat = deceleration.closing_deceleration(ramp)
    assert flat == pytest.approx(braking.STANDARD_GRAVITY_M_S2 * math.tan(ramp))
    assert deceleration.closing_deceleration(ramp, pitch) <= flat
    here = deceleration.closing_deceleration(ramp, pitch, downhill)
    assert deceleration.closing_deceleration(ramp, pitch, downhill + 0.01) <= here
    band = deceleration.closing_band(ramp, 0.03, pitch, downhill)
    assert band.low <= here <= band.high


@given(st.floats(1, 60), st.floats(1, 9), st.floats(0, 2), st.floats(0, 0.2))
def test_stopping_distance_and_its_parts(speed, a, reaction, build_up):
    whole = stopping.stopping_distance(speed, a, reaction, build_up)
    assert whole >= stopping.stopping_distance(speed, a)
    assert stopping.mean_deceleration(speed, stopping.stopping_distance(speed, a)) == pytest.approx(a)
    step = 1e-4
    distance, time, v = speed * reaction, 0.0, speed
    while v > 0 and speed < 5:
        now = a * min(1.0, (time + step / 2) / build_up) if build_up else a
        distance += v * step - now * step * step / 2
        v, time = v - now * step, time + step
    if speed < 5:
        assert distance == pytest.approx(whole, rel=1e-3, abs=2e-3)


@given(st.floats(0.002, 0.05), st.floats(1e8, 3e9))
def test_compression_adds_to_an_application(share, modulus):
    pressure = share * modulus
    assert fluid.compression(pressure, modulus) == pytest.approx(share)
