"""Accumulators against real nitrogen (CoolProp): the fits, refitted, and the errors that the docstrings state."""

import re

import numpy as np
import pytest
from real_nitrogen import (
    PSI,
    density,
    density_after,
    fast_volume,
    pressure,
    settled_after_top_up,
    slow_volume,
)

from estimator.hydraulics import accumulator, charge, gas, reserve
from tests.second_answers import nitrogen

TEMPERATURES_K = [273.15 + celsius for celsius in (0, 20, 40, 60, 80, 110)]
PRECHARGES_PSI = range(300, 1401, 100)
V0 = 0.75e-3


@pytest.fixture(scope="module")
def windows():
    """A fixed grid: 0 to 110 °C, precharge 300 to 1,400 psi, windows of 100 psi or more between 1,100 and 2,400 psi."""
    found = []
    for temperature in TEMPERATURES_K:
        for lower in range(1100, 2301, 200):
            for upper in (1200, 1400, 1600, 1800, 2000, 2200, 2300, 2400):
                if upper - lower < 100:
                    continue
                for precharge in PRECHARGES_PSI:
                    if precharge < upper:
                        found.append((precharge * PSI, lower * PSI, upper * PSI, temperature))
    return found


@pytest.fixture(scope="module")
def real(windows):
    return [(fast_volume(V0, *window), slow_volume(V0, *window)) for window in windows]


def errors(found, wanted):
    return np.array(found) / np.array(wanted) - 1


def test_the_grid_is_wide(windows):
    assert len(windows) >= 500
    inside = [window for window in windows if window[0] > window[1]]
    assert len(inside) >= 100, "windows with the precharge between the two pressures"


def test_fast_end_against_real_nitrogen(windows, real):
    found = errors([accumulator.fast_usable_volume(V0, *window) for window in windows], [fast for fast, _ in real])
    assert found.max() <= 0.01
    assert found.min() >= -0.10
    assert (round(found.min() * 100, 1), round(found.max() * 100, 1)) == pytest.approx((-6.4, 0.7), abs=0.1)


def test_slow_end_against_real_nitrogen(windows, real):
    found = errors([accumulator.slow_usable_volume(V0, *window[:3]) for window in windows], [slow for _, slow in real])
    assert found.max() <= 0.08
    assert found.min() >= -0.005
    assert (round(found.min() * 100, 1), round(found.max() * 100, 1)) == pytest.approx((0.0, 6.4), abs=0.1)


def test_one_fixed_exponent_cannot_do_it(windows, real):
    """The reason for the fit: 1.4 promises too much everywhere, 1.7 errs on both sides."""
    full = [(window, fast) for window, (fast, _) in zip(windows, real, strict=True) if window[0] <= window[1]]
    for exponent, least, most in ((1.4, 0.05, 0.25), (1.7, -0.10, 0.05)):
        ideal = [V0 * p0 / p2 * ((p2 / p1) ** (1 / exponent) - 1) for (p0, p1, p2, _), _ in full]
        found = errors(ideal, [fast for _, fast in full])
        assert (found.max() > most) and (found.min() > least if exponent == 1.4 else found.min() < least)


def test_the_fast_exponent_refitted(windows, real):
    """Least squares on the exponents that real nitrogen asks for; then the base raised until no window is promised more
    than 0.7 % too much. The program's coefficients are those, rounded; that of temperature to the safe side."""
    rows, exponents, full = [], [], []
    for window, (fast, _) in zip(windows, real, strict=True):
        p0, p1, p2, temperature = window
        if p0 > p1:
            continue
        mean = np.sqrt(p1 * p2) / 10e6
        warmer = (temperature - 293.15) / 100
        rows.append((1.0, mean, warmer))
        exponents.append(np.log(p2 / p1) / np.log(1 + fast * p2 / (V0 * p0)))
        full.append((window, fast))
    base, per_pressure, per_temperature = np.linalg.lstsq(np.array(rows), np.array(exponents), rcond=None)[0]
    assert per_pressure == pytest.approx(gas.FAST_EXPONENT_PER_PRESSURE, abs=0.01)
    assert per_temperature == pytest.approx(gas.FAST_EXPONENT_PER_TEMPERATURE, abs=0.015)
    assert per_temperature <= gas.FAST_EXPONENT_PER_TEMPERATURE, "a larger exponent promises less"

    def most(raised):
        n = np.array(rows) @ (base + raised, per_pressure, per_temperature)
        volumes = [V0 * p0 / p2 * ((p2 / p1) ** (1 / e) - 1) for ((p0, p1, p2, _), _), e in zip(full, n, strict=True)]
        return errors(volumes, [fast for _, fast in full]).max()

    raised = next(step / 1000 for step in range(200) if most(step / 1000) <= 0.007)
    assert 0.03 < raised < 0.08
    assert base + raised == pytest.approx(gas.FAST_EXPONENT_BASE, abs=0.015)


@pytest.fixture(scope="module")
def cold_windows(windows):
    """The same windows from -40 °C to just below 0 °C."""
    warm = [window[:3] for window in windows if window[3] == TEMPERATURES_K[0]]
    return [(*window, 273.15 + celsius) for window in warm for celsius in (-40, -30, -20, -10, -5, -1)]


def test_below_freezing_against_real_nitrogen(cold_windows):
    fast = errors(
        [accumulator.fast_usable_volume(V0, *window) for window in cold_windows],
        [fast_volume(V0, *window) for window in cold_windows],
    )
    slow = errors(
        [accumulator.slow_usable_volume(V0, *window[:3]) for window in cold_windows],
        [slow_volume(V0, *window) for window in cold_windows],
    )
    assert len(fast) > 2000
    assert fast.max() <= 0.007 and fast.min() == pytest.approx(-0.139, abs=0.002)
    assert (slow.min(), slow.max()) == pytest.approx((-0.031, 0.130), abs=0.002)


def test_below_freezing_the_pressure_must_add_more(cold_windows, monkeypatch):
    """The least that keeps the fast end from promising 1 % too much, also where the precharge was read at 20 °C and
    brought to the cold by the gas law. The program's coefficient is that, rounded to the safe side."""

    def most(coefficient):
        monkeypatch.setattr(gas, "FAST_EXPONENT_PER_COLD", coefficient)
        promised = []
        for p0, p1, p2, temperature in cold_windows[::3]:
            mass = density(p0, 293.15)
            if temperature > 268.15 or pressure(mass, temperature) > 0.98 * p1:
                continue
            held = mass / density(p2, temperature)
            real = min(1.0, mass / density_after(p1, p2, temperature)) - held
            cold = gas.precharge_at_temperature(p0, 293.15, temperature)
            promised.append(accumulator.fast_usable_volume(1.0, cold, p1, p2, temperature) / real - 1)
        return max(promised)

    least = next(step / 100 for step in range(100) if most(step / 100) <= 0.01)
    assert least == pytest.approx(0.48, abs=0.02)
    monkeypatch.undo()
    assert least <= gas.FAST_EXPONENT_PER_COLD <= least + 0.05


def test_usable_volume_is_a_band(windows, cold_windows):
    for window in (*windows, *cold_windows):
        band = nitrogen.usable_volume(V0, *window)
        assert 0 < band.low < band.high


def test_beyond_the_grid_as_the_docstring_says():
    """To 18 MPa at most 1.8 % too much; down to 300 psi at most 8.6 % too little."""
    high, low = [], []
    for temperature in (273.15, 333.15, 383.15):
        for precharge in (200, 300, 600, 1000):
            for p1, p2 in ((1100, 2600), (1900, 2600), (2500, 2600)):
                window = (precharge * PSI, p1 * PSI, p2 * PSI, temperature)
                high.append(accumulator.fast_usable_volume(V0, *window) / fast_volume(V0, *window) - 1)
            for p1, p2 in ((300, 1200), (300, 2400), (500, 1500)):
                window = (min(precharge, p1) * PSI, p1 * PSI, p2 * PSI, temperature)
                low.append(accumulator.fast_usable_volume(V0, *window) / fast_volume(V0, *window) - 1)
    assert max(high) <= 0.018
    assert min(low) >= -0.0865


def test_hot_precharge():
    found = []
    for start in (273.15, 293.15, 313.15):
        for end in (273.15, 293.15, 313.15, 333.15, 363.15, 383.15):
            for precharge in PRECHARGES_PSI:
                real_pressure = pressure(density(precharge * PSI, start), end)
                found.append(nitrogen.hot_precharge(precharge * PSI, start, end) / real_pressure - 1)
    assert max(map(abs, found)) <= 0.011


def test_precharge_by_the_gas_law():
    cool, hot = [], []
    for precharge in PRECHARGES_PSI:
        for start, end, into in ((273.15, 313.15, cool), (313.15, 273.15, cool), (293.15, 383.15, hot)):
            real_pressure = pressure(density(precharge * PSI, start), end)
            into.append(gas.precharge_at_temperature(precharge * PSI, start, end) / real_pressure - 1)
    assert max(map(abs, cool)) <= 0.035
    assert min(hot) >= -0.07 and max(hot) < 0


def test_pressure_by_temperature_alone():
    found = []
    for p in (1100, 1500, 1800, 2200, 2400):
        for temperature in (273.15, 293.15, 313.15, 353.15, 383.15):
            for warming in (-30, -10, 10, 30):
                if not 273.15 <= temperature + warming <= 383.15:
                    continue
                real_change = pressure(density(p * PSI, temperature), temperature + warming) - p * PSI
                change = gas.pressure_by_temperature_alone(p * PSI, temperature, temperature + warming) - p * PSI
                found.append(change / real_change - 1)
    assert min(found) >= -0.09 and max(found) <= 0.19


def test_settled_pressure():
    near, far = [], []
    for temperature in TEMPERATURES_K:
        for p1 in range(300, 2301, 200):
            for p2 in (1300, 1600, 1800, 2000, 2200, 2400):
                if p2 - p1 < 100:
                    continue
                real_pressure = settled_after_top_up(p1 * PSI, p2 * PSI, temperature)
                difference = (nitrogen.settled_pressure(p1 * PSI, p2 * PSI, temperature) - real_pressure) / PSI
                (near if p1 >= 1100 else far).append(difference)
    assert max(map(abs, near)) <= 8.5
    assert max(map(abs, far)) <= 40


def test_charge_volume_and_the_precharge_it_betrays():
    low, high, inferred_low, inferred_high = [], [], [], []
    for temperature in TEMPERATURES_K:
        for precharge in PRECHARGES_PSI:
            for p2 in (1500, 1800, 2200, 2400):
                p0, upper = precharge * PSI, p2 * PSI
                quick = 1 - density(p0, temperature) / density_after(upper, p0, temperature)
                slow = 1 - density(p0, temperature) / density(upper, temperature)
                band = charge.charge_volume(1.0, p0, upper, temperature)
                low.append(band.low / quick - 1)
                high.append(band.high / slow - 1)
                inferred_low.append(reserve.precharge_from_charge_volume(1.0, quick, upper, temperature).low / p0 - 1)
                inferred_high.append(reserve.precharge_from_charge_volume(1.0, slow, upper, temperature).high / p0 - 1)
    assert min(low) >= -0.013 and max(low) <= 0.060
    assert min(high) >= -0.002 and max(high) <= 0.051
    assert min(inferred_low) >= -0.087 and max(inferred_low) <= 0.049
    assert min(inferred_high) >= -0.007 and max(inferred_high) <= 0.064


def test_the_docstring_states_the_same_numbers():
    """The errors measured above stand in the docstrings that people read."""
    said = re.sub(r"\s+", " ", accumulator.fast_usable_volume.__doc__)
    assert "6.4 % below to 0.7 % above real nitrogen" in said
    assert "0.0 to 6.4 % above real nitrogen" in re.sub(r"\s+", " ", accumulator.slow_usable_volume.__doc__)
