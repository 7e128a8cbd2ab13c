"""Causes weighed live in the workbook, as Python weighs them."""

import math
from dataclasses import replace

import openpyxl
import pytest
from letter_samples import appraisal_at, bent

from estimator.diagnosis.advice.advice import advise
from estimator.diagnosis.advice.advise import words_of_step
from estimator.diagnosis.advice.band import NO_ESTIMATE
from estimator.diagnosis.advice.drafted_band import REDRAFT, with_band
from estimator.limits.judging.verdict_words import FAULT
from estimator.quote_notes import quote_notes
from estimator.readback.check import check_workbook
from estimator.readback.write_verified import write_verified
from estimator.workbook.compose import compose
from estimator.workbook.layout import Layout
from estimator.workbook.placed_cells import column_letter
from estimator.workbook.write import workbook_bytes
from tests.engines import needs_libreoffice, recalculate_with_ironcalc, recalculate_with_libreoffice, stored_values
from tests.never_clear.good_car import fresh_car, good_car
from tests.test_causes import visit_of

TAB = "Causes"
MOST_FORMULAS = 1700
CARS = ("gas gone and pump weak", "check valve leaks, B", "pedal circuit leaks", "nothing read")


def appraised(name):
    return (fresh_car("A") if name == "nothing read" else visit_of(name)).appraise().appraisal


def written(folder, name):
    return written_of(folder, appraised(name))


def written_of(folder, appraisal):
    book = compose(appraisal)
    path = folder / "car.xlsx"
    path.write_bytes(workbook_bytes(book))
    return book, path


def differing(stored, found):
    """Cells of the tab in which an engine and Python differ by more than 1e-9 of the number, or at all in words."""

    def same(one, other):
        if isinstance(one, int | float) and isinstance(other, int | float):
            return math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-15)
        return one == other

    return {
        cell: (stored.get((tab, cell)), value)
        for (tab, cell), value in found.items()
        if tab == TAB and not same(stored.get((tab, cell)), value)
    }


@pytest.mark.parametrize("name", CARS)
def test_ironcalc_and_python_agree(name, tmp_path):
    _, path = written(tmp_path, name)
    found = recalculate_with_ironcalc(path)
    assert sum(tab == TAB for tab, _ in found) > 1000
    assert differing(stored_values(path), found) == {}


@needs_libreoffice
def test_libreoffice_and_python_agree(tmp_path):
    _, path = written(tmp_path, CARS[0])
    assert differing(stored_values(path), recalculate_with_libreoffice([path])[0]) == {}


SLOW = {
    "reading.charge-time.system-1.before": 160.0,
    "reading.cycle-interval.system-1.before": 600.0,
    "reading.sight-glass.system-1.before": None,
}
# Of the demo's car, whose shop has all jobs and tests: a repair, a test, a reading to be taken again, a part that was named.
STEPS = {
    "repair": ({}, "Next: Replace accumulator, accumulator 2, "),
    "test": (SLOW, "Next: Watch pump starts and sight glass, one system, system 1: "),
    "again": ({"reading.charge-time.system-1.before": 40.0}, "Next: Remeasure: charge time, system 1"),
    "idle": (SLOW | {"reading.charge-time.system-2.before": 240.0, "reading.idle-speed.car.before": 450.0}, "Next: "),
    "named": (SLOW | {"reading.isolated-part.system-1.before": "pump"}, "Next: "),
}


@pytest.mark.parametrize("name", STEPS)
def test_the_next_step_is_worked_out_in_ironcalc_as_in_python(name, tmp_path):
    changes, begins = STEPS[name]
    appraisal = bent("before", changes)
    book, path = written_of(tmp_path, appraisal)
    assert book.by_key["summary.next.c1"].value.startswith(begins)
    step = advise(appraisal).next
    assert book.by_key["summary.next.c1"].value == words_of_step(step, "USD")
    assert differing(stored_values(path), recalculate_with_ironcalc(path)) == {}


@pytest.mark.parametrize(
    ("ref", "value", "kind", "words"),
    [
        ("road-pedal.car", FAULT, "test", "Next: Diagnostic pressure test of both systems, "),
        ("fluid-boiling-point.car", 140.0, "repair", "Next: Brake fluid flush, all circuits, "),
        ("pad-thickness.front-left", 40.0, "read-again", "Next: Remeasure: thinnest pad, front left"),
    ],
)
def test_a_finding_that_no_cause_explains_has_a_next_step(ref, value, kind, words, tmp_path):
    """A car on which all else is good: the job that the finding calls for; a reading that can't be one is taken again."""
    visit = good_car()
    visit.read(ref, value)
    appraisal = visit.appraise().appraisal
    book, path = written_of(tmp_path, appraisal)
    step = advise(appraisal).next
    assert step.kind == kind and book.by_key["summary.next.c1"].value == words_of_step(step, "USD")
    assert words_of_step(step, "USD").startswith(words)
    assert differing(stored_values(path), recalculate_with_ironcalc(path)) == {}


def typed_in(path, book, changes):
    """Readings typed into a workbook by another program."""
    layout, file = Layout(book), openpyxl.load_workbook(path)
    for key, value in changes.items():
        tab, row, column = layout.address(key)
        file[tab][f"{column_letter(column)}{row}"] = value
    file.save(path)


@needs_libreoffice
def test_a_changed_reading_moves_the_next_step(tmp_path):
    """In another program, to what Python says of the same readings; the Summary says it."""
    book, path = written_of(tmp_path, bent("before", {}))
    typed_in(path, book, SLOW)
    (found,) = recalculate_with_libreoffice([path])
    tab, row, column = Layout(book).address("summary.next.c1")
    said = words_of_step(advise(bent("before", SLOW)).next, "USD")
    assert found[tab, f"{column_letter(column)}{row}"] == said != book.by_key["summary.next.c1"].value


def test_the_band_stands_as_written_and_is_marked_once_readings_changed(tmp_path):
    """By Python and ironcalc: what it rested on are the checks made, the ranking, and what is recommended."""
    written = with_band(bent("before", {}))
    low, high = advise(written).band.low, advise(written).band.high
    said = f"This visit may come to {low:,.0f} to {high:,.0f} USD, tax included. {NO_ESTIMATE}"
    assert compose(written).by_key["summary.band.c1"].value == said
    for number, changes in enumerate((SLOW, {"reading.hold.system-1.before": None})):
        later = bent("before", changes)
        later = replace(later, record=later.record.model_copy(update={"band": written.record.band}))
        folder = tmp_path / str(number)
        folder.mkdir()
        book, path = written_of(folder, later)
        assert book.by_key["summary.band.c1"].value == f"{said} {REDRAFT}"
        stored, found = stored_values(path), recalculate_with_ironcalc(path)
        assert all(
            found[cell] == stored[cell] for cell in found if cell[0] == "Summary" and isinstance(found[cell], str)
        )


def test_what_the_program_writes_carries_the_band(tmp_path):
    write_verified(appraisal_at("drafted"), tmp_path / "car.xlsx")
    band = check_workbook(tmp_path / "car.xlsx").appraisal.record.band
    assert (band.low, band.high) == (
        advise(appraisal_at("drafted")).band.low,
        advise(appraisal_at("drafted")).band.high,
    )
    assert band.made == 0


def test_a_quote_tells_the_band_before_any_reading():
    (note,) = [note for note in quote_notes(appraisal_at("drafted")) if "may come to" in note]
    band = advise(appraisal_at("drafted")).band
    assert f"{band.low:,.0f} to {band.high:,.0f} USD with tax" in note
    assert "by concern and how often each cause is seen, before any reading" in note
    assert note.endswith(NO_ESTIMATE)


def test_with_too_few_readings_no_step_is_named():
    assert compose(appraisal_at("drafted")).by_key["summary.next.c1"].value == ""


def test_letting_be_is_no_next_step_while_anything_grounds_the_car():
    """Of the sheet as of Python: it may wait only where the state allows driving and every check was made."""
    for stage in ("drafted", "before", "decisions"):
        book = compose(appraisal_at(stage))
        assert book.by_key["advice.wait.value"].value == 0
    assert "no finding prohibits driving" in book.by_key["advice.wait.value"].formula


def test_what_explains_a_reading_stands_in_the_margin_beside_its_box():
    book = compose(appraisal_at("before"))
    rows = {row.check: row.said for row in appraisal_at("before").callers.beside if row.said}
    assert rows["precharge.accumulator-2"] == "explained by lost gas in the accumulator, system 2"
    for check, said in rows.items():
        cells = [cell for cell in book.cells() if cell.formula and f"{{beside.{check}.said}}" in cell.formula]
        assert [cell.value for cell in cells] == [said]
        assert cells[0].key.startswith("before_")


def test_there_are_not_too_many_formulas():
    for appraisal in (appraised(CARS[0]), appraisal_at("before")):
        tab = next(tab for tab in compose(appraisal).tabs if tab.name == TAB)
        cells = [cell for part in (tab.head, *tab.blocks) for row in part.rows for cell in row.cells]
        assert 1000 < sum(cell.formula is not None for cell in cells) <= MOST_FORMULAS
    book = compose(appraised(CARS[0]))
    assert sum(cell.formula is not None for cell in book.cells()) <= 18000


@needs_libreoffice
def test_another_reading_moves_the_ranking(tmp_path):
    """Readings typed into a drafted workbook by another program: the sheet names what Python names."""
    book, path = written(tmp_path, "nothing read")
    layout, visit = Layout(book), visit_of(CARS[0])
    able = {key: value for key, value in visit.entries.items() if key.startswith(("reading.", "visit."))}
    typed_in(path, book, {key: value for key, value in able.items() if key in book.by_key})
    (found,) = recalculate_with_libreoffice([path])
    said = visit.appraise().appraisal.diagnosis
    tab, row, column = layout.address("top.top1.cause")
    assert found[tab, f"{column_letter(column)}{row}"] == said.causes[0].whole_title
    tab, row, column = layout.address("top.top1.share")
    assert found[tab, f"{column_letter(column)}{row}"] == pytest.approx(said.causes[0].probability, abs=1e-6)
    tab, row, column = layout.address("summary.cause-1.c1")
    assert said.causes[0].whole_title in found[tab, f"{column_letter(column)}{row}"]


def test_a_car_without_its_data_has_no_such_tab():
    visit = fresh_car("A")
    tables = visit.record.tables.model_copy(update={"causes": ()})
    visit.record = visit.record.model_copy(update={"tables": tables})
    assert TAB not in [tab.name for tab in compose(visit.appraise().appraisal).tabs]
