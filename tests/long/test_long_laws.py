"""The laws of what may be done with a car, over many more cars: those of the default run's kind, and generated jobs.

About ten minutes: python -m pytest tests/long/test_long_laws.py
"""

import sys
from pathlib import Path
from random import Random

import pytest

sys.path[:0] = [str(Path(__file__).resolve().parents[1])]

from strategies import generated  # noqa: E402

from tests.never_clear import test_laws as laws  # noqa: E402
from tests.never_clear.good_car import Visit  # noqa: E402

LAWS = (
    laws.test_a_worse_reading_never_improves_the_state,
    laws.test_taking_away_a_good_reading_never_improves_the_state,
    laws.test_taking_away_a_gauge_never_improves_the_state,
    laws.test_marking_a_job_done_never_improves_the_state,
    laws.test_a_worse_gauge_never_improves_the_state,
)


@pytest.mark.parametrize("law", LAWS)
def test_a_law_over_many_cars(law) -> None:
    for seed in range(1000, 1200):
        law(seed)


@pytest.mark.parametrize("batch", range(8))
def test_generated_jobs(batch: int) -> None:
    """Whole jobs of other shapes: cars, shops, tables, junk in the boxes."""
    for number, job in enumerate(generated(batch, 14)):
        rng, visit = Random(f"{batch} {number}"), Visit(job.record, dict(job.entries))
        car = laws.Drawn(visit, visit.appraise(), number)
        places = laws.readings_of(car)
        rng.shuffle(places)
        for ref, phase in places[:30]:
            value = laws.worse(car, ref, phase, rng)
            if value is not None:
                changed = visit.copy()
                changed.set(f"reading.{ref}.{phase}", value)
                laws.never_improves(car, changed, f"{ref} {phase} → {value}")
        for ref, phase in places[:10]:
            if car.found.appraisal.standing_of[ref].good:
                changed = visit.copy()
                changed.unset(f"reading.{ref}.{phase}")
                laws.never_improves(car, changed, f"{ref} {phase} taken away")
