"""Five hundred sound cars of each kind: at most 2 % are grounded by their readings. About two minutes.

python -m pytest tests/long/test_long_sound_cars.py
"""

import pytest

from tests.never_ground.grounded import SHARE, grounded, told

CARS = 500


@pytest.mark.parametrize("car", ["A", "B"])
def test_sound_cars_are_not_grounded(car: str) -> None:
    count, behind = grounded((car, seed) for seed in range(CARS))
    assert count <= SHARE * CARS, told(count, CARS, behind)
