"""Cars of which little is known: what is missing takes limits, never a price, and is named by what it frees.

Data are taken out of car.toml as it is written, and named from there: nothing of the program says what was taken.
"""

from __future__ import annotations

import copy
import functools
import json
import tomllib
from collections.abc import Callable, Collection
from decimal import Decimal
from pathlib import Path
from random import Random
from typing import Any

import pytest
from boxes_by_key import appraise_boxes, first_boxes
from engines import compare, recalculate_with_ironcalc, stored_values
from hypothesis import given, settings
from hypothesis import strategies as st
from plain_writing import write_workbook

from estimator.cli.app import main
from estimator.facts.checks import checks
from estimator.intake.car_rules import car_rules
from estimator.intake.limit_rules import limit_rules
from estimator.letters.render import letter_html
from estimator.limits.catalog.limit_set import LimitSet
from estimator.limits.missing import Frees, most_useful_first
from estimator.readback.check import check_workbook
from estimator.records import Car, JobRecord
from estimator.workbook.compose import compose
from tests.limit_cars import DEMO, demo, with_car, worked_out

FILES = {"car.toml": "job.toml", "car_mineral.toml": "job_mineral.toml"}
# What a car can't do without, what names a place, and what has a value where it is left out.
KEPT = {"id", "name", "variant", "family", "system", "wheel", "caliper", "source", "axle", "behind_valve"}
KEPT |= {"year", "plate", "chassis_number", "capacity", "bulk_modulus", "pads_driven", "rotors_driven", "rotor_mass"}
SCOPES: dict[str, Callable[[dict[str, Any]], str]] = {
    "systems": lambda item: item["id"],
    "accumulators": lambda item: item["id"],
    "brakes": lambda item: f"{item['wheel']}-{item.get('caliper', 'caliper')}-{item['source']}",
    "hoses": lambda item: f"hose-{item['wheel']}-{item['source']}",
    "pipes": lambda item: item["id"],
    "wear": lambda item: item["axle"],
}
WHOLE = {
    "limits": "check",
    "intervals": "title",
}  # tables of items that are there whole or not at all, and what names one
Path_ = tuple[str | int, ...]


@functools.cache
def written(file: str) -> dict[str, Any]:
    """A demo car as it is written, with the maker's limits of those checks alone that have no other: all else is worked
    out from its data."""
    car = tomllib.loads((DEMO / file).read_text(encoding="utf-8"))
    only_maker = {check.id for check in checks() if check.limit == "maker"} | {"pedal-movement"}
    car["limits"] = [item for item in car["limits"] if item["check"] in only_maker]
    return car


def data_of(car: dict[str, Any]) -> list[Path_]:
    """Every datum that may be missing, as a path into the file."""
    found: list[Path_] = []
    for table, held in car.items():
        if table in ("car", "supply_users"):
            continue
        if table in WHOLE:
            found += [(table, index) for index in range(len(held))]
            continue
        for path, item in (
            [((table, index), item) for index, item in enumerate(held)]
            if isinstance(held, list)
            else [((table,), held)]
        ):
            found += [(*path, key) for key in item if key not in KEPT and key != "pump"]
            found += [(*path, "pump", key) for key in item.get("pump", ())]
    return found


def words(car: dict[str, Any], path: Path_) -> str:
    """A datum as `estimator limits` names it."""
    table, key = str(path[0]), str(path[-1])
    if table in WHOLE:
        return f'[[{table}]] {WHOLE[table]} = "{car[table][path[1]][WHOLE[table]]}"'
    if table not in SCOPES:
        return f"[{table}] {key}"
    where = SCOPES[table](car[table][path[1]]).replace("-", " ")
    return f"{'[systems.pump]' if 'pump' in path else f'[[{table}]]'} {key} ({where})"


def without(car: dict[str, Any], paths: Collection[Path_]) -> dict[str, Any]:
    """The car without some data."""
    left = copy.deepcopy(car)
    for table in WHOLE.keys() & left.keys():
        left[table] = [item for index, item in enumerate(left[table]) if (table, index) not in paths]
    for path in paths:
        if path[0] not in WHOLE:
            *way, key = path
            del functools.reduce(lambda held, step: held[step], way, left)[key]
    return left


def record_of(file: str, car: dict[str, Any]) -> JobRecord:
    made = Car.model_validate(car)
    assert [*car_rules(made), *limit_rules(made)] == []
    return with_car(demo(FILES[file]), made)


def unknown(limits: LimitSet) -> set[str]:
    """The checks at their places that have no limit, or one that isn't a number."""
    by_label = {row.label: row for row in limits.workings.rows.values()}
    recorded = {check.id for check in checks() if check.kind == "recorded"}
    found = set()
    for item in limits.limits:
        sides = [item.service_low, item.service_high, item.danger_low, item.danger_high]
        values = [by_label[side].si for side in sides if side]
        if item.ref.partition(".")[0] not in recorded and (not values or any(isinstance(one, str) for one in values)):
            found.add(item.ref)
    return found


def promised(limits: LimitSet) -> dict[frozenset[str], set[str]]:
    return {
        frozenset(need.words for need in item.data): {one.ref for one in item.limits}
        for item in most_useful_first(limits.limits)
    }


@pytest.mark.parametrize("file", FILES)
def test_a_car_with_all_data_lacks_nothing(file: str) -> None:
    limits = worked_out(record_of(file, written(file)))
    assert unknown(limits) == set()
    assert most_useful_first(limits.limits) == ()


def test_a_datum_alone_takes_just_the_limits_that_it_is_said_to_free(file: str = "car.toml") -> None:
    car = written(file)
    freeing = {}
    for path in data_of(car):
        limits = worked_out(record_of(file, without(car, [path])))
        lost = unknown(limits)
        assert promised(limits) == ({frozenset([words(car, path)]): lost} if lost else {}), path
        freeing[words(car, path)] = lost
    assert len(freeing["[body] mass"]) >= 4
    assert freeing["[[systems]] lamp (system 1)"] == {"precharge.accumulator-1", "applications.system-1"}
    assert "charge-time.system-2" in freeing["[systems.pump] idle_speed (system 2)"]
    assert freeing["[[pipes]] wall (pipe system 1)"] == set()


@st.composite
def gaps(draw: st.DrawFn) -> tuple[str, list[Path_]]:
    file = draw(st.sampled_from(sorted(FILES)))
    data = data_of(written(file))
    share = draw(st.sampled_from((0.02, 0.1, 0.4, 0.9, 1.0)))
    rng = Random(draw(st.integers(0, 2**32)))
    return file, [path for path in data if rng.random() < share]


@settings(max_examples=40, deadline=None)
@given(gaps(), st.sets(st.sampled_from(("brakes", "hoses", "pipes", "wear", "body", "pedal"))))
def test_any_data_may_be_missing_and_what_is_promised_comes_with_them(
    gap: tuple[str, list[Path_]], tables: set[str]
) -> None:
    """Some data and some whole tables taken out; then each promised set is given back, and its limits are there."""
    file, paths = gap
    car = written(file)
    left = {table: held for table, held in without(car, paths).items() if table not in tables}
    limits = worked_out(record_of(file, left))
    lost = unknown(limits)
    assert {item.ref for item in limits.limits if item.needs} == lost
    for item in most_useful_first(limits.limits)[:6]:
        fuller = given_back(car, left, item)
        assert {one.ref for one in item.limits}.isdisjoint(unknown(worked_out(record_of(file, fuller)))), item.data


def given_back(car: dict[str, Any], left: dict[str, Any], item: Frees) -> dict[str, Any]:
    """The car with these data again, and no others."""
    named = {need.words for need in item.data}
    fuller = copy.deepcopy(left)
    for table in ("brakes", "hoses"):
        if f"[[{table}]]" in named:
            fuller[table] = copy.deepcopy(car[table])
    for path in data_of(car):
        if words(car, path) not in named:
            continue
        if path[0] in WHOLE:
            fuller[path[0]].append(car[path[0]][path[1]])
        elif path[0] == "wear" and "wear" not in left:
            axle = car["wear"][path[1]]["axle"]
            rows = fuller.setdefault("wear", [])
            row = next((row for row in rows if row["axle"] == axle), None)
            if row is None:
                rows.append(row := {"axle": axle})
            row[path[-1]] = car["wear"][path[1]][path[-1]]
        else:
            *way, key = path
            held, source = fuller, car
            for step in way:
                held = held.setdefault(step, {}) if isinstance(held, dict) else held[step]
                source = source[step]
            held[key] = source[key]
    return fuller


# --- a car of four data ----------------------------------------------------------------------------------------------


@functools.cache
def little(everything_done: bool = False) -> JobRecord:
    """The demo's job on the car of which little is known; with all calipers overhauled where asked for."""
    record = demo()
    car = Car.model_validate(tomllib.loads((DEMO / "car_little.toml").read_text(encoding="utf-8")))
    assert [*car_rules(car), *limit_rules(car)] == []
    return with_car(record, car)


def test_it_holds_a_name_a_variant_a_family_and_its_systems() -> None:
    held = tomllib.loads((DEMO / "car_little.toml").read_text(encoding="utf-8"))
    assert {table: [*item] if isinstance(item, dict) else [[*one] for one in item] for table, item in held.items()} == {
        "car": ["name", "variant"],
        "fluid": ["family"],
        "systems": [["id"], ["id"]],
    }


def test_each_place_of_an_overhaul_is_there() -> None:
    places = little().car.places
    wheels = ["front-left", "front-right", "rear-left", "rear-right"]
    assert [place.id for place in places.of_kind("caliper")] == [f"{wheel}-caliper" for wheel in wheels]
    assert [place.id for place in places.of_kind("accumulator")] == ["accumulator-1", "accumulator-2"]
    assert places.pedal_circuit
    caliper = places.of_kind("caliper")[0]
    assert [place.id for place in places.at(caliper, "system")] == ["system-1", "system-2"]


def test_its_brake_overhaul_has_a_price_at_each_place() -> None:
    record, boxes = little(), first_boxes(little())
    lines = [f"front-caliper-overhaul.{wheel}-caliper" for wheel in ("front-left", "front-right")]
    lines += [f"rear-caliper-overhaul.{wheel}-caliper" for wheel in ("rear-left", "rear-right")]
    lines += ["accumulator-exchange.accumulator-1", "accumulator-exchange.accumulator-2", "front-pads.front-axle"]
    before = appraise_boxes(record, boxes)
    after = appraise_boxes(record, boxes | {f"line.{line}.decision": "authorized" for line in lines})
    for line in lines:
        [row] = [row for row in after.labor.lines if row.ref == line]
        assert row.agreed == 1 and row.alone > 0
    assert after.agreed["total"] > before.agreed["total"] + Decimal(1000)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 2**32))
def test_it_is_never_cleared_whatever_is_read(seed: int) -> None:
    """Every box of every check holds a number or a good look, every gauge is named."""
    record, rng = little(), Random(seed)
    boxes, gauges = first_boxes(record), [gauge.id for gauge in record.shop.gauges]
    for standing in appraise_boxes(record, boxes).standings:
        key, check = f"reading.{standing.ref}", standing.row.check
        value: float | str = record.car.fluid.family if check.kind == "family" else "no fault found"
        if check.kind in ("number", "recorded"):
            value = round(rng.choice((rng.uniform(0, 5), rng.uniform(0, 200), rng.uniform(700, 2300))), 3)
        boxes |= {f"{key}.before": value, f"{key}.after": value}
        boxes |= {f"{key}.gauge_{phase}": rng.choice(gauges) for phase in ("before", "after") if check.measured}
    found = appraise_boxes(record, boxes)
    assert found.driving.state == "DO NOT DRIVE"
    keeping = {item.ref.partition(".")[0] for item in found.standings if item.concern}
    assert {"cut-out", "lamp-pressure", "hub-play"} <= keeping


# --- the workbook ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", (None, 1, 2, 3))
def test_its_workbook_is_sound_and_an_engine_agrees(seed: int | None, tmp_path: Path) -> None:
    record = little()
    if seed is not None:
        rng, file = Random(seed), sorted(FILES)[seed % 2]
        car = written(file)
        record = record_of(file, without(car, [path for path in data_of(car) if rng.random() < 0.1 * seed]))
    appraisal = appraise_boxes(record, first_boxes(record))
    path = tmp_path / "little.xlsx"
    write_workbook(compose(appraisal), path)
    checked = check_workbook(path)
    assert checked.state == "sound"
    assert compare(stored_values(path), recalculate_with_ironcalc(path), 1e-6) == []
    page = letter_html(appraisal)
    assert "DO NOT DRIVE" in page and "[[" not in page


def test_nothing_empty_is_drawn() -> None:
    appraisal = appraise_boxes(little(), first_boxes(little()))
    names = {block.name for tab in compose(appraisal).tabs for block in tab.blocks}
    assert {"stopping", "reserve"}.isdisjoint(names)


def test_missing_data_stand_on_basis_as_missing() -> None:
    basis = next(tab for tab in compose(appraise_boxes(little(), first_boxes(little()))).tabs if tab.name == "Basis")
    [data] = [block for block in basis.blocks if block.name == "missing"]
    cells = {cell.key: cell for row in data.rows for cell in row.cells}
    value = cells["missing.system-1.cut-out.si"]
    assert value.value == "not known" and value.box is None and value.formula is None
    assert cells["missing.system-1.cut-out.needs"].value == "[[systems]] cut_out (system 1)"


# --- the command -----------------------------------------------------------------------------------------------------


def test_the_list_is_in_order_and_narrow(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["limits", str(DEMO / "car_little.toml")]) == 0
    text = capsys.readouterr().out
    head = text.partition("Missing together")[0].splitlines()
    counts = [int(line.split()[1].rstrip(":")) for line in head if line.lstrip().startswith("frees ")]
    assert counts == sorted(counts, reverse=True) and counts[0] == 4
    assert max(map(len, text.splitlines())) <= 80
    assert "no limit on file: needs [[accumulators]] most_age (accumulator 1)" in text


def test_the_list_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["limits", str(DEMO / "car_little.toml"), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert {"data": ["[fluid] grade"], "frees": ["fluid-boiling-point.car"]} in found["missing"]
    needs = {item["ref"]: item["needs"] for item in found["limits"]}
    assert needs["accumulator-age.accumulator-2"] == ["[[accumulators]] most_age (accumulator 2)"]
    assert needs["pad-thickness.front-left"] == []
