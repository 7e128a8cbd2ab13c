"""Laws of the physics that hold for any inputs: what rises with what, what is 0 when, which answers agree."""

import itertools

import pytest
from hypothesis import assume
from hypothesis import strategies as st
from physics_laws import given

from estimator.errors import DomainError
from estimator.hydraulics import accumulator, applications, charge, gas, leakage, reserve
from estimator.hydraulics.domain import Band
from estimator.quantities import PSI
from tests.second_answers import lamp, nitrogen, strokes_left

temperatures = st.floats(233.15, 383.15)  # of a discharge
of_charging = st.floats(273.15, 383.15)
precharges = st.floats(300, 1400).map(lambda psi: psi * PSI)
lowers = st.floats(1100, 2200).map(lambda psi: psi * PSI)
widths = st.floats(50, 1200).map(lambda psi: psi * PSI)
volumes = st.floats(0.2e-3, 2e-3)
shares = st.floats(0.0, 1.0)
HIGHEST = 2400 * PSI


def window(lower, width):
    upper = min(lower + width, HIGHEST)
    assume(upper - lower > 10 * PSI)
    return lower, upper


@given(volumes, precharges, lowers, widths, temperatures)
def test_slow_is_more_than_fast(v0, p0, lower, width, temperature):
    lower, upper = window(lower, width)
    assume(p0 < upper - 10 * PSI)
    band = nitrogen.usable_volume(v0, p0, lower, upper, temperature)
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
        assert nitrogen.usable_volume(v0, p0, lower, upper, temperature) == Band(0.0, 0.0)
        assert strokes_left.reserve_left(v0, p0, lower, upper, upper, temperature) == 0.0
        assert nitrogen.number_of_applications(v0, p0, lower, upper, 1e-5, temperature).low == 0
        assert applications.pressures_after_applications(v0, p0, upper, 1e-5, 1, temperature)[1] == gas.ATMOSPHERE_PA


@given(volumes, precharges, lowers, widths, temperatures, st.floats(1.001, 1.5))
def test_a_wider_window_gives_more(v0, p0, lower, width, temperature, more):
    lower, upper = window(lower, width)
    assume(p0 < upper - 10 * PSI)
    narrow = nitrogen.usable_volume(v0, p0, lower, upper, temperature)
    wide = nitrogen.usable_volume(v0, p0, lower / more, upper, temperature)
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
    count = nitrogen.number_of_applications(v0, p0, lower, HIGHEST, volume, temperature).low
    assume(count <= 60)
    table = applications.pressures_after_applications(v0, p0, HIGHEST, volume, int(count) + 1, temperature)
    assert table[int(count)] >= lower * 0.994
    assert table[int(count) + 1] <= lower * 1.006


@given(volumes, precharges, lowers, widths, temperatures, shares)
def test_reserve_left_is_what_either_way_leaves(v0, p0, lower, width, temperature, share):
    lower, upper = window(lower, width)
    here = lower + share * (upper - lower)
    left = strokes_left.reserve_left(v0, p0, lower, here, upper, temperature)
    whole = accumulator.fast_usable_volume(v0, p0, lower, upper, temperature)
    assert 0 <= left <= whole * (1 + 1e-9)
    assert left <= accumulator.fast_usable_volume(v0, p0, lower, here, temperature) + 1e-18
    assert strokes_left.reserve_left(v0, p0, lower, upper, upper, temperature) == pytest.approx(whole, rel=1e-9)
    assert strokes_left.reserve_left(v0, p0, lower, lower, upper, temperature) == 0


@given(volumes, precharges, lowers, widths, temperatures)
def test_inferred_precharge_holds_the_one_it_came_from(v0, p0, lower, width, temperature):
    lower, upper = window(lower, width)
    assume(p0 <= lower and upper - lower > 100 * PSI)
    band = nitrogen.usable_volume(v0, p0, lower, upper, temperature)
    for drawn in (band.low, band.high):
        found = reserve.inferred_precharge(v0, drawn, lower, upper, temperature)
        assert found.low <= p0 * (1 + 1e-9) and found.high >= p0 * (1 - 1e-9)


@given(volumes, lowers, widths, temperatures, st.floats(0.1, 0.9))
def test_inferred_high_precharge_holds_the_one_it_came_from(v0, lower, width, temperature, share):
    lower, upper = window(lower, width)
    p0 = lower + share * (upper - lower)
    band = nitrogen.usable_volume(v0, p0, lower, upper, temperature)
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


@given(of_charging, of_charging, precharges)
def test_temperature_there_and_back(start, end, p0):
    there = gas.precharge_at_temperature(p0, start, end)
    assert gas.precharge_at_temperature(there, end, start) == pytest.approx(p0, rel=1e-12)
    hot = nitrogen.hot_precharge(p0, min(start, end), max(start, end))
    assert hot >= gas.precharge_at_temperature(p0, min(start, end), max(start, end))


@given(lowers, widths, of_charging)
def test_a_top_up_settles_between_its_pressures(lower, width, temperature):
    lower, upper = window(lower, width)
    assert lower < nitrogen.settled_pressure(lower, upper, temperature) < upper


@given(volumes, precharges, of_charging, st.floats(1e-6, 2e-5), st.floats(0, 9e-7))
def test_charge_time_and_what_it_betrays(v0, p0, temperature, flow, leak):
    taken = charge.charge_volume(v0, p0, HIGHEST, temperature)
    assert 0 < taken.low < taken.high < v0
    time = charge.charge_time(taken.high, flow, leak)
    found = reserve.precharge_from_charge_volume(v0, time * (flow - leak), HIGHEST, temperature)
    assert found.high == pytest.approx(p0, rel=1e-6)


@given(volumes, precharges, lowers, widths, st.floats(1e-9, 1e-6))
def test_holding_longer_with_less_leakage(v0, p0, lower, width, flow):
    lower, upper = window(lower, width)
    assume(p0 <= lower)
    time = leakage.hold_time(v0, p0, lower, upper, flow)
    lost = v0 * p0 * (1 / lower - 1 / upper)
    assert lost / flow < time < lost / flow * upper / lower
    assert leakage.hold_time(v0, p0, lower, upper, 2 * flow) == pytest.approx(time / 2, rel=1e-12)
