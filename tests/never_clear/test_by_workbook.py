"""A few of the cases through draft, fill and check; and what becomes of a bad reading that is overwritten or cleared."""

import pytest

from estimator.readback.report import report
from tests.never_clear.by_workbook import check, drafted, fill, typed
from tests.never_clear.cases import cases
from tests.never_clear.good_car import good_car


@pytest.fixture(scope="module")
def blank(tmp_path_factory):
    return drafted(tmp_path_factory.mktemp("never-clear") / "job")


def about(findings, rules, words=""):
    return [item for item in findings if item["rule"] in rules and (words in item["key"] or words in item["what"])]


# Half of the sample; tests/long/ runs all of it.
SAMPLE = [case for case in cases() if case.road]


@pytest.mark.parametrize("case", SAMPLE[1::2], ids=lambda case: case.id)
def test_the_workbook_says_the_same(case, blank, tmp_path, capsys):
    says_the_same(case, blank, tmp_path, capsys)


def says_the_same(case, blank, tmp_path, capsys):
    entries = typed(case.visit())
    filled = fill(blank, entries, tmp_path / "filled.xlsx") if entries else blank
    found = check(filled, capsys)
    assert found["state"] == "sound" and found["car"] == case.state
    if case.finding:
        assert about(found["findings"], case.finding, case.about)


# What was typed first, what then (None: the box is emptied), and the check that must still be asked for.
OVERWRITTEN = {
    "wheel-torque.front-left": (10, None),
    "valve-tilt.car": (45, None),
    "pad-thickness.front-left": (15, None),
    "drag.rear-left": ("fault found", None),
    "pad-thickness.front-right": (1.0, 8.0),
    "hub-play.front-left": (0.5, 0.03),
    "leaks-at-cut-out.car": ("fault found", "no fault found"),
}


@pytest.fixture(scope="module")
def overwritten(blank, tmp_path_factory):
    """A good car; then bad readings typed in; then these cleared or overwritten with good ones: what check says."""
    folder, visit = tmp_path_factory.mktemp("overwritten"), good_car()
    for ref, (bad, _) in OVERWRITTEN.items():
        visit.read(ref, bad)
    visit.read("charge-time.system-1", 30)
    worse = fill(blank, typed(visit), folder / "worse.xlsx")
    better = {f"reading.{ref}.before": good for ref, (_, good) in OVERWRITTEN.items()}
    better["reading.charge-time.system-1.before"] = 57
    return report(fill(worse, better, folder / "better.xlsx")).data()


def test_a_bad_reading_overwritten_or_cleared_keeps_the_car(overwritten):
    found = overwritten
    assert found["car"] == "do-not-drive"
    silent = [
        ref
        for ref in OVERWRITTEN
        if not about(found["findings"], ["reading-cleared", "became-good", "not-measured"], ref)
    ]
    assert silent == [], "each is named"


def test_clearing_a_bad_reading_is_a_finding_of_its_own(overwritten):
    found = overwritten
    cleared = [ref for ref, (_, after) in OVERWRITTEN.items() if after is None]
    unsaid = [ref for ref in cleared if not about(found["findings"], ["reading-cleared"], ref)]
    assert unsaid == []
    # On demand and after work alike: asked for until it is measured again.
    for ref in ("wheel-torque.front-left", "valve-tilt.car"):
        assert about(found["findings"], ["not-measured", "reading-cleared"], ref)


def test_an_edited_figure_does_not_end_a_contradiction(overwritten):
    found = overwritten
    assert about(found["findings"], ["readings-disagree"], "system-1") or about(
        found["findings"], ["readings-disagree"], "system 1"
    )


@pytest.fixture(scope="module")
def imbalance(blank, tmp_path_factory):
    """Read on demand and bad, then cleared; and a good reading typed over with another good one."""
    folder, visit = tmp_path_factory.mktemp("imbalance"), good_car()
    visit.read("road-balance.front-axle", 35)
    worse = fill(blank, typed(visit), folder / "worse.xlsx")
    then = {"reading.road-balance.front-axle.before": None, "reading.pad-thickness.front-left.before": 8.5}
    return fill(worse, then, folder / "better.xlsx")


def test_a_cleared_imbalance_stays_asked_for(imbalance, capsys):
    """Not measured, so a road test is all that is left. A good reading typed over says nothing."""
    found = check(imbalance, capsys)
    assert about(found["findings"], ["reading-cleared"], "road-balance.front-axle")
    assert found["car"] == "shop-road-test-only"
    assert about(found["findings"], ["reading-cleared", "became-good"], "pad-thickness") == []


def test_a_date_in_the_future_is_a_finding_and_no_state(imbalance, capsys):
    """The readings are of 2026-11-25: in the future the day before, and never again; the state is the same on any day."""
    days = {day: check(imbalance, capsys, "--today", day) for day in ("2026-11-24", "2026-11-25", "2027-06-01")}
    said = {day: bool(about(found["findings"], ["date-in-future"])) for day, found in days.items()}
    assert said == {"2026-11-24": True, "2026-11-25": False, "2027-06-01": False}
    assert len({found["car"] for found in days.values()}) == 1
