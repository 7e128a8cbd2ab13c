"""Answers worked out by hand, another way than the program does, where no source prints a case."""

import pytest

from estimator.hydraulics import accumulator, gas, pedal, reserve, states
from estimator.quantities import PSI
from tests.second_answers import circuits, failure_states, stopping, strokes_left, wear
from tests.second_answers.deceleration import Valve


def test_a_stop_in_two_parts():
    """20 m/s, 9 m/s², built up in 1 s. While it builds up: 20 − 9/6 m, down to 15.5 m/s; then 15.5²/18 m."""
    assert stopping.stopping_distance(20.0, 9.0, 0.5, 1.0) == pytest.approx(10 + (20 - 1.5) + 15.5**2 / 18, rel=1e-12)


def test_heat_of_a_stop_that_does_not_end_in_standing():
    assert wear.stop_energy(1000.0, 10.0, 5.0) == 50_000 - 12_500


def test_pedal():
    assert pedal.pedal_pressure(500.0, 4.0, 0.019, 0.9) == pytest.approx(0.9 * pedal.pedal_pressure(500.0, 4.0, 0.019))
    # 20 mm bore, 4 : 1, 0.9 mL displaced: 900 mm³/(100 π mm²) = 2.8648 mm at the piston, four times that at the pad
    assert pedal.pedal_travel(0.9e-6, 0.020, 4.0, 0.002) == pytest.approx(0.002 + 4 * 2.864789e-3, rel=1e-6)


def test_reserve_left_takes_the_lesser_of_both_ways():
    """800 psi in 750 mL, 2200 psi settled, now 1300 psi. Braked down: what is left to 900 psi is what 2200 to 900 gives
    less what 2200 to 1300 gives. Leaked down: a settled charge of 1300 psi gives more."""
    psi = (800 * PSI, 900 * PSI, 1300 * PSI, 2200 * PSI)
    precharge, floor, now, cut_out = psi
    to_floor = accumulator.fast_usable_volume(750.0, precharge, floor, cut_out, 293.15)
    to_here = accumulator.fast_usable_volume(750.0, precharge, now, cut_out, 293.15)
    settled = accumulator.fast_usable_volume(750.0, precharge, floor, now, 293.15)
    left = strokes_left.reserve_left(750.0, precharge, floor, now, cut_out, 293.15)
    assert left == pytest.approx(to_floor - to_here)
    assert left < settled


def test_inferred_precharge_stops_where_the_fluid_would_run_out():
    """Nearly all that a window can give: the precharge can't be higher than the one at which that much fits at all."""
    found = reserve.inferred_precharge(1.0, 0.30, 1500 * PSI, 2200 * PSI, 293.15)
    assert found.high == pytest.approx(2200 * PSI * 0.70)
    assert found.low == pytest.approx(0.30 / (1 / 1500 - 1 / 2200) * PSI)
    for wrong in ((-1e-6, 1500, 2200), (0.1, 2200, 1500)):
        with pytest.raises(reserve.DomainError):
            reserve.inferred_precharge(1.0, wrong[0], wrong[1] * PSI, wrong[2] * PSI, 293.15)
    with pytest.raises(reserve.DomainError):
        reserve.precharge_from_charge_volume(1.0, -1e-6, 15e6, 293.15)


def test_where_a_precharge_counts_as_lost():
    """Under one atmosphere on the gauge."""
    window = (1800 * PSI, 2200 * PSI)
    assert accumulator.slow_usable_volume(1.0, 1.99 * 101_325, *window) == 0.0
    assert accumulator.slow_usable_volume(1.0, 2.01 * 101_325, *window) > 0.0
    with pytest.raises(reserve.DomainError):
        gas.fast_exponent(0.0, 15e6, 293.15)


def test_the_lowest_pressure_on_both_sides_of_the_bend():
    """0.4 m/s² from the pedal circuit, 0.6 + 0.2 m/s² for each MPa, closing at 3.2 m/s², so at 3.5 MPa; 0.7 held back."""
    gain, valve = failure_states.Gains(6e-7, 2e-7, 0.4), Valve(3.2, 0.7)
    wanted = {0.3: 0.0, 0.4: 0.0, 3.0: 2.6 / 0.8, 3.2: 3.5, 4.52: 3.5 + 1.32 / 0.66}
    for required, mpa in wanted.items():
        found = failure_states.lowest_system_pressure(required, gain, valve, "working")
        assert found == pytest.approx(mpa * 1e6, rel=1e-12)
    assert failure_states.lowest_system_pressure(4.4, gain, valve, "stuck open") == pytest.approx(5e6)
    assert failure_states.lowest_system_pressure(3.7, gain, valve, "stuck closed") == pytest.approx(5e6)
    assert failure_states.lowest_system_pressure(4.4, gain, None, "working") == pytest.approx(5e6)


def test_a_lost_system_is_not_alive():
    systems = ("system-1", "system-2", "pedal-circuit")
    brakes = [circuits.Brake("front-left", "front-axle", name, 1e-3, 0.1, 0.4) for name in systems]
    alive = {state.name: state.alive for state in states.states(brakes)}
    assert alive["everything"] == systems
    assert alive["system-1 lost"] == ("system-2", "pedal-circuit")
    assert alive["system-2 lost"] == ("system-1", "pedal-circuit")
    assert alive["pedal circuit alone"] == ("pedal-circuit",)
    # one system: losing it leaves the pedal circuit alone, which is listed once
    assert [state.name for state in states.states([brakes[0], brakes[2]])] == ["everything", "pedal circuit alone"]
