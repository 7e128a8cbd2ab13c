"""Laws of pipes, pedal, braking and its failure states that hold for any inputs."""

import math

import pytest
from hypothesis import assume
from hypothesis import strategies as st
from physics_laws import given

from estimator.errors import DomainError
from estimator.hydraulics import pedal, states
from tests.second_answers import braking, circuits, deceleration, failure_states, lines, published_stops, stopping
from tests.second_answers.circuits import Brake

shares = st.floats(0.0, 1.0)


@given(st.floats(1e6, 3e7), st.floats(3e-3, 2e-2), st.floats(0.05, 0.45))
def test_barlow_is_never_below_the_greatest_stress(pressure, diameter, share):
    wall = share * diameter
    thin, thick = (f(pressure, diameter, wall) for f in (lines.thin_wall_stress, lines.thick_wall_stress))
    assert thin >= thick * (1 - 1e-12) > pressure * (1 - 1e-9)
    assert lines.thin_wall_pressure(thin, diameter, wall) == pytest.approx(pressure, rel=1e-12)


@given(st.floats(1e-8, 5e-6), st.floats(1e5, 1e7), st.floats(0.01, 0.03), st.floats(2, 8))
def test_trapped_air_is_found_again(air, pressure, bore, ratio):
    longer = pedal.pedal_travel(pedal.air_compression(air, pressure), bore, ratio)
    assert circuits.trapped_air(0.03 + longer, 0.03, bore, ratio, pressure) == pytest.approx(air, rel=1e-6)
    assert circuits.trapped_air(0.02, 0.03, bore, ratio, pressure) == 0


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
    assert published_stops.mean_deceleration(speed, stopping.stopping_distance(speed, a)) == pytest.approx(a)
    step = 1e-4
    distance, time, v = speed * reaction, 0.0, speed
    while v > 0 and speed < 5:
        now = a * min(1.0, (time + step / 2) / build_up) if build_up else a
        distance += v * step - now * step * step / 2
        v, time = v - now * step, time + step
    if speed < 5:
        assert distance == pytest.approx(whole, rel=1e-3, abs=2e-3)
