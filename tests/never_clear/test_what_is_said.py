"""What an appraisal says beside the state: settled alternatives, what nobody examined, limits that need a datum, floors."""

import pytest

from estimator.errors import InputError
from estimator.intake.toml_files import load_toml
from estimator.records import Car, Shop
from estimator.workbook.compose import working_tabs
from tests.limit_cars import DEMO, with_car
from tests.never_clear import good_car as cars
from tests.never_clear.good_car import fresh_car, good_car
from tests.never_ground.sound_cars import application
from tests.real_nitrogen import PSI, density, fast_volume, pressure

# --- readings, not settings -------------------------------------------------------------------------------------------


def lowest_precharge(visit, accumulator):
    judged = {item.ref: item for item in visit.appraise().appraisal.judged}
    return judged[f"precharge.{accumulator}"].values["danger_low"]


def test_readings_of_cut_out_and_lamp_only_tighten_the_reserve():
    """Less between cut-out and lamp than the maker sets asks for more gas; more than he sets asks for no less."""
    given = lowest_precharge(good_car(), "accumulator-2")
    tight, loose = good_car(), good_car()
    for number in (1, 2, 3):
        tight.read(f"cut-out.system-2.{number}", 1820)
        loose.read(f"cut-out.system-2.{number}", 2140)
    tight.read("lamp-pressure.system-2", 1340)
    loose.read("lamp-pressure.system-2", 1240)
    assert lowest_precharge(loose, "accumulator-2") == pytest.approx(given, rel=1e-9)
    assert lowest_precharge(tight, "accumulator-2") > given


def test_a_precharge_that_a_low_cut_out_leaves_no_strokes_for():
    """Five strokes (UN R13: four and one more) from a cut-out read at 1,820 psi to a lamp read at 1,340: cold, 490 psi of real
    nitrogen gives fewer, though it gives six and more with the settings of car.toml."""
    shell, cold = 0.7e-3, 273.15
    stroke = 1.15 * application(cars.record_of("A"), "system-2")
    gas = pressure(density(504.7 * PSI, 293.15), cold)
    assert fast_volume(shell, gas, 1354.7 * PSI, 1834.7 * PSI, cold) < 4.9 * stroke
    assert fast_volume(shell, gas, 1274.7 * PSI, 2064.7 * PSI, cold) > 6 * stroke
    visit = good_car()
    for number in (1, 2, 3):
        visit.read(f"cut-out.system-2.{number}", 1820)
    visit.read("lamp-pressure.system-2", 1340)
    visit.read("precharge.accumulator-2", 490)
    visit.read("applications.system-2", 8)
    found = visit.appraise()
    assert found.state == "do-not-drive" and "precharge.accumulator-2" in found.grounding


# --- floors of danger -------------------------------------------------------------------------------------------------


def shop_with(tmp_path, floors):
    path = tmp_path / "shop.toml"
    text = (DEMO / "shop.toml").read_text(encoding="utf-8").partition("\n[floors]")[0]
    path.write_text(f"{text}\n[floors]\n{floors}\n", encoding="utf-8")
    return path


@pytest.mark.parametrize("name", ["precharge", "applications"])
def test_a_shop_may_raise_a_floor_and_never_lower_it(name, tmp_path):
    assert load_toml(shop_with(tmp_path, f'{name} = "60 %"'), Shop)
    with pytest.raises(InputError) as refused:
        load_toml(shop_with(tmp_path, f'{name} = "49 %"'), Shop)
    assert name in str(refused.value) and "50" in str(refused.value)


def test_a_raised_floor_grounds_sooner(tmp_path):
    """60 % of 944.7 psi are 552 psi by the gauge."""
    visit = good_car()
    visit.read("precharge.accumulator-1", 530)
    visit.read("applications.system-1", 24)
    visit.read("charge-time.system-1", 78)  # less gas takes up more fluid: 0.7 L (1 - (545/2065)^(1/1.5)) at 5 mL/s
    assert visit.appraise().state == "no-do-not-drive-finding"
    shop = load_toml(shop_with(tmp_path, 'precharge = "60 %"'), Shop)
    visit.record = visit.record.model_copy(update={"shop": shop})
    assert visit.appraise().grounding == ["precharge.accumulator-1"]


# --- alternatives of which only one makes sense -----------------------------------------------------------------------


@pytest.mark.parametrize("others", [None, "declined"])
def test_what_one_agreed_job_settles_is_neither_open_nor_declined(others):
    """An accumulator without gas calls a recharge; the exchange is agreed in its place."""
    visit = good_car(more_jobs=True)
    visit.read("precharge.accumulator-2", 30)
    visit.read("applications.system-2", 0)
    assert visit.appraise().said(["job-undecided"], "accumulator-check-recharge.accumulator-2")
    visit.set("line.accumulator-exchange.accumulator-2.decision", "authorized")
    if others:
        visit.set("line.accumulator-check-recharge.accumulator-2.decision", others)
    found = visit.appraise()
    assert found.said(["job-undecided", "safety-job-declined"], "accumulator-check-recharge") == []


# --- what nobody examined ---------------------------------------------------------------------------------------------


def first_page(visit):
    """All that stands on the Summary tab, in lower case."""
    book = working_tabs(visit.appraise().appraisal)
    summary = next(tab for tab in book.tabs if tab.name == "Summary")
    blocks = (summary.head, *summary.blocks)
    return " ".join(str(cell.value).lower() for block in blocks for row in block.rows for cell in row.cells)


def test_the_best_state_names_what_no_check_examined():
    """The deceleration valve wasn't on the bench: that is said on the first page, and not once it was."""
    visit = good_car()
    assert visit.appraise().state == "no-do-not-drive-finding"
    assert "deceleration valve" not in first_page(visit)
    visit.unset("reading.valve-tilt.car.before")
    assert visit.appraise().state == "no-do-not-drive-finding"
    assert "deceleration valve" in first_page(visit)


# --- before any reading -----------------------------------------------------------------------------------------------


def test_nothing_measured_is_said_in_the_same_words():
    visit = fresh_car()
    assert visit.appraise().appraisal.driving.state == "NOTHING MEASURED: DO NOT DRIVE"
    assert "nothing measured: do not drive" in first_page(visit)


def test_what_grounds_a_car_is_on_the_first_page_with_reading_and_limit():
    """One bad pad: its name, 1.0 mm, and the 3.0 or 1.6 mm that it should have."""
    visit = good_car()
    visit.read("pad-thickness.front-left", 1.04)
    said = first_page(visit)
    assert "thinnest pad, front left" in said and "1.04" in said and "1.6" in said


# --- cars with little data --------------------------------------------------------------------------------------------


LITTLE = """
[car]
name = "A car that nobody knows"

[[systems]]
id = "system-1"

[[systems]]
id = "system-2"
"""


def test_a_car_with_a_name_and_its_systems_is_never_cleared_and_is_priced(tmp_path):
    path = tmp_path / "car.toml"
    path.write_text(LITTLE, encoding="utf-8")
    little_known = load_toml(path, Car)
    good = good_car()
    fresh = fresh_car()
    record = with_car(cars.record_of("A"), little_known)
    visit = cars.Visit(record, dict(fresh.entries))
    assert visit.appraise().state == "not-measured"
    visit.entries.update(good.entries)
    visit.set("line.complete-fluid-renewal.car.decision", "authorized")
    found = visit.appraise()
    assert found.state == "do-not-drive"
    assert "cut-out.system-1.1" in found.grounding
    assert any("no limit on file" in item.what and "needs" in item.what for item in found.findings)
    assert found.appraisal.agreed["total"] > 0


def test_no_limit_on_file_names_the_datum_that_is_missing():
    visit = good_car()
    visit.record = cars.with_datum(visit.record, "wear", {})
    found = visit.appraise()
    said = found.said(["not-measured", "no-limit"], "rotor-thickness.front-left")
    assert said and "no limit on file" in said[0].what + said[0].fix
    assert "needs" in said[0].what + said[0].fix
