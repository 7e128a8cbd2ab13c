"""Charging, holds and applications simulated: their figures, and the kinds told apart."""

import math

import numpy as np
import pytest
from simulated_logs import ATMOSPHERE, PSI, Bleed, applications, bleed, charging, hold, log_of, setting

from estimator.pressure_logs.branch import corner
from estimator.pressure_logs.kinds import guess_kind, log_findings

SLOW = 180.0


def of_kind(number):
    """A log of one of the four kinds, all else drawn by its number, and the kind."""
    rng = np.random.default_rng(number)
    kind = ("bleed-down", "charging", "hold", "applications")[number % 4]
    step, noise = float(rng.choice([0.1, 0.2, 0.5, 1.0])), float(rng.uniform(0.5, 4.0))
    if kind == "bleed-down":
        it = Bleed(
            precharge=float(rng.uniform(150, 1300)),
            knee=float(rng.uniform(60, 3000)),
            law=float(rng.choice([0, 0.5, 1])),
            step=step,
            noise=float(rng.uniform(0.5, 14.5)),
            lag=float(rng.choice([0.0, 1.0])),
            figures=float(rng.choice([0.0, 10.0])),
        )
        return kind, log_of(*bleed(it, rng, before=float(rng.uniform(0, 60))))
    if kind == "charging":
        more = {"from_zero": bool(rng.integers(2)), "cycles": int(rng.integers(2, 6)), "step": step, "noise": noise}
        return kind, log_of(*charging(rng, **more, precharge=float(rng.uniform(500, 1200)))[:2])
    if kind == "hold":
        more = {"leak": float(rng.uniform(0, 200)), "drop": float(rng.uniform(0, 120)), "step": step, "noise": noise}
        at, pressure, _ = hold(rng, lasts=float(rng.uniform(1200, 3600)), cooling=float(rng.uniform(-5, 5)), **more)
        return kind, log_of(at, pressure)
    noise = min(noise, 6.0 * math.sqrt(0.1 / step))
    more = {"count": int(rng.integers(5, 40)), "each": float(rng.uniform(20, 60))}
    at, pressure, *_ = applications(rng, step=step, noise=noise, **more)
    return kind, log_of(at, pressure)


def told_apart(numbers):
    for number in numbers:
        kind, log = of_kind(number)
        assert guess_kind(log) == kind, number


def test_kinds_are_told_apart():
    told_apart(range(40))


@pytest.mark.parametrize("step", [0.1, 0.5])
def test_cut_in_cut_out_and_times(step):
    at, pressure, true = charging(np.random.default_rng(1), step=step, noise=3.0, cycles=6)
    found = log_findings(log_of(at, pressure), setting(settling=SLOW), None)
    figures = {figure.ref: figure for figure in found.figures}
    for what, expected in (("cut-in", 1640.0), ("cut-out", 2050.0)):
        mine = [figure for ref, figure in figures.items() if ref.startswith(what)]
        assert len(mine) == len(true[what])
        for figure in mine:
            own = dict(figure.parts)["fit"] / PSI
            assert own < 4 and abs(figure.value / PSI - expected) < 3 * own + 1
            assert figure.u / PSI == pytest.approx(math.hypot(own, 17.0))
    assert figures["charge-time"].value == pytest.approx(true["charge-time"], abs=0.5)
    assert figures["pump-interval"].value == pytest.approx(np.mean(np.diff(_cut_ins(at, pressure))), abs=3.0)
    jump = figures["precharge"]
    assert jump.standing == "indication" and "60 min needed" in jump.rests_on
    assert abs(jump.value / PSI - 930.0) < 3 * math.hypot(*(u for name, u in jump.parts if name != "gauge")) / PSI


def _cut_ins(at, pressure):
    """When the pressure turns up, by eye: the lowest sample of each trough below 1,700 psi after the first charge."""
    after = at > 100
    low = np.flatnonzero(after & (pressure < 1700))
    groups = np.split(low, np.flatnonzero(np.diff(low) > 20 / (at[1] - at[0])) + 1)
    return [at[group[np.argmin(pressure[group])]] for group in groups]


def test_an_hour_at_zero_makes_the_first_charge_a_reading():
    at, pressure, _ = charging(np.random.default_rng(2), zero=3700.0, cycles=1, step=0.5)
    jump = log_findings(log_of(at, pressure), setting(settling=SLOW), None).figures[0]
    assert jump.ref == "precharge" and jump.standing == "reading" and abs(jump.value / PSI - 930) < 8


def test_a_gauge_at_the_end_of_its_scale_gives_a_bound():
    at, pressure, _ = charging(np.random.default_rng(3), cut_out=3100.0, step=0.2)
    found = log_findings(log_of(at, np.minimum(pressure, 3000.0)), setting(settling=SLOW), None)
    tops = [figure for figure in found.figures if figure.ref.startswith("cut-out")]
    assert tops and all(figure.standing == "at least" for figure in tops)


def test_a_rise_that_the_log_ends_in_has_no_cut_out():
    at, pressure, _ = charging(np.random.default_rng(4), cycles=1)
    found = log_findings(log_of(at[at < 80], pressure[at < 80]), setting(settling=SLOW), None)
    assert found.kind == "charging" and not [one for one in found.figures if one.ref.startswith(("cut-", "charge"))]


def test_a_corner_of_two_lines_is_found_with_the_uncertainty_that_it_has():
    rng, errors, stated = np.random.default_rng(5), [], []
    t = np.arange(0.0, 20.0, 0.1)
    for _ in range(60):
        place = rng.uniform(8, 12)
        inverse = 1e-7 * (1 + np.where(t < place, 0.002, -0.008) * (t - place))
        p = 1 / inverse + rng.normal(0, 2e4, len(t))
        found = corner(t, p, 0, len(t))
        errors.append((found.pressure - 1e7, found.time - place))
        stated.append((found.u, found.u_time))
    scatter, said = np.std(errors, axis=0), np.mean(stated, axis=0)
    assert scatter == pytest.approx(said, rel=0.35)
    assert (np.abs(np.mean(errors, axis=0)) < 3 * said / math.sqrt(60)).all()


@pytest.mark.parametrize(("cooling", "leak"), [(0.0, 40.0), (4.0, 40.0), (-3.0, 0.0)])
def test_loss_of_a_hold_apart_from_temperature(cooling, leak):
    """Warming and cooling by the gas law of the shell: what is left is what leaked."""
    at, pressure, warm = hold(np.random.default_rng(6), cooling=cooling, leak=leak)
    found = log_findings(log_of(at, pressure, warm), setting(settling=SLOW), None)
    figures = {figure.ref: figure for figure in found.figures}
    own = figures["loss-apart"]
    assert found.kind == "hold" and own.standing == "reading"
    allowed = math.hypot(*(u for name, u in own.parts if name != "gauge")) / PSI
    assert abs(own.value / PSI - leak) < 2 * allowed + 1.5  # what 80 psi of settling still is after five time constants
    start, end = figures["hold-start"], figures["hold"]
    assert (end.at - start.at, start.at) == (1800.0, 900.0)
    assert figures["loss"].value == pytest.approx(start.value - end.value)


def test_temperature_alone_by_hand():
    """20 K colder at 15.3 MPa absolute is 1.26 MPa lost with no leak: span-2000, as estimator.hydraulics.gas says it."""
    at = np.arange(0.0, 3000.0)
    warm = 313.15 - 20.0 * np.clip((at - 900) / 1800, 0, 1)
    start = (15.3e6 - ATMOSPHERE) / PSI
    level = start + (14.04e6 - 15.3e6) / PSI * np.clip((at - 900) / 1800, 0, 1)
    figures = log_findings(log_of(at, level, warm), setting(settling=SLOW), "hold").figures
    assert figures[-1].ref == "loss-apart" and figures[-1].value / 1e6 == pytest.approx(0.0, abs=0.01)


def test_a_short_hold_is_an_indication():
    at, pressure, _ = hold(np.random.default_rng(7), lasts=1500.0)
    found = log_findings(log_of(at, pressure), setting(settling=SLOW), None)
    assert {figure.standing for figure in found.figures} == {"indication"} and "45 min of log needed" in found.figures[
        0
    ].rests_on


@pytest.mark.parametrize("noise", [1.0, 3.0])
def test_pressure_after_each_application_and_the_count_to_the_lamp(noise):
    at, pressure, levels, count, lamp = applications(np.random.default_rng(8), count=40, noise=noise)
    found = log_findings(log_of(at, pressure, lamp=lamp), setting(settling=SLOW), None)
    after = [figure for figure in found.figures if figure.ref.startswith("after.")]
    assert len(after) == len(levels) == 41
    for figure, level in zip(after, levels, strict=True):
        assert abs(figure.value / PSI - level) < 4 * dict(figure.parts)["fit"] / PSI + 0.5
    figures = {figure.ref: figure for figure in found.figures}
    assert (figures["applications"].value, figures["applications"].standing) == (count, "reading")
    assert figures["lamp-pressure"].value / PSI == pytest.approx(1260, abs=3 * noise + 12)


def test_without_a_lamp_the_count_is_an_indication():
    at, pressure, _, count, _ = applications(np.random.default_rng(9), count=40)
    found = log_findings(log_of(at, pressure), setting(settling=SLOW), None)
    figure = found.figures[-1]
    assert (figure.ref, figure.value, figure.standing) == ("applications", count, "indication")


def test_applications_lost_in_noise_are_not_counted():
    at, pressure, *_ = applications(np.random.default_rng(10), step=1.0, noise=8.0)
    found = log_findings(log_of(at, pressure), setting(settling=SLOW), "applications")
    assert found.figures == () and found.remarks


def test_a_log_of_another_kind_gives_no_figures_of_it():
    at = np.arange(0.0, 600.0)
    level = log_of(at, 2000 - 0.01 * at)
    assert "does not rise" in log_findings(level, setting(), "charging").remarks[0]
    assert "does not step down" in log_findings(level, setting(), "applications").remarks[0]
