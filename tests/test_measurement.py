"""Words for readings near a limit, on the road that a reading takes."""

import pytest
from judging_road import verdict


@pytest.mark.parametrize(
    ("reading", "lower", "upper", "said"),
    [
        (98.0, None, 100.0, "within limits"),
        (98.001, None, 100.0, "too close to limit"),
        (101.999, None, 100.0, "too close to limit"),
        (102.0, None, 100.0, "out of limits"),
        (102.0, 100.0, None, "within limits"),
        (98.0, 100.0, None, "out of limits"),
        (95.0, 90.0, 100.0, "within limits"),
        (91.9, 90.0, 100.0, "too close to limit"),
        (88.0, 90.0, 100.0, "out of limits"),
        (0.0, None, 100.0, "within limits"),
    ],
)
def test_verdict_words_at_the_edges(reading, lower, upper, said):
    assert verdict(reading, lower, upper, 2.0) == said


def test_a_tenth_and_two_tenths_decide_nothing():
    assert verdict(0.1 + 0.2, None, 0.3, 0.0) == "within limits"
    assert verdict(0.3 + 0.1, None, 0.7, 0.3) == "within limits"


def test_a_plain_comparison_is_never_too_close():
    assert {verdict(reading, 90.0, 100.0, 0.0) for reading in (89.9, 90.0, 95.0, 100.0, 100.1)} == {
        "within limits",
        "out of limits",
    }
