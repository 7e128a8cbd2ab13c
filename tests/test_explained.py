"""One rule of what a cause explains: in words at the boxes, for the calls of jobs, in `check --json`, for the next step."""

import functools

import pytest
from test_calls_through_causes import called, visit_of

from estimator.diagnosis.advice.advice import next_steps
from estimator.diagnosis.advice.advise import READ_AGAIN, Adviser
from estimator.diagnosis.advice.band import base_lines
from estimator.limits.judging.verdict_words import BAD
from estimator.workbook.compose import compose
from estimator.workbook.write import workbook_bytes
from tests.engines import recalculate_with_ironcalc, stored_values
from tests.faulty_cars.scenarios import SCENARIOS
from tests.never_clear.good_car import FILES

REF = "charge-time.system-2"
KEY = f"reading.{REF}.before"


@functools.cache
def appraisal_of(seconds):
    """Lost gas in system 2, its charge time as given."""
    return visit_of(changes={REF: seconds}).appraise().appraisal


def beside(appraisal, check=REF):
    return next(row for row in appraisal.callers.beside if row.check == check)


def kind(row):
    return next((word for word in ("explained in part", "explained", "not explained") if row.said.startswith(word)), "")


@functools.cache
def by_kind():
    """A charge time of each kind, if there is one between 60 and 240 s."""
    return {kind(beside(appraisal_of(float(seconds)))): float(seconds) for seconds in range(60, 240, 6)}


def test_the_distance_decides():
    """From the causes and from a car with no fault, at 2 and 3 standard deviations."""
    assert by_kind().keys() == {"explained", "explained in part", "not explained"}
    for seconds in range(60, 240, 6):
        row = beside(appraisal_of(float(seconds)))
        if row.off > 3:
            assert kind(row) == "not explained"
        elif row.off <= 2:
            assert kind(row) == ("explained" if row.far > 2 else "")
        else:
            assert kind(row) == ("explained in part" if row.far - row.off > 1 else "")


@pytest.mark.parametrize("name", ["explained", "explained in part", "not explained"])
def test_all_that_is_said_follows_it(name):
    appraisal = appraisal_of(by_kind()[name])
    row, callers = beside(appraisal), appraisal.callers
    explained = name != "not explained"
    (gas,) = (item for item in callers.all if item.cause.mode_id == "gas-gone" and item.explains)
    assert (REF in callers.explained) == explained == (KEY in callers.boxes_of(gas.cause))
    own = [call for call in appraisal.calls if call.caller is None and REF in call.findings and call.active]
    assert bool(own) == (not explained) and callers.words[REF] in BAD
    assert bool({call.line for call in own}) == (not explained)
    labels = {line.label: line.ref for line in appraisal.plan.lines}
    assert {labels[call.line] for call in own} <= base_lines(appraisal)
    step, _ = next_steps(appraisal, Adviser(appraisal))
    assert (step.kind == READ_AGAIN and step.id == REF) == row.again == (name != "explained")
    assert ("isolate-one-system.system-2" in called(appraisal)) == (not explained)


@pytest.mark.parametrize("name", ["explained in part", "not explained"])
def test_the_sheet_says_the_same(name, tmp_path):
    appraisal = appraisal_of(by_kind()[name])
    path = tmp_path / "car.xlsx"
    path.write_bytes(workbook_bytes(compose(appraisal)))
    stored, found = stored_values(path), recalculate_with_ironcalc(path)
    assert any(value == beside(appraisal).said for value in found.values())
    words = {cell: value for cell, value in found.items() if isinstance(value, str)}
    assert {cell: (stored.get(cell), value) for cell, value in words.items() if stored.get(cell) != value} == {}


def test_no_finding_is_both_explained_and_called_for():
    """Of every fault: what is explained recommends nothing of its own, and each cause that explains it recommends a job."""
    for name, scenario in SCENARIOS.items():
        appraisal = visit_of(name, file=FILES[scenario.car]).appraise().appraisal
        called_for = {ref for call in appraisal.calls if call.active and call.caller is None for ref in call.findings}
        assert not called_for & appraisal.callers.explained, name
        said = {row.check for row in appraisal.callers.beside if row.explained}
        assert {appraisal.callers.check_of[ref] for ref in appraisal.callers.explained} <= said, name
        boxes = {key for item in appraisal.callers.all for key in item.boxes}
        assert boxes == {key for row in appraisal.callers.beside if row.explained for key in row.keys}, name


def test_a_test_with_no_box_on_this_car_is_not_advised():
    """A car whose supply feeds nobody else has no hold with others connected."""
    appraisal = appraisal_of(by_kind()["explained"])
    for group in next_steps(appraisal, Adviser(appraisal))[1]:
        assert all(tried.rests for tried in group.tests)
