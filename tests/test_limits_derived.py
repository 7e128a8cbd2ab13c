"""What is judged in place of a reading: the precharge at its reference temperature, the loss of a hold, and their U."""

from __future__ import annotations

import math

import pytest

from estimator.hydraulics import gas
from estimator.limits.row_table import CANNOT
from estimator.quantities import PSI, Quantity, to_si
from tests.limit_cars import changed, demo, si, worked_out
from tests.second_answers import leak_of_hold

PRECHARGE, GAS = "precharge.accumulator-1", "gas-temperature.accumulator-1"
HOLD = {
    "hold-start.system-1": (2150.0, "pressure-3000-a"),
    "hold.system-1": (2040.0, "pressure-3000-a"),
    "hold-start-temperature.system-1": (31.0, "thermometer"),
    "hold-end-temperature.system-1": (27.5, "thermometer"),
}


def entered(readings: dict[str, tuple[float, str]], phase: str = "before") -> dict[str, float | str]:
    values: dict[str, float | str] = {f"reading.{ref}.{phase}": value for ref, (value, _) in readings.items()}
    return values | {f"reading.{ref}.gauge_{phase}": gauge for ref, (_, gauge) in readings.items()}


def test_the_printed_example_of_a_catalogue() -> None:
    """90 bar at 40 °C read 84 bar at 20 °C (precharge-page)."""
    record = demo()
    record = record.model_copy(
        update={
            "shop": record.shop.model_copy(update={"show": record.shop.show.model_copy(update={"pressure": "bar"})})
        }
    )
    limits = worked_out(record, entered({PRECHARGE: (90.0, ""), GAS: (40.0, "")}))
    assert si(limits, "accumulator-1.reference-before") / 1e5 == pytest.approx(84, abs=0.5)


def test_u_of_the_precharge_by_hand() -> None:
    """p 980 psi at 26 °C: T0/T = 293.15/299.15; u of each gauge from class and resolution as rectangles."""
    limits = worked_out(demo(), entered({PRECHARGE: (980.0, "precharge-1500"), GAS: (26.0, "thermometer")}))
    ratio = 293.15 / 299.15
    absolute = 980 * PSI + 101_325
    assert si(limits, "accumulator-1.reference-before") == pytest.approx(absolute * ratio - 101_325)
    u_gauge = math.sqrt((9.0**2 + 2.5**2) / 3) * PSI
    u_thermometer = math.sqrt((1.0**2 + 0.05**2) / 3)
    u = math.hypot(ratio * u_gauge, absolute * ratio / 299.15 * u_thermometer)
    assert si(limits, "accumulator-1.u-reference-before") == pytest.approx(2 * u, rel=1e-9)


@pytest.mark.parametrize("missing", (PRECHARGE, GAS))
@pytest.mark.parametrize("what", ("reading", "gauge"))
def test_a_precharge_without_a_reading_or_a_gauge_has_no_u(missing: str, what: str) -> None:
    read = entered({PRECHARGE: (980.0, "precharge-1500"), GAS: (26.0, "thermometer")})
    del read[f"reading.{missing}.{'before' if what == 'reading' else 'gauge_before'}"]
    limits = worked_out(demo(), read)
    assert limits.workings.si("accumulator-1.u-reference-before") == CANNOT
    assert (limits.workings.si("accumulator-1.reference-before") == CANNOT) == (what == "reading")


@pytest.mark.parametrize("pressure, temperature", [(-20.0, 20.0), (1000.0, -300.0)])
def test_a_precharge_below_a_vacuum_or_zero_kelvin_is_not_known(pressure: float, temperature: float) -> None:
    limits = worked_out(demo(), entered({PRECHARGE: (pressure, "precharge-1500"), GAS: (temperature, "thermometer")}))
    assert limits.workings.si("accumulator-1.reference-before") == CANNOT


def test_after_work_has_rows_of_its_own() -> None:
    read = entered({PRECHARGE: (980.0, "precharge-1500"), GAS: (20.0, "thermometer")}, "after")
    limits = worked_out(demo(), read)
    assert si(limits, "accumulator-1.reference-after") == pytest.approx(980 * PSI)
    assert limits.workings.si("accumulator-1.reference-before") == CANNOT
    assert limits.derived["precharge", "accumulator-1"].after == "p0 at T0 after, accumulator 1"


def loss(**readings: float) -> float:
    read = {
        ref: (readings.get(ref.split(".")[0].replace("-", "_"), value), gauge) for ref, (value, gauge) in HOLD.items()
    }
    return si(worked_out(demo(), entered(read)), "system-1.loss-before")


def test_a_tight_system_that_cools_loses_nothing() -> None:
    start, first, last = 2150 * PSI + gas.ATMOSPHERE_PA, to_si(31.0, "°C"), to_si(27.5, "°C")
    tight = gas.pressure_by_temperature_alone(start, first, last) - gas.ATMOSPHERE_PA
    assert loss(hold=tight / PSI) == pytest.approx(0, abs=1e-3)
    assert loss(hold=tight / PSI - 50) == pytest.approx(50 * PSI, rel=1e-9)
    assert loss(hold_end_temperature=31.0) == pytest.approx(110 * PSI, rel=1e-9)


def test_u_of_the_loss_is_that_of_its_slopes() -> None:
    """Each part of U against the slope of the loss for a small step of its reading."""
    limits = worked_out(demo(), entered(HOLD))
    gauge, thermometer = math.sqrt((30.0**2 + 5.0**2) / 3), math.sqrt((1.0**2 + 0.05**2) / 3)
    at = {"hold_start": (2150.0, gauge), "hold": (2040.0, gauge)}
    at |= {"hold_start_temperature": (31.0, thermometer), "hold_end_temperature": (27.5, thermometer)}
    parts = []
    for name, (value, u) in at.items():
        step = 1e-3
        slope = (loss(**{name: value + step}) - loss(**{name: value - step})) / (2 * step)
        parts.append(slope * u)
    heat = si(limits, "system-1.u-heat-before")
    start = 2150 * PSI + 101_325
    fallen = start - gas.pressure_by_temperature_alone(start, to_si(31.0, "°C"), to_si(27.5, "°C"))
    assert heat == pytest.approx(0.19 * fallen / math.sqrt(3))
    combined = 2 * math.sqrt(sum(part * part for part in parts) + heat * heat)
    assert si(limits, "system-1.u-loss-before") == pytest.approx(combined, rel=1e-4)


@pytest.mark.parametrize("missing", HOLD)
def test_a_hold_without_one_of_its_readings_is_not_judged(missing: str) -> None:
    read = entered({ref: value for ref, value in HOLD.items() if ref != missing})
    limits = worked_out(demo(), read)
    assert limits.workings.si("system-1.loss-before") == CANNOT
    assert limits.workings.si("system-1.u-loss-before") == CANNOT


@pytest.mark.parametrize("read", [None, 930.0, 1050.0])
def test_a_hold_betrays_the_leakage_of_the_physics(read: float | None) -> None:
    """Of all accumulators together, each with its precharge as read, else as car.toml gives it."""
    record = demo()
    accumulator = next(item for item in record.car.accumulators if item.id == "accumulator-1")
    readings = HOLD | ({PRECHARGE: (read, "precharge-1500"), GAS: (20.0, "thermometer")} if read else {})
    limits = worked_out(record, entered(readings))
    t0, first, last = accumulator.precharge_temperature.si, to_si(31.0, "°C"), to_si(27.5, "°C")
    gauge = read * PSI if read else accumulator.precharge.si
    at = to_si(20.0, "°C") if read else t0
    warm = gas.precharge_at_temperature(gauge + gas.ATMOSPHERE_PA, at, last)
    start, end = (value * PSI + gas.ATMOSPHERE_PA for value in (2150.0, 2040.0))
    flow = leak_of_hold.leakage_from_hold(accumulator.volume.si, warm, start, first, end, last, 1800.0, 900.0, 900.0)
    assert si(limits, "system-1.leak-before") == pytest.approx(flow, rel=1e-9)
    assert limits.workings.si("system-1.leak-after") == CANNOT


def test_a_pressure_that_rose_and_a_lost_gas_betray_no_leakage() -> None:
    rose = entered(HOLD | {"hold.system-1": (2300.0, "pressure-3000-a")})
    assert si(worked_out(demo(), rose), "system-1.leak-before") == 0.0
    lost = entered(HOLD | {PRECHARGE: (5.0, "precharge-1500"), GAS: (20.0, "thermometer")})
    assert si(worked_out(demo(), lost), "system-1.leak-before") == 0.0


def test_a_hold_that_gets_too_hot_for_the_formula_is_not_judged() -> None:
    read = entered(HOLD | {"hold-end-temperature.system-1": (115.0, "thermometer")})
    assert worked_out(demo(), read).workings.si("system-1.loss-before") == CANNOT


def test_air_in_the_pedal_circuit_is_told_from_a_longer_movement() -> None:
    expected = si(worked_out(demo()), "pedal.travel")
    for more, air in ((0.0, 0.0), (0.010, None)):
        limits = worked_out(demo(), {"reading.pedal-movement.car.before": (expected + more) * 1e3})
        found = si(limits, "pedal.air-before")
        if air is None:
            area = math.pi * (0.8125 * 0.0254) ** 2 / 4
            pressure = si(limits, "pedal.pressure")
            assert found == pytest.approx(0.010 * area / 4.8 * (pressure + 101_325) / pressure)
        else:
            assert found == pytest.approx(air, abs=1e-15)
    shorter = worked_out(demo(), {"reading.pedal-movement.car.before": 1.0})
    assert si(shorter, "pedal.air-before") == 0.0


def test_another_master_cylinder_changes_travel_and_pressure_by_the_square_of_its_bore() -> None:
    one = worked_out(demo())
    other = worked_out(changed(demo(), "pedal", None, master_bore=Quantity.of(1.0, "in")))
    assert si(other, "pedal.pressure") == pytest.approx(si(one, "pedal.pressure") * 0.8125**2)
    taken = si(other, "pedal.displaced") + si(other, "pedal.swells")
    compressed = si(other, "pedal.filled") * si(other, "pedal.pressure") / si(other, "pedal.bulk-modulus")
    area = math.pi * 0.0254**2 / 4
    assert si(other, "pedal.travel") == pytest.approx(4.8 * (taken + compressed) / area)
