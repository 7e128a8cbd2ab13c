"""Applications, lamp pressure, holding and inferred precharge against real nitrogen (CoolProp)."""

import functools
import itertools

import numpy as np
import pytest
from real_nitrogen import PSI, density, density_after, fast_volume, pressure, pressure_after, slow_volume

from estimator.hydraulics import applications, gas, leakage, reserve
from tests.second_answers import lamp, leak_of_hold, strokes_left

TEMPERATURES_K = [273.15 + celsius for celsius in (0, 20, 40, 60, 80, 110)]
PRECHARGES_PSI = range(300, 1401, 100)
V0 = 0.75e-3


WARM, COLD = (273.15, 343.15, 383.15), (233.15, 253.15, 268.15)


def errors_after_applications(temperatures):
    """Of pressures that real nitrogen has above 600 psi, and of those from 300 to 600 psi."""
    above_600, above_300 = [], []
    for temperature in temperatures:
        for precharge in range(300, 1401, 200):
            for p2 in (1500, 1800, 2400):
                for volume in (15e-6, 40e-6):
                    mass = V0 * density(precharge * PSI, temperature)
                    charged = mass / density(p2 * PSI, temperature)
                    found = applications.pressures_after_applications(
                        V0, precharge * PSI, p2 * PSI, volume, 40, temperature
                    )
                    for done in range(1, 41):
                        gas_now = charged + done * volume
                        if gas_now > V0 or found[done] == gas.ATMOSPHERE_PA:
                            break
                        real_pressure = pressure_after(mass / gas_now, p2 * PSI, temperature)
                        if real_pressure < 300 * PSI:
                            break
                        (above_600 if real_pressure > 600 * PSI else above_300).append(found[done] / real_pressure - 1)
    return above_600, above_300


def test_pressures_after_applications():
    above_600, above_300 = errors_after_applications(WARM)
    assert len(above_600) > 500 and len(above_300) > 50
    assert min(above_600) >= -0.044 and max(above_600) <= 0.002
    assert min(above_300) >= -0.080 and max(above_300) <= 0.014
    below_freezing, _ = errors_after_applications(COLD)
    assert len(below_freezing) > 500
    assert min(below_freezing) >= -0.095 and max(below_freezing) <= 0.002


@pytest.mark.parametrize(("temperatures", "least"), [((273.15, 333.15, 383.15), -0.072), (COLD, -0.155)])
def test_reserve_left(temperatures, least):
    found = []
    for temperature in temperatures:
        for precharge in range(300, 1401, 100):
            mass = density(precharge * PSI, temperature)
            for cut_out in (1800, 2400):
                for floor in (500, 800, 1100):
                    for now in (900, 1000, 1300, 1500):
                        if now - floor < 100 or precharge >= now:
                            continue

                        def volume(p, start, mass=mass, temperature=temperature):
                            return min(1.0, mass / density_after(p * PSI, start * PSI, temperature))

                        settled = volume(floor, now) - volume(now, now)
                        continued = volume(floor, cut_out) - volume(now, cut_out)
                        left = strokes_left.reserve_left(
                            1.0, precharge * PSI, floor * PSI, now * PSI, cut_out * PSI, temperature
                        )
                        found.append(left / min(settled, continued) - 1)
    assert len(found) > 300
    assert min(found) >= least and max(found) <= 0.013


def test_reserve_left_of_little_gas():
    """Where the precharge at which a car isn't to be driven lies: far below that of the fit."""
    found = []
    for temperature in (233.15, 253.15, 273.15, 293.15, 333.15, 383.15):
        for precharge, cut_out in itertools.product((45, 60, 100, 200, 300), range(1000, 2401, 200)):
            drawn = functools.partial(fast_volume, 1.0, precharge * PSI, temperature_k=temperature)
            for floor, now in itertools.product((400, 500, 700, 900), range(500, cut_out, 200)):
                if floor < now:
                    continued = drawn(floor * PSI, cut_out * PSI) - drawn(now * PSI, cut_out * PSI)
                    real = min(drawn(floor * PSI, now * PSI), continued)
                    pressures = (precharge * PSI, floor * PSI, now * PSI, cut_out * PSI)
                    found.append(strokes_left.reserve_left(1.0, *pressures, temperature) / real - 1)
    assert len(found) > 3000
    assert min(found) >= -0.16 and 0.02 < max(found) <= 0.027


@pytest.mark.parametrize("strokes", [1, 5, 9])
def test_lamp_pressure_leaves_the_strokes(strokes):
    """With real nitrogen, from the lamp pressure come to quickly from cut-out or slowly, the strokes still end at
    98.8 % of the secondary pressure or more."""
    found = []
    for temperature in (233.15, 253.15, 273.15, 293.15, 333.15, 383.15):
        for precharge in range(300, 1401, 200):
            p0 = precharge * PSI
            mass = V0 * density(p0, temperature)
            for secondary in (400, 700, 1000):
                for p2 in (1800, 2400):
                    for volume in (5e-6, 20e-6):
                        arguments = (V0, p0, p0, secondary * PSI, p2 * PSI, volume, strokes, temperature)
                        try:
                            at_lamp = lamp.lamp_pressure(*arguments)
                        except lamp.DomainError:
                            continue
                        if at_lamp > p2 * PSI:
                            continue
                        for start in (p2 * PSI, at_lamp):
                            gas_at_lamp = mass / density_after(at_lamp, start, temperature)
                            after = gas_at_lamp + strokes * volume
                            left = pressure_after(mass / after, start, temperature) if after < V0 else 0.0
                            found.append(left / (secondary * PSI))
    assert len(found) > 100
    assert min(found) >= 0.988


def test_hold_time_and_leakage_from_hold():
    too_long = []
    for temperature in (273.15, 333.15, 383.15):
        for precharge in (300, 700, 1100):
            for p1, p2 in ((1100, 2400), (1800, 2200), (2300, 2400)):
                steps = np.linspace(p1, p2, 101) * PSI
                mass = V0 * density(precharge * PSI, temperature)
                volumes = mass / np.array([density(float(step), temperature) for step in steps])
                leakage_at = (steps[1:] + steps[:-1]) / 2 / (p2 * PSI) * 1e-8
                real_time = float(np.sum((volumes[:-1] - volumes[1:]) / leakage_at))
                too_long.append(leakage.hold_time(V0, precharge * PSI, p1 * PSI, p2 * PSI, 1e-8) / real_time - 1)
    assert min(too_long) >= 0.016 and max(too_long) <= 0.083
    for warming, allowed in ((0, 0.05), (3, 0.10), (-3, 0.10), (5, 0.14), (-5, 0.14), (10, 0.25), (-10, 0.25)):
        for start in (293.15, 333.15, 363.15):
            end = start + warming
            for precharge in (500, 1000):
                mass = V0 * density(precharge * PSI, end)
                gas_at_start = mass / density(2200 * PSI, start)
                lost = 0.01 * V0
                after = pressure(mass / (gas_at_start + lost), end)
                found = leak_of_hold.leakage_from_hold(
                    V0, precharge * PSI, 2200 * PSI, start, after, end, 1000.0, 900.0, 900.0
                )
                assert found * 1000.0 == pytest.approx(lost, rel=allowed)


def test_inferred_precharge_holds_the_real_one():
    for temperature in TEMPERATURES_K:
        for precharge in PRECHARGES_PSI:
            for p1, p2 in ((1100, 2200), (1500, 1800), (1800, 2200)):
                p0, lower, upper = precharge * PSI, p1 * PSI, p2 * PSI
                if p0 > lower:
                    continue
                for drawn in (
                    fast_volume(V0, p0, lower, upper, temperature),
                    slow_volume(V0, p0, lower, upper, temperature),
                ):
                    found = reserve.inferred_precharge(V0, drawn, lower, upper, temperature)
                    assert found.low <= p0 * 1.001 and p0 * 0.99 <= found.high
