"""Cars with faults by the thousand: how often the right cause is named first, whether claims hold. About ten minutes.

python -m pytest tests/long/test_long_causes.py -s     (-s shows the table of DEVELOPERS.md)
"""

from __future__ import annotations

from collections import Counter

from tests.faulty_cars.measured import BINS, table, tallied
from tests.faulty_cars.scenarios import SCENARIOS

CARS, SOUND = 40, 250
FIRST, CLAIMS_HOLD, FALSE_ALARMS = 0.85, 0.8, 0.01


def test_the_right_cause_is_named_first() -> None:
    tallies = {name: tallied(name, range(CARS)) for name in SCENARIOS}
    print(f"\n{table(tallies)}")
    faulty = [tally for name, tally in tallies.items() if SCENARIOS[name].causes]
    assert sum(tally.first for tally in faulty) >= FIRST * sum(tally.cars for tally in faulty)
    claims, hold = Counter[float](), Counter[float]()
    for tally in tallies.values():
        claims.update(tally.claims)
        hold.update(tally.hold)
    sure = [least for least in BINS if least >= CLAIMS_HOLD]
    assert sum(hold[least] for least in sure) >= CLAIMS_HOLD * sum(claims[least] for least in sure)


def test_sound_cars_are_blamed_for_nothing() -> None:
    claimed = sum(tallied(name, range(1000, 1000 + SOUND)).claimed for name in ("sound", "sound, B"))
    assert claimed <= FALSE_ALARMS * 2 * SOUND, claimed
