"""Whatever grounds a car that is good otherwise, a next step is named."""

from __future__ import annotations

from estimator.diagnosis.advice.advice import advise
from estimator.limits.judging.verdict_words import FAULT
from tests.boxes_by_key import first_boxes
from tests.limit_cars import demo
from tests.never_clear.good_car import FILES, Appraised, Visit, good_car

# What is given to weigh others by, and never grounds the car alone.
GIVEN = (
    "first-",
    "gas-temperature",
    "hold-end-temperature",
    "hold-start-temperature",
    "accumulator-serial",
    "idle-speed",
)


def whole_car() -> Visit:
    """The good car with all jobs of the demo."""
    record = demo(FILES["A"])
    made = {
        key: value for key, value in good_car().entries.items() if key.split(".")[0] in ("reading", "visit", "usual")
    }
    return Visit(record, first_boxes(record) | made)


def bad_readings() -> list[tuple[str, object]]:
    """Of each check at its first place a fault; of a number far too little and far too much."""
    car, found, seen = whole_car(), [], set()
    for item in car.appraise().standings:
        value = car.get(f"reading.{item.ref}.before")
        if value is None or item.row.check.id in seen or item.ref.startswith(GIVEN):
            continue
        seen.add(item.row.check.id)
        words = [FAULT] if isinstance(value, str) else [value * factor for factor in (0.3, 2.5)]
        found += [(item.ref, word) for word in words]
    return found


def test_what_grounds_a_car_has_a_next_step() -> None:
    grounded, silent = 0, []
    for ref, value in bad_readings():
        car = whole_car()
        car.read(ref, value)
        found: Appraised = car.appraise()
        if found.grounding:
            grounded += 1
            if advise(found.appraisal).next is None:
                silent.append((ref, value, found.grounding))
    assert grounded > 40 and silent == []
