"""The last value that is allowed and the first that isn't, for every limit that the physics draws itself."""

import math

import pytest
from physics_calls import GAIN

from estimator.errors import DomainError
from estimator.hydraulics import gas, leakage, reserve
from tests.second_answers import braking, circuits, deceleration, failure_states, lamp, lines, nitrogen, stopping, wear

BRAKE = {"wheel": "w", "axle": "front-axle", "source": "s", "effective_radius_m": 0.1, "friction": 0.4}
EDGES = [
    # what is still allowed, and what no longer is
    (lambda x: circuits.Brake(piston_area_m2=x, **BRAKE), 1e-9, 0.0),
    (lambda x: circuits.clamping_area(0.038, x, True), 2, 0),
    (lambda x: circuits.application_volume(0, 0, 1e-4, x, 1e9), 0.05e9, 0.0501e9),
    (lambda x: circuits.application_volume(0, 0, 1e-4, x, 1e9), 0.0, -1.0),
    (lambda x: deceleration.Valve(x), 0.0, -0.1),
    (lambda x: deceleration.closing_deceleration(math.radians(x)), 60, 60.1),
    (lambda x: deceleration.closing_deceleration(0.3, math.radians(x)), 30, 30.1),
    (lambda x: deceleration.closing_deceleration(0.3, math.radians(x)), -30, -30.1),
    (lambda x: deceleration.closing_deceleration(0.3, 0.0, math.radians(x)), -30, -30.1),
    (lambda x: deceleration.closing_band(0.3, x), 0.3, 0.301),
    (lambda x: deceleration.share_kept_from_rear(x, 5e6, 0.7), 1.0, 0.0),
    (lambda x: braking.axle_loads(1000.0, 0.5, 0.5, 2.5, x, 10.0), 25.0, 25.01),
    (lambda x: braking.deceleration_on_road(1e3, 1e3, 1000.0, 0.5, 1.0, 2.0, x), 0.99, 1.0),
    (lambda x: gas.fast_exponent(1e6, x, 293.15), 18e6, 18.001e6),
    (lambda x: gas.fast_exponent(x, 12e6, 293.15), 12e6, 12.001e6),
    (lambda x: gas.fast_exponent(12e6, 15e6, x), 233.15, 233.1),
    (lambda x: gas.fast_exponent(12e6, 15e6, x), 383.15, 383.2),
    (lambda x: nitrogen.hot_precharge(x, 293.15, 383.15), 18e6, 18.001e6),
    (lambda x: nitrogen.absolute_pressure(x), -101325.0, -101326.0),
    (lambda x: reserve.inferred_precharge(1e-3, x, 12e6, 16e6, 293.15), 0.25e-3, 0.2501e-3),
    (lambda x: lamp.lamp_pressure_for_hot_precharge(1e-3, 7e6, x, 5), 0.189e-3, 0.19e-3),
    (lambda x: lamp.lamp_pressure_for_strokes(1e-3, 6e6, 7e6, 15e6, 1e-5, x, 293.15), 0, -1),
    (lambda x: leakage.hold_time(1e-3, x, 12e6, 15e6, 1e-8), 12e6, 12.01e6),
    (lambda x: lines.thin_wall_stress(1e6, 2e-3, x), 0.999e-3, 1e-3),
    (lambda x: wear.stop_energy(1000.0, 10.0, x), 10.0, 10.01),
    (lambda x: wear.wear_rate(5e-3, x, 1e6), 5e-3, 5.01e-3),
    (lambda x: stopping.stopping_distance(3.0, 6.0, 0.0, x), 1.0, 1.001),
]


@pytest.mark.parametrize(("function", "allowed", "refused"), EDGES)
def test_edges_of_what_is_allowed(function, allowed, refused):
    function(allowed)
    with pytest.raises(DomainError):
        function(refused)


def test_a_valve_holds_back_all_unless_it_says_otherwise():
    assert deceleration.Valve(3.0).share_held_back == 1.0
    assert failure_states.deceleration_in_state(GAIN, 15e6, deceleration.Valve(1.2), "working") == pytest.approx(
        0.4 + 6e-7 * 15e6 + 2e-7 * 1e6
    )
