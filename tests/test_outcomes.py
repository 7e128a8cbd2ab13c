"""What a test tells moves the causes by Bayes' rule, and what an isolation test names does too."""

import pytest
from letter_samples import bent

from estimator.diagnosis.advice.advice import advise

LEAK = {
    "reading.charge-time.system-1.before": 66.0,
    "reading.hold.system-1.before": 1500.0,
    "reading.applications.system-1.before": 26.0,
    "reading.cycle-interval.system-1.before": 400.0,
}


def odds(changes, first="check-valve-leaks", second="valve-clearance-worn", place="system-1"):
    group = next(item for item in bent("before", LEAK | changes).diagnosis.groups if item.id == place)
    of = {item.name: item.probability for item in group.hypotheses}
    return of[first] / of[second]


@pytest.mark.parametrize(
    ("box", "word", "ratio"),
    [
        ("hold-pump-blanked", "fault found", 0.05 / 0.93),
        ("hold-pump-blanked", "no fault found", 0.95 / 0.07),
        ("hold-valve-blanked", "fault found", 0.93 / 0.05),
        ("hold-valve-blanked", "no fault found", 0.07 / 0.95),
    ],
)
def test_an_outcome_moves_the_odds_by_the_ratio_of_its_probabilities(box, word, ratio):
    told = odds({f"reading.{box}.system-1.before": word})
    assert told / odds({}) == pytest.approx(ratio, rel=1e-6)


def test_what_could_not_be_checked_moves_nothing():
    assert odds({"reading.hold-pump-blanked.system-1.before": "unable to check"}) == pytest.approx(odds({}))


def order_of(changes):
    return next(item for item in advise(bent("before", LEAK | changes)).groups if item.group.id == "system-1")


@pytest.mark.parametrize("words", ["distribution valve", " Distribution Valve"])
def test_the_part_that_an_isolation_test_names_moves_what_is_advised(words):
    """0.9 to 0.01, by hand on two cases; the causes themselves stay."""
    told = order_of({"reading.isolated-part.system-1.before": words})
    plain = order_of({})
    of = {case.causes: case.probability for case in told.cases}
    was = {case.causes: case.probability for case in plain.cases}
    worn, check = ((("valve-clearance-worn", "system-1"),), (("check-valve-leaks", "system-1"),))
    assert of[worn] / of[check] == pytest.approx(90 * was[worn] / was[check])
    assert [item.probability for item in told.group.hypotheses] == [item.probability for item in plain.group.hypotheses]


def test_the_named_part_is_the_next_repair():
    named = {
        "reading.isolated-part.system-1.before": "distribution valve",
        "reading.collected-leakage.car.before": 90.0,
    }
    assert order_of(named).step.id == "distribution-valve-exchange"


def test_words_that_name_no_part_move_nothing():
    told = order_of({"reading.isolated-part.system-1.before": "the blue one"})
    assert told.cases == order_of({}).cases


def test_the_next_step_follows_from_what_a_test_told():
    for boxes, pan, wanted in (
        ({"hold-pump-blanked": "no fault found", "hold-valve-blanked": "fault found"}, 9.0, "charging-valve-service"),
        (
            {"hold-pump-blanked": "fault found", "hold-valve-blanked": "no fault found"},
            90.0,
            "distribution-valve-exchange",
        ),
    ):
        changes = {f"reading.{box}.system-1.before": word for box, word in boxes.items()}
        changes["reading.collected-leakage.car.before"] = pan
        group = next(item for item in advise(bent("before", LEAK | changes)).groups if item.group.id == "system-1")
        assert (group.step.kind, group.step.id) == ("repair", wanted)
