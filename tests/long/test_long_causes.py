"""Cars with faults by the thousand: how often the right cause is named first, whether claims hold. About half an hour.

python -m pytest tests/long/test_long_causes.py -s     (-s shows the tables of DEVELOPERS.md)
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

import pytest

from tests.faulty_cars.measured import BINS, Tally, table, tallied
from tests.faulty_cars.scenarios import SCENARIOS

CARS, SOUND = 40, 250
FIRST, CLAIMS_HOLD, FALSE_ALARMS = 0.85, 0.8, 0.01
ALL, TEN_MINUTES = "all", "ten minutes"


def hold(tallies: Iterable[Tally]) -> bool:
    """Whether claims of 80 % hold in as many cases."""
    claims, held = Counter[float](), Counter[float]()
    for tally in tallies:
        claims.update(tally.claims)
        held.update(tally.hold)
    sure = [least for least in BINS if least >= CLAIMS_HOLD]
    return sum(held[least] for least in sure) >= CLAIMS_HOLD * sum(claims[least] for least in sure)


def test_the_right_cause_is_named_first() -> None:
    tallies = {name: tallied(name, range(CARS)) for name in SCENARIOS}
    print(f"\n{table(tallies)}")
    faulty = [tally for name, tally in tallies.items() if SCENARIOS[name].causes]
    assert sum(tally.first for tally in faulty) >= FIRST * sum(tally.cars for tally in faulty)
    assert hold(tallies.values())


def test_what_the_first_ten_minutes_claim_alone_holds() -> None:
    tallies = {name: tallied(name, range(CARS), TEN_MINUTES) for name in SCENARIOS}
    print(f"\n{table(tallies)}")
    assert hold(tallies.values())


@pytest.mark.parametrize("kind", [ALL, TEN_MINUTES])
def test_sound_cars_are_blamed_for_nothing(kind: str) -> None:
    claimed = sum(tallied(name, range(1000, 1000 + SOUND), kind).claimed for name in ("sound", "sound, B"))
    assert claimed <= FALSE_ALARMS * 2 * SOUND, claimed
