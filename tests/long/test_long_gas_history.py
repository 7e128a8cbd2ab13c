"""Five hundred histories of ten visits: the band holds the true crossing in 80 % or more. About a minute.

python -m pytest tests/long/test_long_gas_history.py
"""

import pytest

from tests.gas_history import past

DRAWS, SHARE = 500, 0.8


@pytest.mark.parametrize(
    "way",
    [{}, {"same_gauge": True}, {"proportional": True}, {"visits": 4}],
    ids=["recalibrated", "one-gauge", "proportional", "four-visits"],
)
def test_the_band_holds_the_true_crossing(way):
    held = sum(past(seed, **way).held for seed in range(DRAWS))
    assert held >= SHARE * DRAWS, f"{held} of {DRAWS}"
