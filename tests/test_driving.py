"""What may be done with the car, case by case as the README and the Summary say it."""

from __future__ import annotations

import pytest

from estimator.limits.judging.check_rows import check_rows
from estimator.limits.judging.driving import DO_NOT_DRIVE, NO_FINDING, ROAD_TEST, Driving, Found, Standing, driving
from estimator.limits.judging.verdict_words import AGAIN
from tests.limit_cars import demo

ROWS = {row.ref: row for row in check_rows(demo().car)}
SAFETY = next(row for row in ROWS.values() if row.check.safety and row.check.asked == "always" and not row.check.road)
OTHER = next(row for row in ROWS.values() if not row.check.safety and row.check.asked == "always")
ROAD = next(row for row in ROWS.values() if row.check.road and row.check.safety and row.check.asked == "always")
BY_ASKED = {when: next(r for r in ROWS.values() if r.check.asked == when) for when in ("after work", "on demand")}
GOOD, BAD, NONE = "within limit", "outside limit", "not measured"


def standing(row=SAFETY, before=NONE, after=NONE, *, why="", voids=0, dates=(1, 1)) -> Standing:
    found = [Found(word, word, date) for word, date in zip((before, after), dates, strict=True)]
    return Standing(row=row, why=why, before=found[0], after=found[1], voids=voids, order=1)


@pytest.mark.parametrize(
    ("given", "concern", "made"),
    [
        (standing(), 1, 0),  # an empty box is never good
        (standing(before=GOOD), 0, 1),
        (standing(before=BAD), 1, 1),
        (standing(before="too close to call"), 1, 1),
        (standing(before="could not be measured"), 1, 0),
        (standing(before=GOOD, voids=1), 1, 0),  # a job done since makes it void
        (standing(before=GOOD, voids=2), 1, 0),
        (standing(before=BAD, after=GOOD, voids=1), 0, 1),
        (standing(before=GOOD, after=BAD, voids=1), 1, 1),
        (standing(before=BAD, after=GOOD), 1, 1),  # became good with no job done
        (standing(before=BAD, after=GOOD, why=AGAIN), 0, 1),
        (standing(before=BAD, after=GOOD, why=AGAIN.upper()), 0, 1),
        (standing(before=GOOD, after=GOOD), 0, 1),
        (standing(before=GOOD, dates=(0, 1)), 1, 1),  # by a gauge past its date
        (standing(before=BAD, after=GOOD, voids=1, dates=(0, 1)), 0, 1),
        (standing(before=BAD, after=GOOD, voids=1, dates=(1, 0)), 1, 1),
        (standing(OTHER, before=BAD), 0, 1),  # not on safety
    ],
)
def test_what_keeps_a_car_off_the_road(given: Standing, concern: int, made: int) -> None:
    assert (given.concern, given.made) == (concern, made)


@pytest.mark.parametrize(
    ("when", "given", "asked"),
    [
        ("after work", {"voids": 0}, 0),
        ("after work", {"voids": 1}, 1),
        ("after work", {"voids": 2}, 1),
        ("on demand", {}, 0),
        ("on demand", {"before": BAD}, 1),
        ("on demand", {"after": BAD}, 1),
    ],
)
def test_when_a_check_is_asked(when: str, given: dict, asked: int) -> None:
    assert standing(BY_ASKED[when], **given).asked == asked


def test_the_state_follows_from_the_concerns() -> None:
    assert Driving(1, 0, 2, 1).state == Driving(1, 1, 2, 0).state == Driving(2, 5, 9, 2).state == DO_NOT_DRIVE
    assert Driving(0, 1, 2, 1).state == Driving(0, 2, 2, 0).state == ROAD_TEST
    assert Driving(0, 0, 2, 2).state == NO_FINDING
    good, open_, unmade = standing(before=GOOD), standing(ROAD), standing()
    assert driving([good, open_]) == Driving(0, 1, 2, 1)
    assert driving([good, unmade, open_]) == Driving(1, 1, 3, 1)
    assert driving([good, standing(ROAD, before=GOOD)]) == Driving(0, 0, 2, 2)
