"""What may be done with the car, case by case as the README and the Summary say it."""

from __future__ import annotations

import pytest

from estimator.limits.judging.check_rows import check_rows
from estimator.limits.judging.driving import DO_NOT_DRIVE, NO_FINDING, NOTHING_MEASURED, ROAD_TEST, Driving, driving
from estimator.limits.judging.standing import VOID, Found, Past, Standing, Thirds
from estimator.records import EarlierReading
from tests.limit_cars import demo

ROWS = {row.ref: row for row in check_rows(demo().car, demo().shop.show)}
SAFETY = next(row for row in ROWS.values() if row.check.safety and row.check.asked == "always" and not row.check.road)
OTHER = next(row for row in ROWS.values() if not row.check.safety and row.check.asked == "always")
ROAD = next(row for row in ROWS.values() if row.check.road and row.check.safety and row.check.asked == "always")
BY_ASKED = {
    when: next(r for r in ROWS.values() if r.check.asked == when and r.check.safety)
    for when in ("after work", "on demand")
}
GOOD, BAD, NONE, CLOSE = "within limits", "out of limits", "not measured", "too close to limit"
GAVE_UP, ODD = "unable to measure", "not believable"


def standing(row=SAFETY, before=NONE, after=NONE, *, dates=(1, 1), odds=(0, 0), **more) -> Standing:
    found = [
        Found(word, word, date, int(word not in (NONE, GAVE_UP)), at_odds)
        for word, date, at_odds in zip((before, after), dates, odds, strict=True)
    ]
    return Standing(row=row, why="", before=found[0], after=found[1], **more)


CONFIRMED, DENIED = Thirds(read=1, other=1, agree=1), Thirds(read=1, bad=1, other=1)


@pytest.mark.parametrize(
    ("given", "concern", "made"),
    [
        (standing(), 1, 0),  # an empty box is never good
        (standing(before=GOOD), 0, 1),
        (standing(before=BAD), 1, 1),
        (standing(before=CLOSE), 1, 1),
        (standing(before=GAVE_UP), 1, 0),
        (standing(before=ODD), 1, 0),  # what can't be believed isn't measured
        (standing(before=GOOD, after=ODD), 1, 0),
        (standing(before="no limit on file for driving"), 1, 1),
        # any job done since makes a good reading void
        (standing(before=GOOD, voids=1), 1, 0),
        (standing(before=GOOD, voids=2, cures=1), 1, 0),
        (standing(before=GOOD, after=GOOD, voids=1), 0, 1),
        (standing(before=GOOD, after=GOOD, voids=1, since=1), 1, 0),
        (standing(before=GOOD, after=BAD, voids=1, cures=1), 1, 1),
        # a bad one stands until its cure is done
        (standing(before=BAD, voids=1), 1, 1),
        (standing(before=BAD, voids=1, cures=1), 1, 0),
        (standing(before=BAD, after=GOOD, voids=1, cures=1), 0, 1),
        (standing(before=BAD, after=GOOD), 1, 1),
        (standing(before=BAD, after=GOOD, voids=1), 1, 1),
        (standing(before=CLOSE, after=GOOD), 1, 1),
        (standing(before=GOOD, after=BAD, since=1), 1, 1),
        (standing(before=GOOD, after=BAD, since=1, cures_since=1), 1, 0),
        # until a third with another gauge agrees with the better
        (standing(before=BAD, after=GOOD, thirds=CONFIRMED), 0, 1),
        (standing(before=BAD, after=GOOD, thirds=Thirds(read=1)), 1, 1),
        (standing(before=BAD, after=GOOD, thirds=Thirds(read=2, other=2, agree=1)), 1, 1),
        (standing(before=BAD, after=GOOD, thirds=DENIED), 1, 1),
        (standing(before=GOOD, thirds=DENIED), 1, 1),
        (standing(before=GOOD, after=GOOD), 0, 1),
        # the log of earlier readings
        (standing(before=GOOD, past=Past(before=1, any=1)), 1, 1),
        (standing(before=GOOD, past=Past(before=1, any=1), thirds=CONFIRMED), 0, 1),
        (standing(before=GOOD, after=GOOD, past=Past(before=1, any=1), voids=1, cures=1), 0, 1),
        (standing(before=GOOD, after=GOOD, past=Past(after=1, any=1), voids=1, cures=1), 1, 1),
        (standing(before=GOOD, past=Past(again=1, any=1)), 1, 1),
        (standing(before=GOOD, past=Past(again=1, any=1), thirds=CONFIRMED), 1, 1),
        (standing(before=GOOD, past=Past(any=1)), 0, 1),
        # readings that contradict each other
        (standing(before=GOOD, odds=(1, 0)), 1, 1),
        (standing(before=GOOD, after=GOOD, odds=(1, 0)), 1, 1),
        (standing(before=GOOD, after=GOOD, odds=(1, 0), voids=1), 0, 1),
        (standing(before=GOOD, after=GOOD, odds=(0, 1), voids=1), 1, 1),
        (standing(before=GOOD, past=Past(contradicted=1, any=1)), 1, 1),
        (standing(before=GOOD, past=Past(contradicted=1, any=1), thirds=Thirds(read=1)), 0, 1),
        # dates
        (standing(before=GOOD, dates=(0, 1)), 1, 1),
        (standing(before=BAD, after=GOOD, voids=1, cures=1, dates=(0, 1)), 0, 1),
        (standing(before=BAD, after=GOOD, voids=1, cures=1, dates=(1, 0)), 1, 1),
        (standing(OTHER, before=BAD), 0, 1),  # not on safety
        (standing(OTHER, before=BAD, odds=(1, 0)), 0, 1),
    ],
)
def test_what_keeps_a_car_off_the_road(given: Standing, concern: int, made: int) -> None:
    assert (given.concern, given.made) == (concern, made)
    assert given.open == 0


@pytest.mark.parametrize(
    ("given", "concern", "is_open"),
    [
        (standing(ROAD), 0, 1),
        (standing(ROAD, before=GOOD), 0, 0),
        (standing(ROAD, before=GAVE_UP), 0, 1),
        (standing(ROAD, before=ODD), 0, 1),
        (standing(ROAD, before=GOOD, dates=(0, 1)), 0, 1),
        (standing(ROAD, before=GOOD, voids=1), 0, 1),
        # failed is not the same as not yet made
        (standing(ROAD, before=BAD), 1, 0),
        (standing(ROAD, before=CLOSE), 1, 0),
        (standing(ROAD, before=BAD, voids=1), 1, 0),
        (standing(ROAD, before=BAD, after=GAVE_UP), 1, 0),
        (standing(ROAD, before=BAD, after=ODD), 1, 0),
        (standing(ROAD, before=BAD, after=GOOD), 1, 0),
        (standing(ROAD, before=BAD, after=GOOD, voids=1, since=1), 1, 0),
        (standing(ROAD, before=BAD, voids=1, cures=1), 0, 1),
        (standing(ROAD, before=BAD, after=GOOD, voids=1, cures=1), 0, 0),
        (standing(ROAD, before=BAD, after=BAD, voids=1, cures=1), 1, 0),
        (standing(ROAD, before=BAD, after=BAD, voids=1, cures=1, since=1, cures_since=1), 0, 1),
        (standing(ROAD, past=Past(before=1, any=1)), 0, 1),  # cleared: asked for, not made
        (standing(ROAD, before=GOOD, past=Past(before=1, any=1)), 1, 0),
    ],
)
def test_a_failed_road_check_grounds_the_car_and_one_not_made_is_open(given, concern: int, is_open: int) -> None:
    assert (given.concern, given.open) == (concern, is_open)


@pytest.mark.parametrize(
    ("when", "given", "asked"),
    [
        ("after work", {"voids": 0}, 0),
        ("after work", {"voids": 1}, 1),
        ("after work", {"voids": 2}, 1),
        ("after work", {"before": GOOD}, 1),  # a reading that was made is judged
        ("on demand", {}, 0),
        ("on demand", {"voids": 1}, 0),
        ("on demand", {"before": BAD}, 1),
        ("on demand", {"after": BAD}, 1),
        ("on demand", {"before": GAVE_UP}, 0),
        ("on demand", {"past": Past(any=1)}, 1),
    ],
)
def test_when_a_check_is_asked(when: str, given: dict, asked: int) -> None:
    found = standing(BY_ASKED[when], **given)
    assert found.asked == asked
    assert found.unexamined == (1 - asked) * (when == "on demand")


@pytest.mark.parametrize(
    ("given", "phase"),
    [
        (standing(before=BAD), "before"),
        (standing(before=GOOD, after=GOOD), "after"),
        (standing(before=BAD, after=GOOD), "before"),
        (standing(before=BAD, after=BAD), "after"),
        (standing(before=BAD, after=GOOD, cures=1), "after"),
        (standing(before=BAD, after=GOOD, thirds=CONFIRMED), "after"),
        (standing(before=BAD, after=GAVE_UP), "before"),
    ],
)
def test_the_worse_reading_decides(given: Standing, phase: str) -> None:
    assert given.decides == phase


def test_a_job_done_since_the_last_readings_voids_those_after_work() -> None:
    assert standing(before=GOOD, after=GOOD, voids=1, since=1).latest == VOID
    assert standing(before=BAD, after=BAD, voids=1, since=1).latest == BAD


def test_what_the_log_of_a_check_comes_to() -> None:
    def earlier(phase: str, kind: str) -> EarlierReading:
        return EarlierReading(check="c", phase=phase, value="1", verdict="out of limits", counts_as=kind)

    log = [
        *(earlier("before", "bad") for _ in range(3)),
        *(earlier("after", "bad") for _ in range(2)),
        earlier("again", "bad"),
        earlier("before", "called"),
        earlier("before", "doubtful"),
        *(earlier("after", "contradicts") for _ in range(4)),
    ]
    assert Past.of(log) == Past(before=3, after=2, again=1, contradicted=4, any=1)
    assert Past.of([]) == Past()
    assert Past.of([earlier("before", "called")]) == Past(any=1)


def test_the_state_follows_from_what_was_found() -> None:
    def state(concerns: int, mixed: int, road_open: int, entered: int = 1) -> str:
        return Driving(concerns, mixed, road_open, 9, 2, entered, 0).state

    assert state(0, 0, 0, 0) == state(3, 1, 2, 0) == NOTHING_MEASURED
    assert state(1, 0, 0) == state(1, 0, 4) == state(0, 1, 0) == state(0, 2, 4) == DO_NOT_DRIVE
    assert state(0, 0, 1) == state(0, 0, 5) == ROAD_TEST
    assert state(0, 0, 0) == NO_FINDING
    assert Driving(2, 3, 0, 0, 0, 0, 0).behind == 5
    good, open_, unmade = standing(before=GOOD), standing(ROAD), standing()
    assert driving([good, open_]) == Driving(0, 0, 1, 2, 1, 1, 0)
    assert driving([good, unmade, open_], 2) == Driving(1, 2, 1, 3, 1, 1, 0)
    assert driving([good, standing(ROAD, before=GOOD)]) == Driving(0, 0, 0, 2, 2, 2, 0)
    assert driving([standing(BY_ASKED["on demand"])]) == Driving(0, 0, 0, 0, 0, 0, 1)
