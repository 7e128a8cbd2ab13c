"""A workbook drafted with a last visit: what Inspection, letter and record show of it, and that it stays a sound workbook."""

import datetime as dt
from random import Random

import pytest
from agreement import drafted
from good_spreadsheets import broken_rules
from letter_pages import text_of
from never_clear.good_car import good_car
from returned_workbooks import small_record
from strategies import WholeJob, entries_of

from estimator.appraise import appraise
from estimator.boxes.entries import Entries
from estimator.car_history.series import trimmed
from estimator.car_history.visit import visit_of
from estimator.letters.render import letter_html
from estimator.readback.check import check_workbook

LAST = dt.date(2025, 11, 25)


@pytest.fixture(scope="module")
def record():
    past = good_car("A")
    past.set("visit.before.date", LAST)
    past.read("leaks-at-cut-out.car", "fault found")
    last = visit_of(past.appraise().appraisal).model_copy(update={"document": "LY-7"})
    odd = tuple(
        item.model_copy(update={"value": 'KR-{1187}"&1'}) if item.check == "accumulator-serial.accumulator-2" else item
        for item in last.readings
    )
    made = small_record()
    return made.model_copy(update={"visits": trimmed(made.car, [last.model_copy(update={"readings": odd})])})


@pytest.fixture(scope="module")
def draft(record, tmp_path_factory):
    job = WholeJob(record, entries_of(record, "good twice", Random("last visit")), "good twice")
    return drafted(job, tmp_path_factory.mktemp("last") / "drafted.xlsx")


def cells(draft, tab):
    found = next(item for item in draft.book.tabs if item.name == tab)
    return [cell for part in (found.head, *found.blocks) for row in part.rows for cell in row.cells]


def test_the_form_shows_each_last_reading_once(draft):
    shown = [str(cell.value) for cell in cells(draft, "Inspection")]
    assert any(text.startswith("precharge\nlast 911 · 911") for text in shown), [
        text for text in shown if "precharge" in text
    ]
    assert any(text.startswith("last: read on 2025-11-25, counts for nothing now") for text in shown)
    assert any(text.endswith("\nlast fault") for text in shown)
    serials = [
        str(cell.value) for cell in cells(draft, "Inspection") if "{looked.accumulator-serial." in (cell.formula or "")
    ]
    told = [text.partition("\n")[2] for text in serials]
    assert told == ["last KR-1187", "last KR-11871"], "letters that a formula can't hold are left away"
    after = [str(cell.value) for cell in cells(draft, "After work")]
    assert not any(text.startswith("last: ") or "\nlast " in text for text in after)


def test_no_formula_counts_with_a_last_reading(draft):
    """They stand as words, and beside a verdict in quotes alone."""
    for cell in cells(draft, "Inspection"):
        if cell.formula and "last " in cell.formula:
            assert cell.look == "verdict" and cell.formula.count('"last ') == 1
            assert isinstance(cell.value, str)


def test_it_breaks_no_rule_of_good_spreadsheets_that_it_did_not_break_without(draft, record, tmp_path):
    bare = WholeJob(record.model_copy(update={"visits": ()}), draft.job.entries, "good twice")
    assert set(broken_rules(draft)) <= set(broken_rules(drafted(bare, tmp_path / "bare.xlsx")))


def test_it_is_read_back_intact(draft, record):
    checked = check_workbook(draft.path)
    assert checked.state == "sound" and checked.carried.record.visits == record.visits


def test_the_letter_shows_it_beside_this_visit_and_ends_with_what_is_due(record):
    entries = entries_of(record, "good twice", Random("last visit"))
    page = letter_html(appraise(record, Entries.from_boxes(entries)))
    words = text_of(page)
    assert "last visit 911" in words.replace("\u00a0", " ") and "November 25, 2025" in words
    assert words.rstrip().endswith("Gas can be lost at once.")
    without = letter_html(appraise(record.model_copy(update={"visits": ()}), Entries.from_boxes(entries)))
    assert "last visit" not in text_of(without) and "Due next:" in without


def test_a_trend_is_told_as_a_band_and_as_no_permission(record):
    car = record.last_visit
    old = [
        car.model_copy(
            update={
                "document": f"LY-{year}",
                "before": dt.date(year, 11, 25),
                "after": dt.date(year, 11, 25),
                "readings": tuple(
                    item.model_copy(update={"si": item.si * (1 + 0.03 * (2025 - year)), "u": item.u})
                    for item in car.readings
                    if item.check == "pad-thickness.rear-left"
                ),
            }
        )
        for year in (2021, 2022, 2023, 2024)
    ]
    entries = entries_of(record, "good twice", Random("last visit"))
    carried = record.model_copy(update={"visits": trimmed(record.car, [*old, car])})
    words = text_of(letter_html(appraise(carried, Entries.from_boxes(entries))))
    assert "These dates are not permission to drive until then" in words
    due = words[words.index("Due next:") :]
    assert (
        "service limit: expected between" in due or "service limit: possibly from" in due or "service limit: now" in due
    ), due
