"""Words and uncertainties of readings near a limit."""

import math

import pytest

from estimator.errors import DomainError
from estimator.limits import measurement


@pytest.mark.parametrize(
    ("reading", "lower", "upper", "word"),
    [
        (98.0, None, 100.0, "within limit"),
        (98.001, None, 100.0, "too close to call"),
        (101.999, None, 100.0, "too close to call"),
        (102.0, None, 100.0, "outside limit"),
        (102.0, 100.0, None, "within limit"),
        (98.0, 100.0, None, "outside limit"),
        (95.0, 90.0, 100.0, "within limit"),
        (91.9, 90.0, 100.0, "too close to call"),
        (88.0, 90.0, 100.0, "outside limit"),
        (0.0, None, 100.0, "within limit"),
    ],
)
def test_verdict_words_at_the_edges(reading, lower, upper, word):
    assert measurement.guard_band_verdict(reading, lower, upper, 2.0) == word


def test_a_tenth_and_two_tenths_decide_nothing():
    assert measurement.guard_band_verdict(0.1 + 0.2, None, 0.3, 0.0) == "within limit"
    assert measurement.guard_band_verdict(0.3 + 0.1, None, 0.7, 0.3) == "within limit"


def test_a_plain_comparison_is_never_too_close():
    words = {measurement.guard_band_verdict(reading, 90.0, 100.0, 0.0) for reading in (89.9, 90.0, 95.0, 100.0, 100.1)}
    assert words == {"within limit", "outside limit"}


def test_uncertainties_against_a_sum_by_hand():
    """Class 1.6, span 4000 psi, read to 20 psi: a = 64 and 10 psi, u² = (64² + 10²)/3."""
    u = measurement.combined_uncertainty(
        measurement.gauge_uncertainty(0.016, 4000.0), measurement.resolution_uncertainty(20.0)
    )
    assert u == pytest.approx(math.sqrt((64**2 + 10**2) / 3))
    assert measurement.expanded_uncertainty(u) == pytest.approx(2 * u)
    assert measurement.gauge_too_coarse(1700.0, 1700.0 + 4 * u, 2 * u)
    assert not measurement.gauge_too_coarse(1700.0, 1701.0 + 4 * u, 2 * u)
    assert measurement.temperature_uncertainty(300.0, 300.0, 2.0) == 2.0


def test_a_negative_uncertainty_is_refused():
    with pytest.raises(DomainError, match="uncertainty 2 is -4"):
        measurement.combined_uncertainty(3.0, -4.0)
