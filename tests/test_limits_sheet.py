"""Every working row, worked out by a spreadsheet engine from its expression, gives what Python computed."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from estimator.hydraulics import gas
from estimator.limits.constants import CONSTANTS
from estimator.limits.row_table import CANNOT
from estimator.quantities import Quantity
from tests import limit_cars
from tests.engines import ALLOWED_FUNCTIONS, needs_libreoffice, recalculate_with_libreoffice
from tests.limit_cars import changed, demo, with_car, worked_out
from tests.workings_sheet import WorkingsSheet, disagreements

READINGS = {
    "precharge.accumulator-1": (980.0, "precharge-1500"),
    "gas-temperature.accumulator-1": (23.0, "thermometer"),
    "hold-start.system-1": (2150.0, "pressure-3000-a"),
    "hold.system-1": (2040.0, "pressure-3000-a"),
    "hold-start-temperature.system-1": (31.0, "thermometer"),
    "hold-end-temperature.system-1": (27.5, "thermometer"),
    "pedal-movement.car": (34.0, "caliper"),
}
ENTRIES = {f"reading.{ref}.before": value for ref, (value, _) in READINGS.items()} | {
    f"reading.{ref}.gauge_before": gauge for ref, (_, gauge) in READINGS.items()
}
FILES = ("job.toml", "job_mineral.toml")


@pytest.mark.parametrize("file", FILES)
@pytest.mark.parametrize("read", [{}, ENTRIES], ids=["no readings", "readings"])
def test_the_sheet_agrees_for_the_demo(file: str, read: dict, tmp_path: Path) -> None:
    limits = worked_out(demo(file), read)
    assert disagreements(limits.workings, tmp_path / "book.xlsx") == {}
    assert sum(isinstance(row.si, float) for row in limits.workings.rows.values()) > 500


@pytest.mark.parametrize("number", [-1e9, -15.0, 0.0, 1e9])
def test_the_sheet_agrees_whatever_is_typed(number: float, tmp_path: Path) -> None:
    read = {key: number if isinstance(value, float) else value for key, value in ENTRIES.items()}
    assert disagreements(worked_out(demo(), read).workings, tmp_path / "book.xlsx") == {}


@pytest.mark.parametrize(("ramp", "tolerance"), [(59.0, 2.0), (58.0, 2.0), (2.0, 2.0), (1.0, 2.0)])
def test_the_sheet_agrees_at_the_ends_of_a_ramp(ramp: float, tolerance: float, tmp_path: Path) -> None:
    """60° is the steepest ramp for which the ball is reckoned, 0° the flattest, tolerance included."""
    car = demo().car
    valve = car.deceleration_valve.model_copy(
        update={"ramp_angle": Quantity.of(ramp, "°"), "tolerance": Quantity.of(tolerance, "°")}
    )
    found = worked_out(with_car(demo(), car.model_copy(update={"deceleration_valve": valve})))
    assert disagreements(found.workings, tmp_path / "book.xlsx") == {}
    known = ramp + tolerance <= 60 and ramp >= tolerance
    assert isinstance(found.workings.si("valve.closing-high"), float) == known


def test_the_sheet_agrees_for_front_pistons_behind_the_valve(tmp_path: Path) -> None:
    found = worked_out(changed(demo(), "brakes", 0, behind_valve=True))
    assert disagreements(found.workings, tmp_path / "book.xlsx") == {}


def test_the_sheet_agrees_for_an_accumulator_that_holds_less_than_the_strokes_to_come(tmp_path: Path) -> None:
    found = worked_out(changed(demo(), "accumulators", 0, volume=Quantity.of(0.016, "L"))).workings
    assert 1 < found.si("system-1.held-share") < 2 and found.si("system-1.high-lamp") == CANNOT
    assert disagreements(found, tmp_path / "book.xlsx") == {}


@pytest.mark.parametrize(("file", "lamp"), [("job.toml", 920), ("job_mineral.toml", 780)])
def test_the_sheet_agrees_where_one_way_down_runs_out_of_fluid_before_the_other(
    file: str, lamp: int, tmp_path: Path
) -> None:
    found = worked_out(changed(demo(file), "systems", 0, lamp=Quantity.of(lamp, "psi"))).workings
    assert found.si("system-1.left-leaked") < found.si("system-1.to-come")
    assert found.si("system-1.left-braked") == pytest.approx(found.si("system-1.to-come"))
    assert found.si("system-1.lowest") == CANNOT
    assert disagreements(found, tmp_path / "book.xlsx") == {}


def test_the_sheet_agrees_for_a_gas_that_just_counts_as_lost(tmp_path: Path) -> None:
    """One atmosphere on the gauge at the temperature of use: exactly at the bound."""
    warm, one = Quantity.of(20, "°C"), Quantity.of(gas.ATMOSPHERE_PA / 1000, "kPa")
    record = changed(demo(), "accumulators", 0, precharge=one, precharge_temperature=warm, coldest=warm)
    found = worked_out(record).workings
    assert found.si("system-1.cold") == gas.LOST_PRECHARGE_PA and found.si("system-1.fast-lamp") == 0
    assert disagreements(found, tmp_path / "book.xlsx") == {}


def test_the_sheet_agrees_in_the_cold_and_asks_for_more_gas_there(tmp_path: Path) -> None:
    lowest, counts = [], []
    for celsius in (-40, -20, -1, 0, 20):
        found = worked_out(changed(demo(), "accumulators", 0, coldest=Quantity.of(celsius, "°C"))).workings
        assert disagreements(found, tmp_path / f"{celsius}.xlsx") == {}
        lowest.append(found.si("accumulator-1.precharge-lowest"))
        counts.append(found.si("system-1.fast-lamp"))
    assert lowest == sorted(lowest, reverse=True) and counts == sorted(counts) and len(set(counts)) == 5


def test_the_sheet_agrees_for_pads_that_are_new(tmp_path: Path) -> None:
    entries = {
        "reading.pad-thickness.front-left.before": 11.0,
        "reading.pad-thickness.front-left.gauge_before": "caliper",
    }
    found = worked_out(demo(), entries).workings
    assert found.si("front-left.pad-lost-before") == 0 and found.si("front-left.pad-to-go-before") == CANNOT
    assert disagreements(found, tmp_path / "book.xlsx") == {}


@needs_libreoffice
def test_another_engine_agrees(tmp_path: Path) -> None:
    sheets = {file: WorkingsSheet(worked_out(demo(file), ENTRIES).workings) for file in FILES}
    paths = [tmp_path / f"{file}.xlsx" for file in sheets]
    for sheet, path in zip(sheets.values(), paths, strict=True):
        sheet.write(path)
    for sheet, values in zip(sheets.values(), recalculate_with_libreoffice(paths), strict=True):
        assert sheet.disagreements(sheet.by_key(values)) == {}


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
@given(st.data())
def test_the_sheet_agrees_for_generated_cars(tmp_path_factory: pytest.TempPathFactory, data: st.DataObject) -> None:
    record = with_car(demo(), data.draw(limit_cars.cars()))
    limits = worked_out(record, data.draw(limit_cars.entries(record)))
    assert disagreements(limits.workings, tmp_path_factory.mktemp("limits") / "book.xlsx") == {}


@pytest.mark.parametrize("file", FILES)
def test_labels_are_one_of_a_kind_whatever_the_case(file: str) -> None:
    limits = worked_out(demo(file)).workings
    for labels in ([row.label for row in limits.rows.values()], [item.label for item in limits.data.values()]):
        folded = [label.casefold() for label in labels]
        assert {label for label in folded if folded.count(label) > 1} == set()
        assert not [label for label in labels if re.search(r"[*?~{}]", label)]


def formulas() -> dict[str, str]:
    """The computation of each row of both demo cars, without the guards that every row has."""
    return {
        f"{file} {row.ref}": row.bare
        for file in FILES
        for row in worked_out(demo(file), ENTRIES).workings.rows.values()
    }


def test_a_formula_is_short_and_three_deep_at_most() -> None:
    too_long, too_deep = {}, {}
    for ref, text in formulas().items():
        shown = re.sub(
            r"\{working[^{}]*\}", "$C$1234", re.sub(r"\{(datum|fact|constant)[^{}]*\}", "Basis!$F$123", text)
        )
        shown = re.sub(r"\{[^{}]*\}", "$AB$1234", shown)
        if len(shown) > 130:
            too_long[ref] = shown
        depth = deepest = 0
        for letter in shown:
            depth += (letter == "(") - (letter == ")")
            deepest = max(deepest, depth)
        if deepest > 3:
            too_deep[ref] = shown
    assert too_long == {} and too_deep == {}


def test_a_formula_holds_no_number_of_its_own_and_only_safe_functions() -> None:
    for ref, text in formulas().items():
        bare = re.sub(r'"[^"]*"', "", re.sub(r"\{[^{}]*\}", "K", text))
        assert set(re.findall(r"([A-Z][A-Z0-9.]*)\(", bare)) <= ALLOWED_FUNCTIONS, ref
        without_digits = re.sub(r"ROUND\(K,\d\)", "K", bare)
        assert set(re.findall(r"(?<![A-Z])\d+(?:\.\d+)?", without_digits)) <= {"0", "1", "10", "100", "1000"}, ref


def test_constants_are_named_once() -> None:
    assert len({item.ref for item in CONSTANTS}) == len(CONSTANTS)
