"""Jobs are called by causes; findings that a cause explains call nothing, and those that none explains call as calls.csv says."""

import csv
import functools
from pathlib import Path
from random import Random

import openpyxl
import pytest
from boxes_by_key import first_boxes
from engines import needs_libreoffice, recalculate_with_libreoffice
from limit_cars import changed, demo
from never_clear.good_car import READ_ON, WORKED_ON, Visit

from estimator.diagnosis.advice.advice import advise
from estimator.diagnosis.causes.calling import SHARED, callers
from estimator.diagnosis.causes.result import READING_ERRORS
from estimator.letters.work import items, refused
from estimator.limits.judging.standing import VOID
from estimator.places import Place
from estimator.workbook.compose import compose
from estimator.workbook.layout import Layout
from estimator.workbook.placed_cells import column_letter
from estimator.workbook.write import workbook_bytes
from tests.faulty_cars.scenarios import SCENARIOS
from tests.faulty_cars.simulated import Fault, Faults, faulty_readings

TABLES = Path(__file__).parents[1] / "labor_tables"
EXCHANGE, RECHARGE = "accumulator-exchange.accumulator-2", "accumulator-check-recharge.accumulator-2"
LOST_GAS = Faults({"system-2": Fault(gas={"accumulator-2": 0.02})})
# What a pump that starts seldom reads on a car without gas, as the demo has it.
SELDOM = {"cycle-interval.system-2": 470.0}
OLD = {"accumulator-age.accumulator-2": 14.0}


@functools.cache
def _readings(file, faults_of, seed):
    faults = LOST_GAS if faults_of == "lost gas" else SCENARIOS[faults_of].draw(Random(f"{faults_of} {seed}"))
    return faulty_readings(demo(file), faults, Random(f"{faults_of} {seed}"))


def visit_of(name="lost gas", changes=None, file="job.toml", seed=1):
    record = demo(file)
    visit = Visit(record, first_boxes(record))
    visit.set("visit.before.date", READ_ON)
    for ref, (value, gauge) in _readings(file, name, seed).items():
        visit.read(ref, value, gauge=gauge)
    for ref, value in ((SELDOM if name == "lost gas" and file == "job.toml" else {}) | (changes or {})).items():
        visit.read(ref, value)
    return visit


def called(appraisal):
    """The lines that are proposed though nobody asked for them, with the reason of each."""
    return {
        line.line.ref: line.decided.called_by for line in appraisal.labor.lines if line.proposed and not line.line.asked
    }


def row_of(appraisal, line):
    return next(item for item in appraisal.labor.lines if item.line.ref == line)


def rows(name):
    with (TABLES / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


# --- what is called ---------------------------------------------------------------------------------------------------


def test_lost_gas_calls_its_exchange_and_nothing_else_on_its_account():
    found = called(visit_of(changes=OLD).appraise().appraisal)
    assert found[EXCHANGE] == "readings point to lost gas in accumulator 2"
    assert RECHARGE not in found and "isolate-one-system.system-2" not in found and "leak-trace.car" not in found
    assert "precharge-measurement.accumulator-2" not in found


def test_low_gas_in_an_old_shell_is_exchanged_not_recharged():
    """By age its shell is renewed; the recharge that its cause calls is a part of that."""
    visit = visit_of("gas low", seed=7)
    before = visit.appraise().appraisal
    gas = next(item for item in before.callers.all if item.explains and item.cause.mode_id == "gas-low")
    (line,) = gas.cause.lines
    place = line.partition(".")[2]
    assert line in called(before)
    visit.read(f"accumulator-age.{place}", 14.0)
    found = called(visit.appraise().appraisal)
    assert f"accumulator-exchange.{place}" in found and line not in found


@pytest.mark.parametrize("name", ["gauge off", "slow idle"])
def test_a_reading_error_calls_for_the_readings_again_alone(name):
    appraisal = visit_of(name, seed=7).appraise().appraisal
    lines = {call.line for call in appraisal.calls if call.active and call.caller}
    jobs = {line.line.job.job_id for line in appraisal.labor.lines if line.line.label in lines}
    assert jobs == {"repeat-pressure-readings"}


def test_a_sound_reading_makes_a_cause_call_nothing():
    """However probable: a cause without a finding is none to sell a repair for."""
    for name in SCENARIOS:
        appraisal = (
            visit_of(name, file="job_mineral.toml" if SCENARIOS[name].car == "B" else "job.toml").appraise().appraisal
        )
        for item in appraisal.callers.all:
            rows = [ref for check in item.explains for ref in appraisal.callers.refs[check]]
            verdicts = {appraisal.standing_of[ref].before.verdict for ref in rows}
            assert not item.explains or verdicts & {"out of limits", "too close to limit", "fault found"}
        callings = {line for item in appraisal.callers.all if item.explains for line in item.cause.lines}
        offered = {line.line.ref for line in appraisal.labor.lines if line.decided.offered}
        assert callings <= offered


def test_what_no_cause_explains_calls_as_the_table_says():
    """A cut-out beside a sound cut-in is out, and no fault of system 1 makes it so."""
    refs = {f"cut-out.system-1.{number}": 2700.0 for number in (1, 2, 3)}
    found = called(visit_of(changes=refs).appraise().appraisal)
    assert found["isolate-one-system.system-1"].startswith("cut-out 1, system 1")
    assert EXCHANGE in found


def test_without_readings_enough_findings_call_as_before():
    visit = visit_of()
    for key in list(visit.entries):
        if key.startswith("reading.charge-time"):
            visit.unset(key)
    found = called(visit.appraise().appraisal)
    assert not any(why.startswith("readings point") for why in found.values())
    assert {"isolate-one-system.system-2", RECHARGE} <= found.keys()


def test_every_explained_finding_belongs_to_a_cause_that_calls():
    for name in SCENARIOS:
        appraisal = (
            visit_of(name, file="job_mineral.toml" if SCENARIOS[name].car == "B" else "job.toml").appraise().appraisal
        )
        told = {check for item in appraisal.callers.all for check in item.explains}
        assert {check for several in appraisal.callers.explained_in.values() for check in several} == told, name


# --- once work is done ------------------------------------------------------------------------------------------------


def repaired(after=None):
    visit = visit_of()
    visit.done(EXCHANGE)
    visit.set("visit.after.date", WORKED_ON)
    for ref, value in (after or {}).items():
        visit.read(ref, value, "after", _readings("job.toml", "lost gas", 1)[ref][1])
    return visit.appraise()


def test_after_the_repair_what_it_cures_is_asked_again_and_the_line_keeps_its_reason():
    found = repaired()
    explained = visit_of().appraise().appraisal.callers
    (item,) = (item for item in explained.all if item.explains)
    refs = [ref for check in item.explains for ref in explained.refs[check]]
    assert refs and {found.appraisal.standing_of[ref].latest for ref in refs} == {VOID}
    assert all(found.appraisal.standing_of[ref].asked for ref in refs)
    assert "isolate-one-system.system-2" not in called(found.appraisal)
    assert row_of(found.appraisal, EXCHANGE).decided.recommended_by == "readings before work"
    (line,) = (item for item in items(found.appraisal) if item.title.startswith("Replace accumulator"))
    assert "the gas pressure is not within limits, accumulator 2" in line.why


def test_what_stays_out_after_the_repair_calls_the_isolation_test():
    names = ["charge-time", "hold", "hold-start", "hold-start-temperature", "hold-end-temperature", "applications"]
    read = _readings("job.toml", "lost gas", 1)
    stays = {ref: read[ref][0] for ref in (f"{name}.system-2" for name in names)}
    sound = {"precharge.accumulator-2": 930.0, "gas-temperature.accumulator-2": 20.0}
    found = called(repaired(stays | sound).appraisal)
    assert "isolate-one-system.system-2" in found
    assert not found["isolate-one-system.system-2"].startswith("readings point")


# --- never better than its readings -----------------------------------------------------------------------------------


def test_a_cause_grounds_the_car_as_its_readings_do():
    visit = visit_of()
    record = visit.record
    bare = Visit(record.model_copy(update={"tables": record.tables.model_copy(update={"causes": ()})}), visit.entries)
    with_causes, without = visit.appraise(), bare.appraise()
    assert with_causes.state == without.state == "do-not-drive"
    assert with_causes.grounding == without.grounding
    (line,) = (item for item in items(with_causes.appraisal) if item.title.startswith("Replace accumulator"))
    assert line.grounds


def test_a_declined_repair_of_a_cause_is_told_and_leaves_the_fault():
    visit = visit_of()
    visit.set(f"line.{EXCHANGE}.decision", "declined")
    found = visit.appraise()
    assert [item for item in found.said(["safety-job-declined"]) if "because readings point to lost gas" in item.what]
    (line,) = (item for item in refused(found.appraisal) if item.title.startswith("Replace accumulator"))
    assert "the car must not be driven" in line.left and "the readings point to lost gas" in line.why
    assert "isolate-one-system.system-2" not in called(found.appraisal)


# --- the tables -------------------------------------------------------------------------------------------------------

TESTS = {"leak-trace", "drag-diagnosis"}


@pytest.mark.parametrize("file", ["job.toml", "job_mineral.toml", "a valve each system"])
def test_the_repair_of_a_cause_cures_what_it_explains(file):
    """Else a finding would stand, and call for itself, though its cause was repaired: each job, at the cause's own place."""
    jobs = {(row["mode_id"], row["place_kind"] == "car"): row["job_ids"].split() for row in rows("causes")}
    appraisal = cars(file).appraise().appraisal
    car, cured, missing = appraisal.record.car, {(line.ref, row.ref) for line, row in appraisal.plan.cures}, set()
    for item in appraisal.callers.all:
        if item.cause.mode_id in READING_ERRORS:
            continue
        place = car.places.find(item.cause.at) or Place("car", "car")
        for job in set(jobs[item.cause.mode_id, item.cause.place == "car"]) - TESTS:
            there = [line for line in appraisal.plan.lines if line.job.job_id == job]
            lines = [line.ref for line in there if line.place in car.places.at(place, line.place.kind)]
            for check in strong(appraisal, item) if lines else ():
                refs = appraisal.callers.refs[check]
                missing |= {(job, ref) for ref in refs if not any((line, ref) in cured for line in lines)}
    assert missing == set()


@functools.cache
def cars(file):
    if file == "a valve each system":
        record = changed(demo("job.toml"), "car", None, distribution_valves="each system")
        return Visit(record, first_boxes(record))
    return visit_of("lost gas" if file == "job.toml" else "check valve leaks, B", file=file)


def test_no_cause_calls_for_two_exchanges():
    """A wheel with two calipers, a valve each system: no reading says which, so the test that does comes first."""
    for file in ("job.toml", "job_mineral.toml", "a valve each system"):
        appraisal = cars(file).appraise().appraisal
        rates = {line.ref: line.job.rate for line in appraisal.plan.lines}
        for item in appraisal.callers.all:
            assert len([line for line in item.cause.lines if rates[line] != "diagnostic"]) <= 1, item.key


def test_a_seized_caliper_beside_another_calls_the_test_that_names_it():
    """Rear left has two calipers. Once the test is done, its line calls no more; front left has one, and calls it at once."""
    visit = visit_of("caliper seized", seed=1)
    visit.read("drag.rear-left", "fault found")
    visit.read("road-balance.rear-axle", 45.0)
    appraisal = visit.appraise().appraisal
    said = "readings point to seized caliper or pad, rear left"
    assert {line: why for line, why in called(appraisal).items() if why == said} == {"drag-diagnosis.rear-left": said}
    (group,) = (item for item in advise(appraisal).groups if item.group.id == "wheels")
    (words,) = (step.title for ref, step in group.repairs.items() if "rear-left" in ref and "caliper" in ref)
    assert words.startswith("Diagnose dragging brake") and words.endswith("Rebuild rear caliper, the one at fault of 2")
    visit.done("drag-diagnosis.rear-left")
    assert not [why for why in called(visit.appraise().appraisal).values() if why == said]
    front = next(item for item in appraisal.callers.all if item.key == "caliper-seized.front-left")
    assert front.cause.lines == ("front-caliper-overhaul.front-left-caliper",) and not front.cause.either


def strong(appraisal, item):
    """The checks that a cause alone moves by more than two standard deviations, or makes a look find."""
    group = next(group for group in appraisal.diagnosis.arithmetic.groups if group.id == item.group)
    alone = [
        row.hypothesis for row in group.rows if [f"{at.mode}.{at.part}" for at in row.hypothesis.causes] == [item.key]
    ]
    sound = [row.hypothesis for row in group.rows if not row.hypothesis.causes and not row.hypothesis.scenario]
    for name in group.names:
        for row in alone:
            if all(
                (row.readings[name].mean - one.readings[name].mean) ** 2 > 2 * one.readings[name].spread
                for one in sound
            ):
                yield group.checks[name]
    yield from (group.checks[name] for name in group.looks if any(row.looks[name] >= 0.25 for row in alone))
    yield from (check for check in item.moves if check in SHARED)


ORDERED = {
    "final-pressure-test": "a part of every repair; ordered alone after work elsewhere",
    "recommissioning": "asked for after long storage",
    "transport-preparation": "asked for by the owner",
    "seized-bleed-screw": "met while bleeding",
}


def test_every_repair_can_be_come_to_from_a_cause_or_a_finding():
    """Tests are come to from findings, or advised."""
    of_causes = {job for row in rows("causes") for job in row["job_ids"].split()}
    come_to = of_causes | {row["job_id"] for row in rows("calls")}
    repairs = {row["job_id"] for row in rows("jobs") if row["rate"] != "diagnostic"}
    assert repairs - come_to == set(ORDERED)


@pytest.mark.parametrize("file", ["job.toml", "job_mineral.toml"])
def test_every_cause_of_a_car_has_a_job_that_the_car_can_have(file):
    appraisal = visit_of("lost gas" if file == "job.toml" else "check valve leaks, B", file=file).appraise().appraisal
    assert [
        cause.whole_title for group in appraisal.diagnosis.groups for cause in group.causes if not cause.lines
    ] == []


def test_precharge_is_to_be_read_again_a_day_after_it_was_set():
    notes = {row["job_id"]: row["note"] for row in rows("jobs")}
    for job in ("accumulator-check-recharge", "accumulator-exchange", "accumulator-diaphragm-renewal"):
        assert "Recheck precharge after 24 hours" in notes[job]
        assert (job, "precharge", "yes") in {
            (row["job_id"], row["check_id"], row["cures"]) for row in rows("job_checks")
        }


# --- in the sheet -----------------------------------------------------------------------------------------------------


@needs_libreoffice
def test_another_reading_moves_what_is_recommended(tmp_path):
    """Readings typed into a workbook as drafted: what it recommends, and why, is what Python recommends."""
    visit = visit_of(changes=OLD)
    empty = Visit(visit.record, first_boxes(visit.record)).appraise().appraisal
    book = compose(empty)
    path = tmp_path / "car.xlsx"
    path.write_bytes(workbook_bytes(book))
    layout, file = Layout(book), openpyxl.load_workbook(path)
    for key, value in visit.entries.items():
        if key.startswith(("reading.", "visit.")) and key in book.by_key:
            tab, row, column = layout.address(key)
            file[tab][f"{column_letter(column)}{row}"] = value
    file.save(path)
    (found,) = recalculate_with_libreoffice([path])

    def stands(key):
        tab, row, column = layout.address(key)
        return found[tab, f"{column_letter(column)}{row}"]

    said = visit.appraise().appraisal
    for line in said.labor.lines:
        assert stands(f"line.{line.line.ref}.proposed") == line.proposed, line.line.ref
        assert (stands(f"line.{line.line.ref}.called_by") or "") == line.decided.called_by
    assert said.decisions.chosen("proposed") != empty.decisions.chosen("proposed")
    assert callers(said.diagnosis, said.standings, set()).all == said.callers.all
