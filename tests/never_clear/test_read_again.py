"""The bounds within which a third reading confirms the better of two, and what a round hands on to the next."""

import datetime as dt

import pytest

from estimator.limits.constants import REPEAT_SHARE
from estimator.readback.earlier_readings import is_over, next_round, taken_out
from tests.never_clear.good_car import READ_ON, Visit, good_car

PAD, ROAD = "pad-thickness.front-left", "no-do-not-drive-finding"
# A pad read at 1 mm and then at 8 mm: the third may differ from 8 by the share and a step of a hundredth of a millimeter.
ROOM = round(REPEAT_SHARE * 8.0 + 0.01, 6)


def twice_read() -> Visit:
    visit = good_car()
    visit.read(PAD, 1.0)
    visit.read(PAD, 8.0, "after")
    visit.set("visit.after.date", READ_ON)
    return visit


@pytest.mark.parametrize(
    ("value", "state"),
    [
        (8.0 + ROOM, ROAD),
        (8.0 + ROOM + 0.001, "do-not-drive"),
        (8.0 - ROOM, ROAD),
        (8.0 - ROOM - 0.001, "do-not-drive"),
        (1.0, "do-not-drive"),
    ],
)
def test_how_far_a_third_reading_may_lie_from_the_better_one(value: float, state: str) -> None:
    visit = twice_read()
    visit.measured_again(1, PAD, value, "micrometer")
    assert visit.appraise().state == state


@pytest.mark.parametrize("missing", ["date", "by", "gauge", "value", "check"])
def test_a_third_reading_counts_only_when_all_of_it_is_said(missing: str) -> None:
    visit = twice_read()
    visit.measured_again(1, PAD, 8.0, "micrometer")
    assert visit.appraise().state == ROAD
    visit.unset(f"again.1.{missing}")
    assert visit.appraise().state == "do-not-drive"


def test_a_third_reading_that_disagrees_stands_against_one_that_agrees() -> None:
    visit = twice_read()
    visit.measured_again(1, PAD, 8.0, "micrometer")
    visit.measured_again(2, PAD, 1.2, "micrometer")
    assert visit.appraise().state == "do-not-drive"


@pytest.mark.parametrize(("days", "state"), [(0, ROAD), (1, "do-not-drive")])
def test_a_third_reading_needs_its_gauge_in_date_on_that_day(days: int, state: str) -> None:
    visit = twice_read()
    due = next(gauge.due for gauge in visit.record.shop.gauges if gauge.id == "micrometer")
    visit.measured_again(1, PAD, 8.0, "micrometer", due + dt.timedelta(days))
    assert visit.appraise().state == state


# --- what is taken out of a box, and the next round -------------------------------------------------------------------


def test_a_bad_reading_that_is_overwritten_is_kept() -> None:
    was, better = good_car(), good_car()
    was.read(PAD, 1.0)
    before = was.appraise().appraisal
    kept = list(taken_out(before, better.appraise().appraisal.entries))
    assert [(item.check, item.value, item.unit, item.phase, item.counts_as) for item in kept] == [
        (PAD, "1", "mm", "before", "bad")
    ]
    assert list(taken_out(before, before.entries)) == []
    assert list(taken_out(better.appraise().appraisal, before.entries)) == []


def test_a_good_reading_that_is_taken_out_leaves_nothing_behind() -> None:
    was = good_car()
    now = was.copy()
    now.unset(f"reading.{PAD}.before")
    assert list(taken_out(was.appraise().appraisal, now.appraise().appraisal.entries)) == []


def test_a_round_is_over_once_a_job_is_done_and_begins_with_the_readings_after_it() -> None:
    visit = good_car()
    assert not is_over(visit.appraise().appraisal)
    visit.done("front-pads.front-axle")
    visit.read(PAD, 11.0, "after")
    was = visit.appraise().appraisal
    assert is_over(was)
    begun, log, done = next_round(was)
    boxes = begun.as_boxes()
    assert boxes[f"reading.{PAD}.before"] == 11.0 and boxes.get(f"reading.{PAD}.after", "") == ""
    assert boxes["line.front-pads.front-axle.done"] == "completed"
    assert boxes["line.front-pads.front-axle.decision"] == "authorized"
    assert log == () and any("front-pads.front-axle" in row for row in done)
    # The other wheel's pads were voided by the same job and not read again: nothing stands in their box.
    assert boxes.get("reading.pad-thickness.front-right.before", "") == ""


def test_two_readings_of_which_the_worse_counts_go_on_with_it() -> None:
    visit = twice_read()
    visit.done("rear-pads.rear-axle")
    begun, log, _ = next_round(visit.appraise().appraisal)
    assert [(item.check, item.value, item.counts_as) for item in log] == [(PAD, "1", "bad")]
    assert begun.as_boxes()[f"reading.{PAD}.before"] == 8.0
