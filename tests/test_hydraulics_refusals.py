"""What the physics refuses, in words that say what was found and what is allowed; and its answers at the edges."""

import math

import pytest
from physics_calls import BRAKES, CALLS, GAIN, VALVE
from physics_functions import documented, unit_of_name

from estimator.errors import DomainError, EstimatorError
from estimator.hydraulics import accumulator, applications, charge, gas, leakage, reserve, states
from tests.second_answers import (
    braking,
    circuits,
    deceleration,
    failure_states,
    lamp,
    leak_of_hold,
    lines,
    nitrogen,
    stopping,
    strokes_left,
    wear,
)

BY_NAME = {item.name: item for item in documented()}
NUMBERS = [
    (name, key)
    for name, inputs in CALLS.items()
    for key, value in inputs.items()
    if isinstance(value, (int, float)) and not isinstance(value, bool)
]


@pytest.mark.parametrize(("name", "key"), NUMBERS, ids=[f"{name}-{key}" for name, key in NUMBERS])
def test_what_is_not_a_number_is_refused(name, key):
    """A missing or broken input never gives an answer."""
    for nonsense in (math.nan, math.inf):
        with pytest.raises(DomainError):
            BY_NAME[name].function(**{**CALLS[name], key: nonsense})


@pytest.mark.parametrize(
    ("name", "key"),
    [(name, key) for name, key in NUMBERS if unit_of_name(key) in ("m", "m²", "m³", "kg", "N", "s", "K", "J", "Pa·s")],
)
def test_negative_quantities_are_refused(name, key):
    with pytest.raises(DomainError):
        BY_NAME[name].function(**{**CALLS[name], key: -1.0})


SHARES = ("efficiency", "front_share", "share", "share_held_back", "lost_share", "eccentricity")


@pytest.mark.parametrize(("name", "key"), [(name, key) for name, key in NUMBERS if key in SHARES])
def test_a_share_lies_between_0_and_1(name, key):
    for wrong in (-0.01, 1.01):
        with pytest.raises(DomainError, match=f"{key} is {wrong}"):
            BY_NAME[name].function(**{**CALLS[name], key: wrong})


def test_a_refusal_is_words_for_people():
    with pytest.raises(ValueError, match=r"^mass_kg is -3: it must be above 0$") as caught:
        wear.stop_energy(-3, 10)
    assert isinstance(caught.value, EstimatorError)


REFUSED = [
    (nitrogen.absolute_pressure, (-2e5,), "a vacuum is the lowest pressure"),
    (gas.fast_exponent, (12e6, 15e6, 233.0), "temperature_k is 233: allowed is 233.14 to 383.16, .*-40 to 110 °C"),
    (gas.charging_exponent, (12e6, 15e6, 263.0), "temperature_k is 263: allowed is 273.14 to 383.16, .*0 to 110 °C"),
    (gas.fast_exponent, (12e6, 19e6, 293.0), "upper_pa is 1.9e.07: allowed is 0 to 1.8e.07"),
    (gas.fast_exponent, (15e6, 12e6, 293.0), "the lower pressure comes first"),
    (nitrogen.hot_precharge, (7e6, 293.0, 400.0), "hot|temperature_k is 400"),
    (accumulator.slow_usable_volume, (1, 5e6, 15e6, 12e6), "the discharge ends at the lower pressure"),
    (applications.pressures_after_applications, (1, 5e6, 15e6, 0.0, 3, 293.15), "application_m3 is 0"),
    (strokes_left.reserve_left, (1e-3, 7e6, 6e6, 5e6, 15e6, 293.15), "from the floor to cut-out"),
    (reserve.inferred_precharge, (1e-3, 0.5e-3, 12e6, 15e6, 293.15), "at any precharge this accumulator gives at most"),
    (reserve.precharge_from_charge_volume, (1e-3, 1e-3, 15e6, 293.15), "with as much fluid its gas is lost"),
    (
        nitrogen.number_of_applications,
        (1e-3, 7e6, 9e6, 15e6, 0.0, 293.15),
        "application_m3 is 0: it must be above 0",
    ),
    (lamp.lamp_pressure_for_strokes, (1e-3, 3e6, 9e6, 15e6, 5e-5, 5, 293.15), "no lamp pressure is high enough"),
    (lamp.lamp_pressure_for_hot_precharge, (1e-3, 9e6, 2e-4, 5), "more than an accumulator of 0.001 m³ can hold"),
    (charge.charge_time, (3e-4, 5e-7, 5e-7), "no more than leaks, so cut-out is never reached"),
    (circuits.clamping_area, (0.038, 3, True), "opposed pistons come in pairs"),
    (circuits.Brake, ("w", "axle 1", "s", 1e-3, 0.1, 0.4), "allowed is front-axle or rear-axle"),
    (circuits.Brake, ("w", "front-axle", "s", 1e-3, 0.1, 1.6), "no lining grips better"),
    (circuits.application_volume, (1e-6, 0, 1e-4, 1e8, 1.5e9), "5 % of the bulk modulus"),
    (leakage.hold_time, (1e-3, 13e6, 12e6, 15e6, 1e-8), "from a charge that isn't lost to the lower pressure"),
    (lines.wall_left, (1e-3, 1.0), "no wall is left"),
    (lines.thin_wall_stress, (1e6, 2e-3, 1e-3), "would be solid"),
    (wear.stop_energy, (1000, 10, 11), "doesn't end faster than it began"),
    (wear.wear_rate, (5e-3, 6e-3, 1e6), "a part that wears doesn't grow; measure again"),
    (wear.distance_to_discard, (5e-3, 2e-3, 0.0), "rate is 0: it must be above 0"),
    (braking.axle_loads, (1500, 0.5, 0.7, 2.5, 20.0), "the rear axle would lift"),
    (braking.rear_locks_above, (0.0, 0.0, 0.5, 0.5, 2.5), "all_forces_n is 0"),
    (braking.deceleration_on_road, (1e4, 1e4, 1500, 0.7, 0.9, 2.5, 1.0), "the rear axle would lift"),
    (stopping.stopping_distance, (1.0, 9.0, 0.0, 1.0), "would stand before the brakes are fully on"),
    (deceleration.closing_deceleration, (1.2,), "ramps of such valves"),
    (deceleration.closing_band, (0.1, 0.2), "a tolerance is smaller than its angle"),
    (deceleration.Valve, (3.0, 1.2), "share_held_back is 1.2: allowed is 0 to 1"),
    (failure_states.closing_pressure, (GAIN, VALVE, "stuck"), "allowed is working, stuck open or stuck closed"),
    (
        failure_states.lowest_system_pressure,
        (3.0, failure_states.Gains(0, 2e-7, 0.4), deceleration.Valve(1.0), "working"),
        "in this state no system pressure is enough",
    ),
]


@pytest.mark.parametrize(
    ("function", "arguments", "words"), REFUSED, ids=[f"{f.__name__}-{w[:30]}" for f, _, w in REFUSED]
)
def test_refusals_in_words(function, arguments, words):
    with pytest.raises(DomainError, match=words):
        function(*arguments)


def test_leakage_is_not_inferred_before_the_gas_has_settled():
    inputs = CALLS["leak_of_hold.leakage_from_hold"]
    with pytest.raises(DomainError, match=r"an earlier reading takes cooling for a leak .*2038 psi by itself"):
        leak_of_hold.leakage_from_hold(**{**inputs, "settled_s": 899.0})
    assert leak_of_hold.leakage_from_hold(**{**inputs, "settled_s": 900.0}) > 0


def test_a_drop_that_cold_explains_is_no_leak():
    inputs = CALLS["leak_of_hold.leakage_from_hold"]
    cold = gas.pressure_by_temperature_alone(15e6, 295.0, 293.0)
    assert cold < 15e6
    assert leak_of_hold.leakage_from_hold(**{**inputs, "second_pressure_pa": cold}) == 0.0


def test_a_pedal_circuit_behind_the_valve_is_refused():
    wrong = circuits.Brake("rear-left", "rear-axle", "pedal-circuit", 1e-3, 0.1, 0.4, behind_valve=True)
    with pytest.raises(DomainError, match="rear-left: pistons of the pedal circuit can't lie behind"):
        failure_states.gains([wrong], ["pedal-circuit"], 1500, 0.3, 5e6)


def test_states_follow_the_source_map():
    names = [state.name for state in states.states(BRAKES)]
    assert names == [
        "everything",
        "system-1 lost",
        "system-2 lost",
        "pedal circuit alone",
        "rear restricted",
        "valve stuck open",
    ]
    one_system = [circuits.Brake("front-left", "front-axle", "system-1", 1e-3, 0.1, 0.4)]
    assert [state.name for state in states.states(one_system)] == ["everything"]
    assert states.states([BRAKES[2]]) == ()


def test_empty_and_full_accumulators():
    assert charge.charge_volume(1.0, 0.0, 15e6, 293.15) == charge.Band(1.0, 1.0)
    assert charge.charge_volume(1.0, 15e6, 15e6, 293.15) == charge.Band(0.0, 0.0)
    assert applications.pressure_after_volume(1e-3, 7e6, 15e6, 0.0, 15e6, 293.15) == 15e6
    assert applications.pressure_after_volume(1e-3, 7e6, 15e6, 9e-4, 15e6, 293.15) == gas.ATMOSPHERE_PA
    assert applications.pressure_after_volume(1e-3, 0.0, 15e6, 0.0, 15e6, 293.15) == 15e6
    assert accumulator.fast_usable_volume(1e-3, 7e6, 15e6, 15e6, 293.15) == 0.0
    assert accumulator.slow_usable_volume(1e-3, 7e6, 15e6, 15e6) == 0.0
    assert nitrogen.gas_volume(1e-3, 7e6, 5e6) == 1e-3
